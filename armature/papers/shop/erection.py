"""erection.pdf: what travels, the order in which it goes up, and how each section is hooked on and joined."""

from __future__ import annotations

import numpy as np

from armature.edge import System, format_length, format_mass, format_moment, format_wind
from armature.papers import ACCENT, GREY, INK, PAGES, PALE, Point, Sheet
from armature.papers.shop.card_drawings import colour_of
from armature.papers.shop.lifts import EDGE, drawn_bars, lift_cards
from armature.papers.shop.setting_out import north_arrow
from armature.papers.shop.words import bar_text, box_text
from armature.shop import Section, ShopPlan
from armature.tree import Floats, extent

# From so many sections on an elevation may have a page to itself.
_MANY = 10
_LABELS = 15.0
_APART = 5.2
_COLUMNS = (
    ("", 0.0, 0.0),
    ("SECTION", 8.0, 15.0),
    ("JOINED", 25.0, 41.0),
    ("MASS", 67.0, 17.0),
    ("BOX", 85.0, 36.0),
    ("PARTED FOR", 122.0, 20.0),
    ("BALANCE OFF", 143.0, 0.0),
)


def erection_sheets(plan: ShopPlan) -> bytes:
    """Return the PDF: two elevations with the sections, a table in order of erection, and a card a section."""
    sheet = Sheet(plan.page, f"{plan.title}: erection", [plan.title])
    unit: System = "inch" if plan.paper.unit == "inch" else "mm"
    width, height = PAGES[plan.page]
    _elevations(sheet, plan, width, height, unit)
    _stages(sheet, plan, width, height, unit)
    lift_cards(sheet, plan, unit)
    return sheet.printed()


def _elevations(sheet: Sheet, plan: ShopPlan, width: float, height: float, unit: System) -> None:
    views = (
        (0, "seen from the south, west on the left, east on the right"),
        (1, "seen from the east, south on the left, north on the right"),
    )
    (west, south, _), (east, north, top) = extent(plan.tree).tolist()
    half = (height - 56.0) / 2.0
    count = len(plan.sections.sections)
    # A page each where that draws many sections larger, or where their numbers would not fit beside half a page.
    tall = (half - 18.0) / top < (width - 2.0 * (EDGE + _LABELS)) / max(east - west, north - south)
    alone = (count >= _MANY and tall) or count > 2 * int(half / _APART)
    room = 2.0 * half if alone else half
    for number, (axis, name) in enumerate(views):
        if alone or not number:
            _title(sheet, plan, width, unit)
        _elevation(sheet, plan, axis, name, 40.0 if alone else 40.0 + number * room, room - 8.0, unit)


def _title(sheet: Sheet, plan: ShopPlan, width: float, unit: System) -> None:
    sheet.add_page()
    sheet.ink(INK)
    sheet.fitted(EDGE, 22.0, plan.title, 26, width - 2.0 * EDGE, bold=True)
    count = len(plan.sections.sections)
    total = sum(section.mass for section in plan.sections.sections)
    sheet.ink(GREY)
    truck = box_text(plan.limits.truck_mm, unit)
    words = f"{count} section{'s' if count > 1 else ''}, {format_mass(total, unit)} of steel; leaves are hung after."
    words += f" Truck {truck}, hook {format_mass(plan.limits.lift_kg, unit)}."
    sheet.fitted(EDGE, 30.0, words, 12, width - 2.0 * EDGE)


def _elevation(sheet: Sheet, plan: ShopPlan, axis: int, name: str, y: float, room: float, unit: System) -> None:
    width = sheet.page_size[0]
    points = np.concatenate([section.slices.points for section in plan.sections.sections])
    low, high = points.min(axis=0), points.max(axis=0)
    inside = width - 2.0 * (EDGE + _LABELS)
    scale = min(inside / max(high[axis] - low[axis], 1.0), (room - 10.0) / max(high[2], 1.0))
    ground = min(y + room - 2.0, y + 12.0 + float(high[2]) * scale + (room - 12.0 - float(high[2]) * scale) / 3.0)
    middle = (low[axis] + high[axis]) / 2.0

    def place(point: Floats) -> Point:
        return width / 2.0 + (float(point[axis]) - middle) * scale, ground - float(point[2]) * scale

    sheet.ink(GREY, 0.3)
    sheet.line(EDGE + _LABELS, ground, width - EDGE - _LABELS, ground)
    top = format_length(float(extent(plan.tree)[1, 2]), unit, feet=True)
    sheet.fraction(EDGE, y + 1.0, f"{name}; top of steel {top}", 10)
    for number, section in enumerate(plan.sections.sections):
        drawn_bars(sheet, section.slices, number, scale, place)
    _compass(sheet, axis, EDGE + _LABELS, width - EDGE - _LABELS, ground)
    for section in plan.sections.sections[1:]:
        at = _foot(section)
        _splice_mark(sheet, place(section.slices.points[at]))
    _labels(sheet, [place(_label_point(section)) for section in plan.sections.sections], y + 6.0, y + room, width)


