"""erection.pdf and estimate.pdf: what travels, how it goes up, what it takes and costs."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from armature.centreline import Floats
from armature.records.shop_sheet import ACCENT, GREY, INK, PAGES, PALE, Point, Sheet, pull, side_text, weight
from armature.records.shop_views import colour_of
from armature.shop.labour import OPERATIONS
from armature.shop.plan import ShopPlan
from armature.shop.sections import Section
from armature.shop.slices import Slices
from armature.units import System, format_length

_EDGE = 14.0


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
    columns = (
        ("", 0.0),
        ("SECTION", 9.0),
        ("JOINED", 32.0),
        ("MASS", 72.0),
        ("BOX", 92.0),
        ("SLING", 142.0),
        ("BALANCE", 160.0),
    )
    y = height
    for step, stage in enumerate(plan.stages, start=1):
        if y + 22.0 > height - 34.0:
            y = _stage_page(sheet, width, columns, plan.sling_legs)
        section, lift = plan.sections.sections[stage.section], plan.lifts[stage.section]
        y += 8.0
        sheet.set_fill_color(*colour_of(stage.section))
        sheet.rect(_EDGE, y - 5.5, 3.0, 15.0, style="F")
        sheet.ink(INK)
        sheet.words(_EDGE + 5.0, y, str(step), 15, bold=True)
        sheet.words(_EDGE + 12.0, y, f"S{stage.section + 1}", 15, bold=True)
        _joined(sheet, plan, section, y, unit)
        sheet.words(_EDGE + 72.0, y, weight(section.mass, unit), 13, bold=True)
        sides = " x ".join(side_text(float(side), unit) for side in section.box.sides[::-1])
        sheet.fitted(_EDGE + 92.0, y, sides, 11, 48.0)
        sheet.words(_EDGE + 142.0, y, pull(float(max(lift.forces)), unit), 12)
        sheet.fraction(_EDGE + 160.0, y, f"{format_length(stage.offset_mm, unit)} off", 12)
        sheet.ink(GREY)
        hooks = " and ".join(str(plan.tree.tags[row]) for row in lift.members)
        at = ", ".join(format_length(station, unit) for station in lift.stations)
        sheet.fitted(_EDGE + 12.0, y + 6.5, f"hook on {hooks} at {at}", 9.5, 126.0)
        sheet.ink(GREY if stage.stands else ACCENT)
        word = "stands by itself" if stage.stands else f"hold it: {stage.moment_kn_m:.2f} kN m on the anchors"
        sheet.fitted(_EDGE + 142.0, y + 6.5, word, 9.5, width - 2.0 * _EDGE - 142.0, bold=not stage.stands)
        y += 9.0
        sheet.rule(_EDGE, y + 2.0, width - 2.0 * _EDGE, 0.15, PALE)


def _joined(sheet: Sheet, plan: ShopPlan, section: Section, y: float, unit: System) -> None:
    if section.splice is None:
        sheet.words(_EDGE + 32.0, y, "on the base plate", 11)
        return
    splice = section.splice
    bar = format_length(splice.diameter_mm, unit, fine=True)
    station = format_length(splice.station_mm, unit)
    sheet.fraction(_EDGE + 32.0, y, f"{plan.splice}, {plan.tree.tags[splice.row]} at {station}, {bar}", 10)


def _stage_page(sheet: Sheet, width: float, columns: tuple[tuple[str, float], ...], legs: int) -> float:
    sheet.add_page()
    height = sheet.page_size[1]
    sheet.ink(INK)
    sheet.words(_EDGE, 22.0, "Order of erection", 24, bold=True)
    sheet.ink(GREY)
    for name, shift in columns:
        sheet.words(_EDGE + shift + (3.0 if shift else 0.0), 31.0, name, 9)
    sheet.rule(_EDGE, 33.0, width - 2.0 * _EDGE, 0.6)
    for number, text in enumerate(
        (
            f"Sling is the force in each of {legs} legs at the angle of the commission, as if two carried it all.",
            "Balance is how far the centre of all that stands is from the middle of the base.",
            "A design aid: a rigger plans the lift, an engineer checks splices and anchors; nobody stands below.",
        )
    ):
        sheet.words(_EDGE, height - 24.0 + 5.5 * number, text, 9.5)
    return 34.0


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
    right = width - _EDGE
    sheet.ink(INK)
    sheet.words(_EDGE, y, "Estimate", 18, bold=True)
    for line in found.lines:
        y += 7.0
        sheet.words(_EDGE, y, f"{line.what}: {line.quantity:.0f} {line.unit}", 12)
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
        sheet.fitted(_EDGE, y, text, 10, right - _EDGE)
        y += 5.5
