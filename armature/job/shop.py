"""All shop papers of one plan, written into a job folder: bars.csv and everything under shop/."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np

from armature.edge import FileError
from armature.files import Figure, Finding
from armature.job.striker import Striker
from armature.shop import ShopPlan

# What takes longest comes first: where two print, the second begins with it and the first at the other end.
PAPERS = ("packet", "templates", "stations", "erection", "tags", "tapes", "setting-out", "site", "again", "estimate")
_PRINTED = dict(
    zip(
        PAPERS,
        [
            "packet",
            "templates",
            "stations",
            "erection_sheets",
            "tags",
            "tapes",
            "setting_out",
            "site_work",
            "packet_again",
            "estimate_sheet",
        ],
        strict=True,
    )
)


def write_shop(folder: Path, plan: ShopPlan, papers: bool = True, striker: Striker | None = None) -> None:
    """Write bars.csv and shop/ into a folder; without `papers` the lists alone, which takes no time.

    striker: a second process that prints some of the papers.
    """
    from armature.files import bars_csv, cards_csv, checks_csv, hours_csv, offsets_csv, plan_json, welding_csv
    from armature.papers import book, rows_of

    shop = folder / "shop"
    shop.mkdir(parents=True, exist_ok=True)
    texts = {
        folder / "bars.csv": bars_csv(plan),
        shop / "welding.csv": welding_csv(plan),
        shop / "checks.csv": checks_csv(plan),
        shop / "offsets.csv": offsets_csv(plan),
        shop / "plan.json": plan_json(plan),
        shop / "hours.csv": hours_csv(plan),
        shop / "cards.csv": cards_csv(plan),
    }
    for path, text in texts.items():
        path.write_text(text, "utf-8", newline="\n")
    lists = {path.stem: rows_of(text) for path, text in texts.items() if path.suffix == ".csv"}
    (shop / "lists.xlsx").write_bytes(book(lists))
    if papers:
        striker = striker or Striker(wanted=False)
        pieces = [striker.asked(write_paper, shop, plan, name) for name in PAPERS]
        for piece in reversed(pieces):
            piece.result()


def write_paper(shop: Path, plan: ShopPlan, name: str) -> None:
    """Write one of PAPERS of a plan into its shop/; the templates with their drawing."""
    import armature.papers.shop as bench

    if name == "templates":
        _write_templates(shop, plan)
        return
    print_: Callable[[ShopPlan], bytes | None] = getattr(bench, _PRINTED[name])
    printed = print_(plan)
    # Nothing is printed again where no card differs.
    if printed is not None:
        (shop / f"{name}.pdf").write_bytes(printed)


def _write_templates(shop: Path, plan: ShopPlan) -> None:
    from armature.papers.shop import full_size, strips, templates, templates_dxf, tile_size

    drawn, tile = full_size(plan), tile_size(plan)
    laid = strips(plan, tile, drawn)
    (shop / "templates.pdf").write_bytes(templates(plan, laid))
    # A drawing costs no paper: it holds every member.
    laid += strips(plan, tile, ~drawn)
    (shop / "templates.dxf").write_text(templates_dxf(plan, laid), "utf-8", newline="\n")


def write_card(folder: Path, plan: ShopPlan, tag: str) -> Path:
    """Write the card of one member into a folder and return its path; all else in the folder stays as it is."""
    from armature.papers.shop import lost_card

    card = lost_card(plan, tag)
    path = folder / f"card-{tag}.pdf"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        path.write_bytes(card)
    except OSError as error:
        raise FileError(path, f"cannot be written: {error.strerror}") from None
    return path


def shop_finding(plan: ShopPlan) -> Finding:
    """Return what the shop says of a tree, for the summary."""
    from armature.papers.shop import LEAST_ONLY

    truth, sizes = plan.truth, plan.bars.sizes
    unproven = [size for size in sizes if not size.proof]
    bought = sum(size.bought for size in sizes)
    figures: dict[str, Figure] = {
        "bars_to_buy": bought,
        "bars_kg": round(sum(size.mass_kg for size in sizes), 1),
        "bars_used_kg": round(sum(size.used_kg for size in sizes), 1),
        "paper_rounding_moves_tips_mm": round(float(truth.paper.max(initial=0.0)), 1),
        "sections": len(plan.sections.sections),
        "heaviest_section_kg": round(max(section.mass for section in plan.sections.sections), 1),
        "hours": round(plan.labour.hours, 1),
        "weeks": round(plan.labour.weeks, 1),
        "groove_welds": int(plan.welds.grooves.sum()),
        "fillet_welds": int(plan.welds.are_fillets.sum()),
    }
    if truth.copies:
        figures["real_anvil_moves_tips_mm"] = round(float(np.quantile(truth.most, 0.95)), 1)
        figures["fitted_tips_stray_mm"] = round(float(np.quantile(truth.fitted_most, 0.95)), 1)
        figures["pairs_that_may_touch"] = len(plan.clashes)
    proof = "no plan needs fewer" if not unproven else f"not proven least for {len(unproven)} size(s)"
    verdict = f"{bought} bars, {proof}; {len(plan.sections.sections)} section(s); {plan.labour.hours:.0f} hours"
    return Finding(verdict, figures, [*([] if plan.welds.known else [LEAST_ONLY]), *plan.faults])