def _compass(sheet: Sheet, axis: int, left: float, right: float, ground: float) -> None:
    """Draw north beside the ground line: an arrow to the right, or an arrow's tail seen from behind; name its ends."""
    x, y = left + 16.0, ground + 4.2
    if axis:
        north_arrow(sheet, x - 7.0, y, 14.0, 90.0)
    else:
        sheet.ink(INK, 0.5)
        sheet.circle(x, y, 2.2, style="D")
        for way in (1.0, -1.0):
            sheet.line(x - 1.55, y - 1.55 * way, x + 1.55, y + 1.55 * way)
        sheet.words(x + 3.6, y + 1.4, "N, away", 12, bold=True)
    sheet.ink(INK)
    sheet.words(left, y + 1.4, "WS"[axis], 12, bold=True)
    sheet.words(right, y + 1.4, "EN"[axis], 12, bold=True, align="R")


def _foot(section: Section) -> int:
    assert section.splice is not None  # the first section has none, and is not marked
    own = section.slices
    return int(np.argmin(np.where(own.members == section.splice.row, own.stations, np.inf)))


def _label_point(section: Section) -> Floats:
    """Return the thickest piece of bar near the balance: what a leader can point at."""
    own = section.slices
    off = np.linalg.norm(own.points - own.centre, axis=1)
    return np.asarray(own.points[int(np.argmin(np.round(off - 20.0 * own.radii, 3)))])


