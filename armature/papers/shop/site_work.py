"""site.pdf: trial assembly with match marks, take-down, packing list, paint and touch-up order, welds on scaffold."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from armature.edge import System, format_length, format_mass
from armature.papers import ACCENT, GREY, INK, PAGES, PALE, Sheet
from armature.papers.shop.checks import place_text
from armature.papers.shop.joint_words import joint_lines
from armature.papers.shop.travel import saw_cuts
from armature.papers.shop.words import box_text, hand, joint_text
from armature.shop import ShopPlan

_EDGE = 14.0
Lines = list[tuple[str, bool]]
_PAINT = {
    "bare": ("Bare steel: degrease, brush with oil or wax while warm; again on site where it was welded.",),
    "painted": (
        "1  Blast or brush to bright metal (ISO 8501-1 Sa 2 1/2, SSPC-SP 10); prime within the shift.",
        "2  Stripe-coat every weld, edge and loop by brush before each full coat: there it fails first.",
        "3  Two more coats, each dry by its maker's time; leave a hand's breadth bare where it is welded on site.",
    ),
    "galvanised": (
        "1  Drill vent and drain holes in every pipe before it goes to the bath: a closed pipe bursts there.",
        "2  After the bath: file runs off joints and loops; touch up with zinc paint where it was ground.",
    ),
    "galvanised and painted": (
        "1  Drill vent and drain holes in every pipe before it goes to the bath: a closed pipe bursts there.",
        "2  Sweep-blast the zinc, or etch it, before the first coat; then two coats.",
        "3  Leave a hand's breadth bare where it is welded on site.",
    ),
}
_TOUCH_UP = (
    "On site, in this order: weld, look at it, brush to bright, zinc or primer, two coats, then hang the leaves. Zinc "
    "burnt by welding smokes: strip it first, air mask on. Leaves and bushes are hung last, clear of spatter."
)


def site_work(plan: ShopPlan) -> bytes:
    """Return the PDF for whoever parts, packs and joins the tree."""
    sheet = Sheet(plan.page, f"{plan.title}: on site", [plan.title])
    unit: System = plan.commission.units
    _pages(sheet, plan, "Trial assembly", list(_trial(plan, unit)))
    _pages(sheet, plan, "Packing list", list(_packing(plan, unit)))
    _pages(sheet, plan, "Paint and touch-up", list(_paint(plan)))
    return sheet.printed()


def _pages(sheet: Sheet, plan: ShopPlan, name: str, lines: Lines) -> None:
    """Write lines, strong ones as heads with a box to tick, over as many pages as they take."""
    width, height = PAGES[plan.page]
    y = height
    for text, strong in lines:
        size = 13.0 if strong else 11.0
        parts = sheet.wrapped(text, size, width - 2.0 * _EDGE - 9.0, "" if strong else "    ")
        if y + 6.0 * len(parts) + (6.0 if strong else 0.0) > height - _EDGE:
            y = _open(sheet, plan, name)
        if strong:
            y += 3.0
            sheet.rule(_EDGE, y - 4.2, width - 2.0 * _EDGE, 0.15, PALE)
            sheet.tick(_EDGE, y - 1.0, 5.0, 0.4)
        for part in parts:
            sheet.ink(INK)
            sheet.fraction(_EDGE + 8.0, y + 3.2, part, size, bold=strong)
            y += 6.4 if strong else 5.4


def _open(sheet: Sheet, plan: ShopPlan, name: str) -> float:
    sheet.add_page()
    width = PAGES[plan.page][0]
    sheet.ink(INK)
    sheet.words(_EDGE, 22.0, name, 26, bold=True)
    sheet.ink(GREY)
    sheet.fitted(width - _EDGE - 90.0, 14.0, plan.title, 10, 90.0, align="R")
    sheet.ink(ACCENT)
    sheet.words(width - _EDGE, 22.0, "local codes rule; an engineer signs the joints", 10, align="R")
    sheet.rule(_EDGE, 26.0, width - 2.0 * _EDGE, 0.6)
    return 32.0


def match_mark(number: int) -> str:
    """Return the mark punched on both sides of the joint of a section, as many as sections are told apart by."""
    return f"M{number}"


def _trial(plan: ShopPlan, unit: System) -> Iterator[tuple[str, bool]]:
    """Yield the trial in order of erection, then the take-down, which runs backwards."""
    if len(plan.sections.sections) == 1:
        yield "It travels whole: stand it on its plate, plumb it by its card, look at it from all sides.", True
        return
    yield "Put it together once in the shop, in this order, before anything is painted:", False
    for stage in plan.stages:
        number, section = stage.section, plan.sections.sections[stage.section]
        if section.splice is None:
            yield "S1 on its plate: level, plumb by the card of T, clamp to the floor", True
            continue
        row, on = section.splice.row, section.parent + 1
        tag, mark = plan.tree.tags[row], match_mark(number + 1)
        yield f"S{number + 1} onto S{on} at {tag}: fit, tack or bolt, punch {mark} on both sides of the joint", True
        if section.splice.at_joint:
            foot, clock = format_length(float(plan.written.feet[row]), unit), plan.written.clocks[row]
            yield (
                f"{tag} sits at {foot} on {plan.tree.tags[plan.tree.parents[row]]}, {hand(float(clock))}: scribe it",
                False,
            )
        else:
            for cut in saw_cuts(plan, row):
                if cut.section == number + 1:
                    yield f"sawn at {format_length(cut.station_mm, unit)}: {joint_text(cut.joint, unit)}", False
        place = place_text(plan.poses.tips[row].tolist(), unit)
        yield f"check its tip on the setting-out grid: {place}", False
    yield "Take down in the order " + ", ".join(f"S{stage.section + 1}" for stage in plan.stages[::-1]), True
    yield "Photograph every joint with its match mark before it comes apart.", False


def _packing(plan: ShopPlan, unit: System) -> Iterator[tuple[str, bool]]:
    tree, leaves = plan.tree, plan.tree.leaves
    for number, section in enumerate(plan.sections.sections):
        rows = np.flatnonzero(plan.sections.of_member == number)
        hung = int(np.isin(leaves.twigs, rows).sum())
        box = box_text(tuple(section.box.sides[::-1].tolist()), unit)
        yield f"S{number + 1}: {len(rows)} bars, {format_mass(section.mass, unit)}, {box}", True
        marks = [match_mark(n + 1) for n, each in enumerate(plan.sections.sections) if each.splice and n == number]
        marks += [
            match_mark(n + 1) for n, each in enumerate(plan.sections.sections) if each.splice and each.parent == number
        ]
        lying = "lying" if plan.lifts[number].tail is not None else "standing"
        thick = tree.tags[rows[np.argsort(-tree.start_diameters[rows], kind="stable")[:3]]].tolist()
        yield (
            f"travels {lying}; cradle under {', '.join(thick)}, felt between strap and paint; twig tips carry nothing",
            False,
        )
        yield (
            f"tags wired on; match marks {', '.join(marks) or 'none'}; {hung} leaves, in boxes",
            False,
        )
    welded = int(plan.on_site.sum())
    bolts = sum(joint.bolts for joint in plan.site_joints if joint is not None)
    yield "With the load", True
    yield f"{bolts} bolts with nuts and washers and a tenth more; pins and shims; welding rod in a sealed quiver", False
    yield (
        f"slings and shackles of the lift cards; {welded} joint(s) welded on site: screens, blanket, extinguishers",
        False,
    )
    yield "touch-up primer and paint; this packet, the setting-out sheet, spare tags and punches", False


def _paint(plan: ShopPlan) -> Iterator[tuple[str, bool]]:
    coat = plan.commission.site.coat or "bare"
    yield f"In the shop: {coat}", True
    for text in _PAINT[coat]:
        yield text, False
    yield "Sections in this order, parts that others hide first", True
    yield ", ".join(f"S{stage.section + 1}" for stage in plan.stages[::-1]), False
    yield "On site", True
    yield _TOUCH_UP, False
    for row in np.flatnonzero(plan.on_site).tolist():
        yield f"{plan.tree.tags[row]} on scaffold: {'; '.join(joint_lines(plan, row, plan.commission.units))}", False
