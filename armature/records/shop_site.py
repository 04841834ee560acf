"""erection.pdf and estimate.pdf: what travels, how it goes up, what it takes and costs."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from armature.centreline import Floats
from armature.records.shop_sheet import PAGES, Sheet, pull, side_text, turning, weight
from armature.records.shop_strokes import ACCENT, GREY, INK, PALE, Point
from armature.records.shop_views import colour_of
from armature.shop.labour import OPERATIONS
from armature.shop.lifting import Stage
from armature.shop.plan import ShopPlan
from armature.shop.sections import Section
from armature.shop.slices import Slices
from armature.units import System, format_length

_EDGE = 14.0
# Height of one stage and of the foot of its page.
_BLOCK, _FOOT = 25.0, 46.0
_SPLICES = "No {} is checked here for strength: the engineer has to check every one before it is made."
_RIGGING = (
    "Balance is how far the centre of all that stands is from the middle of the base.",
    "A design aid: a rigger plans the lift, an engineer checks splices and anchors; nobody stands below.",
)


def erection_sheets(plan: ShopPlan) -> bytes:
    """Return the PDF of the erection drawing: two elevations with the sections, then a table in order of erection."""
    sheet = Sheet(plan.page, f"{plan.title}: erection", [plan.title])
    unit: System = "inch" if plan.paper.unit == "inch" else "mm"
    width, height = PAGES[plan.page]
    _elevations(sheet, plan, width, height, unit)
    _stages(sheet, plan, width, height, unit)
    return sheet.printed()


def estimate_sheet(plan: ShopPlan) -> bytes:
    """Return the PDF of hours by operation, their weeks, and the estimate with its assumptions, on one page."""
    sheet = Sheet(plan.page, f"{plan.title}: hours and estimate", [plan.title, plan.estimate.currency])
    width, _ = PAGES[plan.page]
    sheet.add_page()
    sheet.ink(INK)
    sheet.fitted(_EDGE, 24.0, plan.title, 26, width - 2.0 * _EDGE, bold=True)
    sheet.ink(GREY)
    sheet.words(_EDGE, 32.0, f"{plan.labour.hours:.0f} hours, {plan.labour.weeks:.1f} weeks, trouble included", 14)
    y = _hours(sheet, plan, 42.0, width)
    _money(sheet, plan, y + 12.0, width)
    return sheet.printed()


def _elevations(sheet: Sheet, plan: ShopPlan, width: float, height: float, unit: System) -> None:
    sheet.add_page()
    sheet.ink(INK)
    sheet.fitted(_EDGE, 22.0, plan.title, 26, width - 2.0 * _EDGE, bold=True)
    count = len(plan.sections.sections)
    total = sum(section.mass for section in plan.sections.sections)
    sheet.ink(GREY)
    words = f"{count} section{'s' if count > 1 else ''}, {weight(total, unit)} of steel; leaves are hung after"
    sheet.words(_EDGE, 30.0, words, 13)
    points = np.concatenate([section.slices.points for section in plan.sections.sections])
    room = (height - 60.0) / 2.0
    for number, (axis, name) in enumerate(((0, "seen along y, from the south"), (1, "seen along x, from the east"))):
        _elevation(sheet, plan, points, axis, name, 40.0 + number * room, width, room - 8.0, unit)


def _elevation(
    sheet: Sheet,
    plan: ShopPlan,
    points: Floats,
    axis: int,
    name: str,
    y: float,
    width: float,
    room: float,
    unit: System,
) -> None:
    low, high = points.min(axis=0), points.max(axis=0)
    scale = min((width - 2.0 * _EDGE - 50.0) / max(high[axis] - low[axis], 1.0), (room - 6.0) / max(high[2], 1.0))
    middle = _EDGE + (width - 2.0 * _EDGE - 50.0) / 2.0
    ground = y + room - 2.0

    def place(point: Floats) -> tuple[float, float]:
        return middle + (point[axis] - (low[axis] + high[axis]) / 2.0) * scale, ground - point[2] * scale

    sheet.ink(GREY, 0.3)
    sheet.line(_EDGE, ground, width - _EDGE - 50.0, ground)
    sheet.words(_EDGE, y + 3.0, name, 10)
    tall = format_length(float(high[2]), unit, feet=True)
    sheet.fraction(width - _EDGE - 48.0, ground - float(high[2]) * scale + 3.0, f"top {tall}", 10)
    for number, section in enumerate(plan.sections.sections):
        _drawn_section(sheet, section.slices, number, scale, place)
    taken: list[Point] = []
    for number, section in enumerate(plan.sections.sections):
        x, up = place(section.slices.centre)
        while any(abs(x - other[0]) < 8.0 and abs(up - other[1]) < 8.0 for other in taken):
            up -= 2.0
        taken.append((x, up))
        sheet.set_fill_color(255, 255, 255)
        sheet.set_draw_color(*colour_of(number))
        sheet.set_line_width(0.8)
        sheet.circle(x, up, 4.0, style="DF")
        sheet.ink(INK)
        sheet.words(x, up + 1.6, str(number + 1), 12, bold=True, align="C")
        if section.splice is not None:
            own = np.flatnonzero(section.slices.members == section.splice.row)
            _splice_mark(sheet, place(section.slices.points[own[0]]))


def _drawn_section(sheet: Sheet, slices: Slices, number: int, scale: float, place: Callable[[Floats], Point]) -> None:
    starts = np.flatnonzero(np.append(True, np.diff(slices.members) != 0))
    for first, last in zip(starts.tolist(), [*starts[1:].tolist(), len(slices.members)], strict=True):
        if last - first > 1:
            line = [place(point) for point in slices.points[first:last]]
            sheet.path(line, max(2.0 * float(slices.radii[first]) * scale, 0.12), colour_of(number))


def _splice_mark(sheet: Sheet, at: Point) -> None:
    x, y = at
    sheet.ink(ACCENT, 0.8)
    sheet.line(x - 2.5, y - 2.5, x + 2.5, y + 2.5)
    sheet.line(x - 2.5, y + 2.5, x + 2.5, y - 2.5)


def _stages(sheet: Sheet, plan: ShopPlan, width: float, height: float, unit: System) -> None:
    y = height
    for step, stage in enumerate(plan.stages, start=1):
        if y + _BLOCK > height - _FOOT:
            y = _stage_page(sheet, plan, width)
        _stage(sheet, plan, step, stage, y, width, unit)
        y += _BLOCK


def _stage(sheet: Sheet, plan: ShopPlan, step: int, stage: Stage, top: float, width: float, unit: System) -> None:
    section, found = plan.sections.sections[stage.section], plan.lifts[stage.section]
    y = top + 8.0
    sheet.set_fill_color(*colour_of(stage.section))
    sheet.rect(_EDGE, y - 5.5, 3.0, _BLOCK - 4.0, style="F")
    sheet.ink(INK)
    sheet.words(_EDGE + 6.0, y, str(step), 17, bold=True)
    sheet.words(_EDGE + 16.0, y, f"S{stage.section + 1}", 17, bold=True)
    sheet.words(_EDGE + 34.0, y, weight(section.mass, unit), 15, bold=True)
    sides = " x ".join(side_text(float(side), unit) for side in section.box.sides[::-1])
    sheet.fitted(_EDGE + 60.0, y, sides, 13, 54.0)
    sheet.words(_EDGE + 118.0, y, pull(float(max(found.forces)), unit), 15, bold=True)
    sheet.fraction(_EDGE + 152.0, y, f"{format_length(stage.offset_mm, unit)} off", 13)
    sheet.fraction(_EDGE + 16.0, y + 6.5, _joined(plan, section, unit), 11.5)
    if plan.sling_legs > 2:
        even = f"({pull(found.even_kn, unit)} if all {plan.sling_legs} did)"
        sheet.ink(GREY)
        sheet.words(_EDGE + 118.0, y + 6.5, even, 11.5)
    hooks = " and ".join(
        f"{plan.tree.tags[row]} at {format_length(station, unit)}"
        for row, station in zip(found.members, found.stations, strict=True)
    )
    sheet.ink(INK)
    sheet.fraction(_EDGE + 16.0, y + 12.5, f"hook on {hooks}", 11.5)
    sheet.ink(INK if stage.stands else ACCENT)
    word = "stands by itself" if stage.stands else f"hold it: {turning(stage.moment_kn_m, unit)} on the anchors"
    sheet.fitted(_EDGE + 118.0, y + 12.5, word, 11.5, width - 2.0 * _EDGE - 118.0, bold=not stage.stands)
    sheet.rule(_EDGE, top + _BLOCK, width - 2.0 * _EDGE, 0.15, PALE)


def _joined(plan: ShopPlan, section: Section, unit: System) -> str:
    if section.splice is None:
        return "stands on the base plate"
    splice = section.splice
    bar, station = format_length(splice.diameter_mm, unit, fine=True), format_length(splice.station_mm, unit)
    return f"{plan.splice} on {plan.tree.tags[splice.row]} at {station}, bar {bar}"


def _stage_page(sheet: Sheet, plan: ShopPlan, width: float) -> float:
    sheet.add_page()
    height = sheet.page_size[1]
    sheet.ink(INK)
    sheet.words(_EDGE, 22.0, "Order of erection", 24, bold=True)
    sheet.ink(GREY)
    for name, shift in (("SECTION", 6.0), ("MASS", 34.0), ("BOX", 60.0), ("SLING, A LEG", 118.0), ("BALANCE", 152.0)):
        sheet.words(_EDGE + shift, 31.0, name, 10)
    sheet.rule(_EDGE, 33.0, width - 2.0 * _EDGE, 0.6)
    y = height - _FOOT + 8.0
    if len(plan.sections.sections) > 1:
        sheet.ink(ACCENT)
        sheet.fitted(_EDGE, y, _SPLICES.format(plan.splice), 11.5, width - 2.0 * _EDGE, bold=True)
    sheet.ink(INK)
    for text in (*_sling_words(plan), *_RIGGING):
        y += 6.0
        sheet.fitted(_EDGE, y, text, 11, width - 2.0 * _EDGE)
    return 34.0


def _sling_words(plan: ShopPlan) -> tuple[str, str]:
    """Return what the sling's force is, and which legs carry it."""
    force = f"Sling: the force in each leg that carries, the legs at {plan.sling_angle:.0f} degrees from level."
    if plan.sling_legs == 2:
        return force, "It holds for two legs, each with no less than half the weight."
    return force, (
        f"A stiff load hangs on two of its {plan.sling_legs} legs while the others go slack: choose every leg for the "
        "force printed large."
    )


