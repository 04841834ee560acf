"""The handover folder of a job: for whoever keeps the tree when its maker is gone."""

from __future__ import annotations

import json
from pathlib import Path

from armature.commission import Commission
from armature.files import Finding
from armature.leaves import LeafPlan
from armature.shop import ShopPlan

_LOOKED_AT = ("years", "wastes", "coat", "renew", "fatigue", "anchor", "not checked")


def write_care(
    folder: Path, plan: LeafPlan, commission: Commission, strength: Finding | None, shop: ShopPlan | None
) -> None:
    """Write `care/`: the book of care, a page for each design to make a leaf again, the index and plan that outlive
    programs, and an album."""
    from armature.papers.leaves import value_rows, write_care_book

    folder.mkdir(parents=True, exist_ok=True)
    notes = [strength.verdict, *strength.notes] if strength is not None else []
    inspect = [note for k, note in enumerate(notes) if k == 0 or any(word in note for word in _LOOKED_AT)][:8]
    total, currency = (shop.estimate.total, shop.estimate.currency) if shop is not None else (None, "")
    value = value_rows(plan, commission, total, currency or commission.shop.buying.currency)
    rounds = _rounds(folder.parent / "strength.json") if strength is not None else []
    write_care_book(folder / "care.pdf", plan, commission, inspect, value, rounds)
    write_care_of_names(folder, plan, commission)


def _rounds(record: Path) -> list[tuple[str, str]]:
    """Return the rounds of inspection that the strength record asks for: (when, what)."""
    return [(each["when"], each["what"]) for each in json.loads(record.read_text("utf-8"))["inspection"]]


def write_care_of_names(folder: Path, plan: LeafPlan, commission: Commission) -> None:
    """Write what of `care/` tells names anew, once one of them has changed; files that stand there are replaced."""
    from armature.papers.leaves import index_text, plan_drawing, write_again, write_album

    folder.mkdir(parents=True, exist_ok=True)
    for name in ("again.pdf", "album.pdf", "index.txt", "plan.svg"):
        # A file may share its bytes with an older folder: it is never written through.
        (folder / name).unlink(missing_ok=True)
    write_again(folder / "again.pdf", plan, commission, [])
    write_album(folder / "album.pdf", plan, commission, [])
    (folder / "index.txt").write_text(index_text(plan, commission), "utf-8", newline="\n")
    (folder / "plan.svg").write_text(plan_drawing(plan, commission), "utf-8", newline="\n")