def _labels(sheet: Sheet, points: list[Point], top: float, bottom: float, width: float) -> None:
    """Write the section numbers in the margins, half on either side, each with a leader to its section."""
    order = sorted(range(len(points)), key=lambda n: (points[n][0], n))
    left = set(order[: (len(order) + 1) // 2])
    for side in (0, 1):
        own = sorted((n for n in range(len(points)) if (n in left) == (side == 0)), key=lambda n: (points[n][1], n))
        places = spread([points[n][1] for n in own], _APART, top, bottom)
        x = EDGE + 5.0 if side == 0 else width - EDGE - 5.0
        for n, at in zip(own, places, strict=True):
            sheet.ink(GREY, 0.18)
            sheet.line(x + (5.6 if side == 0 else -5.4), at, *points[n])
            sheet.set_fill_color(*colour_of(n))
            sheet.circle(*points[n], 0.7, style="F")
            sheet.rect(x - 4.6, at - 2.2, 1.4, 4.4, style="F")
            sheet.ink(INK)
            sheet.words(x - 2.4, at + 1.6, f"S{n + 1}", 10.5, bold=True)


def spread(wanted: list[float], apart: float, low: float, high: float) -> list[float]:
    """Return places in the order of `wanted`, ascending, at least `apart` from each other and near where wanted.

    Where they do not all fit between low and high, they stand closer, evenly.

    >>> spread([1.0, 1.0, 9.0], 2.0, 0.0, 10.0)
    [1.0, 3.0, 9.0]
    """
    if not wanted:
        return []
    gap = min(apart, (high - low) / max(len(wanted) - 1, 1))
    widths: list[float] = []
    for at in wanted:
        widths.append(max(at, low if not widths else widths[-1] + gap))
    over = high
    for number in range(len(widths) - 1, -1, -1):
        widths[number] = min(widths[number], over)
        over = widths[number] - gap
    return widths


def _splice_mark(sheet: Sheet, at: Point) -> None:
    x, y = at
    sheet.ink(ACCENT, 0.5)
    sheet.line(x - 1.4, y - 1.4, x + 1.4, y + 1.4)
    sheet.line(x - 1.4, y + 1.4, x + 1.4, y - 1.4)


def _stages(sheet: Sheet, plan: ShopPlan, width: float, height: float, unit: System) -> None:
    y = height
    notes = _notes(plan, unit)
    for step, stage in enumerate(plan.stages, start=1):
        if y + 16.0 > height - 8.0 - 5.5 * len(notes):
            y = _stage_page(sheet, width, height, notes)
        section = plan.sections.sections[stage.section]
        y += 7.0
        sheet.set_fill_color(*colour_of(stage.section))
        sheet.rect(EDGE, y - 5.0, 2.0, 11.0, style="F")
        sheet.ink(INK)
        sheet.words(EDGE + 4.0, y, str(step), 12)
        sheet.words(EDGE + 11.0, y, f"S{stage.section + 1}", 13, bold=True)
        _joined(sheet, plan, stage.section, y, unit)
        _, x, room = _COLUMNS[3]
        sheet.fitted(EDGE + x, y, format_mass(section.mass, unit), 12, room, bold=True)
        _, x, room = _COLUMNS[4]
        sheet.fitted(EDGE + x, y, box_text(tuple(section.box.sides[::-1].tolist()), unit), 10, room)
        _, x, room = _COLUMNS[5]
        sheet.fitted(EDGE + x, y, section.splice.limit if section.splice is not None else "", 10, room)
        _, x, _ = _COLUMNS[6]
        sheet.fraction(EDGE + x, y, format_length(stage.offset_mm, unit), 11)
        sheet.ink(GREY if stage.stands else ACCENT)
        word = f"stands by itself in wind to {format_wind(stage.wind_m_s, unit)}"
        if not stage.stands:
            word = f"hold it: {format_moment(stage.moment_kn_m, unit)} on anchors or props, still air"
        sheet.fitted(EDGE + 67.0, y + 5.0, word, 9.5, width - 2.0 * EDGE - 67.0, bold=not stage.stands)
        y += 7.0
        sheet.rule(EDGE, y, width - 2.0 * EDGE, 0.15, PALE)


def _joined(sheet: Sheet, plan: ShopPlan, number: int, y: float, unit: System) -> None:
    _, x, room = _COLUMNS[2]
    section = plan.sections.sections[number]
    joint = plan.site_joints[number]
    if section.splice is None or joint is None:
        sheet.words(EDGE + x, y, "on the base plate", 10)
        return
    splice = section.splice
    tag, bar = plan.tree.tags[splice.row], bar_text(plan.tree, splice.row, splice.station_mm, unit)
    parent = f"S{section.parent + 1}"
    if splice.at_joint:
        first, second = f"{tag} welded on {parent}", f"at its own joint, {bar}"
    else:
        first = f"{joint.kind} on {tag}, {parent}, at {format_length(splice.station_mm, unit)}"
        second = bar
    sheet.fitted(EDGE + x, y, first, 10, room - 1.5)
    sheet.ink(GREY)
    sheet.fraction(EDGE + x, y + 5.0, second, 9.0, room=room - 1.5)
    sheet.ink(INK)


def _notes(plan: ShopPlan, unit: System) -> list[str]:
    foot = format_length(plan.foot.side_mm, unit)
    trucks = (
        f"A {each.name} of {box_text(each.truck_mm, unit)} would take about {_sections(each.sections)}."
        for each in plan.trucks
    )
    return [
        f"Balance: how far the centre of all that stands is from the middle of the base plate, {foot} square.",
        "Wind: the gust that all bars, without leaves, bear on that plate without anchors, half as sure again.",
        "Halve it while anything hangs on the hook, and leave nothing free-standing overnight.",
        *trucks,
        "A design aid: a rigger plans the lift, an engineer checks splices and anchors; nobody stands below.",
    ]


def _sections(count: int) -> str:
    return "one section" if count == 1 else f"{count} sections"


def _stage_page(sheet: Sheet, width: float, height: float, notes: list[str]) -> float:
    sheet.add_page()
    sheet.ink(INK)
    sheet.words(EDGE, 22.0, "Order of erection", 24, bold=True)
    sheet.ink(GREY)
    for name, x, _ in _COLUMNS:
        sheet.words(EDGE + x, 31.0, name, 9)
    sheet.rule(EDGE, 33.0, width - 2.0 * EDGE, 0.6)
    for number, text in enumerate(notes):
        sheet.fitted(EDGE, height - 8.0 - 5.5 * (len(notes) - 1 - number), text, 9.5, width - 2.0 * EDGE)
    return 34.0