def _hours(sheet: Sheet, plan: ShopPlan, y: float, width: float) -> float:
    labour = plan.labour
    weeks = max(labour.weeks, 1e-9)
    left, room = _EDGE + 96.0, width - 2.0 * _EDGE - 96.0
    sheet.ink(GREY)
    for name, shift in (("OPERATION", 0.0), ("COUNT", 58.0), ("HOURS", 76.0), ("WEEKS", 96.0)):
        sheet.words(_EDGE + shift, y, name, 9)
    for work, (_, start, end) in zip(labour.works, labour.spans, strict=True):
        y += 7.0
        sheet.ink(INK)
        sheet.words(_EDGE, y, OPERATIONS[work.operation], 12)
        sheet.words(_EDGE + 70.0, y, f"{work.count:.0f}", 12, align="R")
        sheet.words(_EDGE + 90.0, y, f"{work.hours:.1f}", 12, bold=True, align="R")
        sheet.set_fill_color(*ACCENT)
        sheet.rect(left + start / weeks * room, y - 3.6, max((end - start) / weeks * room, 0.4), 4.0, style="F")
        sheet.rule(_EDGE, y + 1.6, width - 2.0 * _EDGE, 0.12, PALE)
    sheet.ink(GREY)
    step = max(round(weeks / 8.0), 1)
    for week in range(0, int(weeks) + 1, step):
        sheet.words(left + week / weeks * room, y + 6.0, str(week), 9, align="C")
    return y + 6.0


