"""What the steel that exists leaves of a job's plan."""

from __future__ import annotations

import csv
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from armature.answer import Answer, Revision, answered, changes, reason_of, revised, troubles
from armature.commission import Commission, as_tables
from armature.edge import FileError, read_bytes
from armature.files import csv_rows, design_json, load
from armature.grow import given_members, kept_members
from armature.job.as_planned import PLANNED, plan_of
from armature.job.measured import MEASURED, steel_of
from armature.made import TABLES, Steel, files_of, made_tags
from armature.papers.made import changed_words, made_steel_md
from armature.shop import ShopPlan
from armature.strength import Assessment
from armature.tree import Tree

REVISIONS = "revisions.csv"
_LARGEST = 20_000_000  # bytes
# What was rounded once and what was rounded twice differ by less, mm.
_SAME = 1e-5


@dataclass(frozen=True, eq=False)
class Existing:
    """The steel of a job, what it leaves of the plan, and the design that its papers were last printed from."""

    steel: Steel
    answer: Answer
    printed: Tree


def existing_of(folder: Path, commission: Commission, tree: Tree | None = None) -> Existing | None:
    """Return what stands of a job in a folder; None where nothing is made, or where a new tree is asked for.

    A new tree is asked for by a commission other than the job's, or by a design (`tree`) other than the job's. Raises
    an ArmatureError in one line for measures that cannot be so.
    """
    given = given_members(commission)
    listed = (folder / "made.csv").is_file() or given is not None or is_measured(folder)
    if not (folder / "design.json").is_file() or not (listed or (folder / PLANNED).is_file()):
        return None
    plan, planned_for = plan_of(folder)
    printed, _ = load(folder)
    if as_tables(planned_for) != as_tables(commission) or (tree is not None and not tree.same_as(printed)):
        return None
    if not _holds(plan, given):
        return None
    steel = steel_of(plan, commission, folder)
    return Existing(steel, answered(plan, commission, steel), printed)


def _holds(plan: Tree, given: Tree | None) -> bool:
    """Return whether a plan holds the steel that is given, just where it is."""
    for tag in [] if given is None else given.tags.tolist():
        assert given is not None
        if tag not in plan.rows:
            return False
        one, other = (each.chains.taken([each.rows[tag]]).vertices for each in (plan, given))
        if one.shape != other.shape or float(np.abs(one - other).max()) > _SAME:
            return False
    return True


def kept_steel(folder: Path, made: Collection[str]) -> Tree | None:
    """Return the members of a job that exist, as they really are, with all that carries them; None where none do, or
    where all of them are given by the commission.

    For a tree that is grown anew around them. Raises an ArmatureError as `existing_of` does.
    """
    own = folder / MEASURED
    if not is_measured(folder):
        listed = made_tags(folder / "made.csv")
        return kept_members(load(folder)[0], made, str(folder / "made.csv")) if listed else None
    plan, planned_for = plan_of(folder)
    steel = steel_of(plan, planned_for, folder)
    return kept_members(answered(plan, planned_for, steel).tree, steel.tags.tolist(), str(own))


def write_planned(folder: Path, existing: Existing, commission: Commission) -> None:
    """Write planned.json: the plan before steel answered it, from which every step can be taken back."""
    if existing.steel.measured.any():
        text = design_json(existing.answer.plan, commission)
        (folder / PLANNED).write_text(text, encoding="utf-8", newline="\n")


def is_measured(folder: Path) -> bool:
    """Return whether anything was measured on the steel of a job."""
    return any(files_of(folder / MEASURED, table) for table in TABLES)


def revisions_of(folder: Path, tree: Tree, commission: Commission, existing: Existing | None) -> dict[str, Revision]:
    """Return the latest revision of every card that changed since it was first printed.

    tree: what the cards are printed from now. Those of the run before are read from the job's shop/revisions.csv.
    """
    if existing is None:
        return {}
    before = _read_revisions(folder / "shop" / REVISIONS)
    steel = existing.steel
    made, welded = steel.tags.tolist(), steel.tags[steel.welded | ~steel.measured].tolist()
    found = changes(existing.printed, tree, made, welded)
    words = {tag: changed_words(told, commission.units) for tag, told in found.items()}
    # What differs by less than a step of the paper stands on the card as it did.
    words = {tag: said for tag, said in words.items() if said}
    reasons = {tag: reason_of(existing.answer, tree.rows[tag]) for tag in words}
    after = revised(before, words, reasons)
    return {tag: own for tag, own in after.items() if tag in tree.rows and tag not in welded}


def helps_made(strength: Assessment | None, existing: Existing | None) -> tuple[str, ...]:
    """Return what helps made members that fail a check without touching them, a line each, worst first."""
    if strength is None or existing is None:
        return ()
    tree, exists = existing.answer.tree, existing.answer.exists
    short = np.flatnonzero(exists & (strength.ratios > 1.0))
    short = short[np.argsort(-np.round(strength.ratios[short], 6), kind="stable")]
    return tuple(
        f"{tree.tags[row]} is made and fails a check by {strength.ratios[row] - 1.0:.0%}: fewer leaves on what it"
        " carries, lighter twigs there, or a tie would help without touching it"
        for row in short.tolist()
    )


def write_made(
    folder: Path, existing: Existing, commission: Commission, shop: ShopPlan | None, notes: Sequence[str], papers: bool
) -> None:
    """Write planned.json, made-steel.md and shop/revisions.csv into a folder."""
    write_planned(folder, existing, commission)
    revisions = {} if shop is None else dict(shop.revisions)
    helps = [note for note in notes if " is made and fails a check" in note]
    told = troubles(existing.answer, commission, existing.steel)
    if papers:
        text = made_steel_md(commission.title, existing.answer, told, revisions, helps, commission.units)
        (folder / "made-steel.md").write_text(text, encoding="utf-8", newline="\n")
    if shop is not None:
        (folder / "shop").mkdir(exist_ok=True)
        (folder / "shop" / REVISIONS).write_text(revisions_csv(revisions), encoding="utf-8", newline="\n")


def revisions_csv(revisions: Mapping[str, Revision]) -> str:
    """Return shop/revisions.csv: the latest revision of every card that has more than one."""
    rows = [revisions[tag] for tag in sorted(revisions)]
    columns: dict[str, NDArray[np.generic]] = {
        "tag": np.array([each.tag for each in rows], dtype=np.str_),
        "revision": np.array([each.number for each in rows], dtype=np.int64),
        "round": np.array([each.round for each in rows], dtype=np.int64),
        "reason": np.array([each.reason for each in rows], dtype=np.str_),
        "changed": np.array([each.changed for each in rows], dtype=np.str_),
    }
    return csv_rows(columns)


def _read_revisions(path: Path) -> dict[str, Revision]:
    """Return the revisions that a run wrote; none where there are none. Raises FileError where they were changed."""
    if not path.is_file():
        return {}
    text = read_bytes(path, _LARGEST, "list of revisions").decode("utf-8", "replace")
    try:
        return {
            row["tag"]: Revision(row["tag"], int(row["revision"]), int(row["round"]), row["reason"], row["changed"])
            for row in csv.DictReader(text.splitlines())
        }
    except (KeyError, ValueError, TypeError, csv.Error):
        raise FileError(path, "is no list of revisions as a run writes it: move it away") from None