def _money(sheet: Sheet, plan: ShopPlan, y: float, width: float) -> None:
    found = plan.estimate
    unit: System = "inch" if plan.paper.unit == "inch" else "mm"
    right = width - _EDGE
    sheet.ink(INK)
    sheet.words(_EDGE, y, "Estimate", 18, bold=True)
    for line in found.lines:
        y += 7.0
        much = weight(line.quantity, unit) if line.unit == "kg" else f"{line.quantity:.0f} {line.unit}"
        sheet.words(_EDGE, y, f"{line.what}: {much}", 12)
        total = "no price given" if line.total is None else f"{line.total:,.0f} {found.currency}"
        sheet.words(right, y, total, 12, align="R")
    if any(line.total is not None for line in found.lines):
        y += 7.0
        sheet.words(_EDGE, y, "for what goes wrong", 12)
        sheet.words(right, y, f"{found.spare:,.0f} {found.currency}", 12, align="R")
        sheet.rule(_EDGE, y + 2.5, right - _EDGE, 0.5)
        y += 9.5
        sheet.words(_EDGE, y, "Total", 15, bold=True)
        sheet.words(right, y, f"{found.total:,.0f} {found.currency}", 15, bold=True, align="R")
    y += 10.0
    sheet.ink(GREY)
    for text in found.assumptions:
        sheet.fitted(_EDGE, y, text, 11, right - _EDGE)
        y += 6.0
