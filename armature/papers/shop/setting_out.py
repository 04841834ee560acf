"""setting-out.pdf: the grid, north and the east mark that all else is measured from; the base plate and its anchors."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin

import numpy as np

from armature.edge import System, format_length, format_mass
from armature.papers import ACCENT, GREY, INK, PAGES, PALE, Point, Sheet
from armature.papers.shop.base_template import draw_base_template
from armature.papers.shop.joint_words import joint_lines
from armature.shop import ShopPlan, bearing, bearing_text

_EDGE = 14.0
_LEVEL = (
    "Each rod has a levelling nut and a plate washer below the plate, a plate washer and two nuts above it. Level the "
    "plate on the lower nuts; upper washers, {washer} thick, are welded to the plate when the tree stands plumb."
)
_GROUTED = (
    "Plumb the trunk by the places on its card, tighten, then pack the grout from one side so that no air stays. A "
    "drain to one side: no water may stand on the plate."
)
_SIGNED = (
    "Anchors in their concrete, footing and soil are the engineer's (ACI 318 ch. 17 or EN 1992-4). Local codes rule."
)
_GRID = {"inch": 304.8, "mm": 250.0}


def setting_out(plan: ShopPlan) -> bytes:
    """Return the PDF: the setting-out plan, the base plate, and the plate full size on tiles, to drill by."""
    sheet = Sheet(plan.page, f"{plan.title}: setting out", [plan.title])
    _grid(sheet, plan)
    _plate(sheet, plan)
    draw_base_template(sheet, plan)
    return sheet.printed()


def north_arrow(sheet: Sheet, x: float, y: float, length: float = 14.0, turn: float = 0.0) -> None:
    """Draw an arrow to north, its foot at (x, y); turn: degrees clockwise on the paper from straight up."""
    way = radians(turn)

    def at(along: float, aside: float) -> Point:
        return x + along * sin(way) + aside * cos(way), y - along * cos(way) + aside * sin(way)

    sheet.path([at(0.0, 0.0), at(length, 0.0)], 0.6, INK)
    sheet.path([at(length - 4.0, -1.8), at(length, 0.0), at(length - 4.0, 1.8)], 0.6, INK)
    sheet.ink(INK)
    tip = at(length + 3.2, 0.0)
    sheet.words(tip[0], tip[1] + 1.4, "N", 12, bold=True, align="C")


def _title(sheet: Sheet, plan: ShopPlan, name: str, said: str) -> float:
    sheet.add_page()
    width = PAGES[plan.page][0]
    sheet.ink(INK)
    sheet.words(_EDGE, 22.0, name, 26, bold=True)
    sheet.ink(GREY)
    sheet.fitted(width - _EDGE - 80.0, 14.0, plan.title, 10, 80.0, align="R")
    y = 30.0
    for line in sheet.wrapped(said, 11.0, width - 2.0 * _EDGE):
        sheet.words(_EDGE, y, line, 11)
        y += 5.2
    sheet.rule(_EDGE, y - 2.5, width - 2.0 * _EDGE, 0.6)
    return y + 4.0


def _grid(sheet: Sheet, plan: ShopPlan) -> None:
    unit: System = plan.commission.units
    width, height = PAGES[plan.page]
    said = (
        "Snap this grid on the floor of the shop, and on the footing. Site north is the +y of all files; the east mark "
        "is cut on the plate's edge. Places on the cards count from the middle of the trunk's foot: E, W, N, S, "
        "and up from the top of the plate."
    )
    top = _title(sheet, plan, "Setting out", said)
    room = min(width - 2.0 * _EDGE, height - top - 62.0)
    middle = width / 2.0, top + room / 2.0
    reach = float(np.abs(plan.tree.tips[:, :2]).max()) * 1.04 + 1.0
    reach = max(reach, plan.poses.pin_mm * 1.15)
    scale = room / 2.0 / reach

    def at(x: float, y: float) -> Point:
        return middle[0] + x * scale, middle[1] - y * scale

    _lines(sheet, at, reach, unit)
    for row in range(len(plan.tree)):
        if plan.tree.ranks[row] <= 1:
            _, points = plan.floor.line(row)
            points = plan.floor.starts[row] + points @ plan.floor.frames[row]
            sheet.path([at(x, y) for x, y in points[:, :2].tolist()], 0.9, GREY)
            sheet.ink(INK)
            sheet.words(*at(*plan.tree.tips[row, :2].tolist()), str(plan.tree.tags[row]), 10, bold=True)
    _pins(sheet, plan, at)
    north_arrow(sheet, _EDGE + 6.0, top + 20.0)
    _told(sheet, plan, top + room + 8.0, unit)


def _lines(sheet: Sheet, place: Callable[[float, float], Point], reach: float, unit: System) -> None:
    step = _GRID[unit]
    while reach / step > 10.0:
        step *= 2.0
    for n in range(-int(reach // step), int(reach // step) + 1):
        shade, line = (INK, 0.25) if n == 0 else (PALE, 0.15)
        sheet.path([place(n * step, -reach), place(n * step, reach)], line, shade)
        sheet.path([place(-reach, n * step), place(reach, n * step)], line, shade)
        sheet.ink(GREY)
        if n:
            # Bare millimetres: with their unit told each time the words run into each other.
            far = format_length(abs(n) * step, unit, feet=True).removesuffix(" mm")
            x, y = place(n * step, -reach)
            sheet.words(x, y - 0.8, f"{'E' if n > 0 else 'W'} {far}", 9, align="C")
            x, y = place(-reach, n * step)
            sheet.words(x + 1.0, y + 1.0, f"{'N' if n > 0 else 'S'} {far}", 9)


def _pins(sheet: Sheet, plan: ShopPlan, place: Callable[[float, float], Point]) -> None:
    pin, half = plan.poses.pin_mm, plan.foot.side_mm / 2.0
    sheet.path([place(x * half, y * half) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))], 0.5, INK)
    for name, x, y in (("N", 0.0, pin), ("E", pin, 0.0), ("S", 0.0, -pin), ("W", -pin, 0.0)):
        sheet.ink(ACCENT, 0.5)
        px, py = place(x, y)
        sheet.circle(px, py, 1.1, style="DF")
        sheet.words(px + 2.0, py - 1.0, f"pin {name}", 10, bold=True)
    sheet.path([place(half, 0.0), place(half * 1.35, 0.0)], 1.2, ACCENT)
    for row in np.flatnonzero(plan.tree.parents < 0).tolist():
        toward = radians(plan.written.chalk_bearing(row))
        x, y = plan.tree.starts[row, :2].tolist()
        tip = place(x + 0.8 * pin * sin(toward), y + 0.8 * pin * cos(toward))
        sheet.path([place(x, y), tip], 0.7, ACCENT)
        sheet.ink(ACCENT)
        sheet.words(tip[0] + 1.0, tip[1] + 1.0, f"chalk of {plan.tree.tags[row]}", 10, bold=True)


def _told(sheet: Sheet, plan: ShopPlan, y: float, unit: System) -> None:
    width = PAGES[plan.page][0]
    kept = plan.written
    pin = plan.poses.pin_mm
    near, apart = (format_length(each, unit, feet=True) for each in (pin, pin * 2.0**0.5))
    lines = [
        f"Pins N, E, S, W: {near} from the middle of the foot, level with the plate's top; neighbours {apart} apart.",
        "East mark: a chisel cut on the plate's east edge, at its middle; it points to pin E.",
    ]
    for row in np.flatnonzero(plan.tree.parents < 0).tolist():
        tag, (x, y0) = plan.tree.tags[row], plan.tree.starts[row, :2].tolist()
        off = float(np.hypot(x, y0))
        stands = "" if off < 0.5 else f" {format_length(off, unit)} to {bearing_text(bearing(x, y0))}"
        lean = float(kept.leans[row])
        leans = "plumb at its foot" if lean < 0.05 else f"leaning {lean:.1f}° to {bearing_text(kept.lean_bearing(row))}"
        faces = bearing_text(kept.chalk_bearing(row))
        lines.append(f"{tag} stands{stands} {leans}; its chalk line at START faces {faces}.")
    lines.append(
        "Each section is held as it will stand, over this grid, while it is welded; tolerances are on the cards."
    )
    sheet.ink(INK)
    for text in lines:
        for line in sheet.wrapped(text, 11.0, width - 2.0 * _EDGE, "    "):
            sheet.fraction(_EDGE, y, line, 11)
            y += 5.2


def _plate(sheet: Sheet, plan: ShopPlan) -> None:
    unit: System = plan.commission.units
    width, _ = PAGES[plan.page]
    base = plan.base
    said = (
        "A first pass for the engineer who signs it. Anchors are set with a template of plywood or sheet, drilled with "
        "the plate, held on the formwork by the pins of the setting-out sheet."
    )
    top = _title(sheet, plan, "Base plate and anchors", said)
    room = 118.0
    half = base.plate.side_mm / 2.0
    scale = (room / 2.0 - 12.0) / max(half, 1.0)
    middle = _EDGE + room / 2.0, top + room / 2.0

    def at(x: float, y: float) -> Point:
        return middle[0] + x * scale, middle[1] - y * scale

    sheet.path([at(x * half, y * half) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))], 0.7, INK)
    trunk = float(plan.tree.start_diameters[0]) / 2.0
    sheet.ink(GREY, 0.4)
    sheet.circle(*middle, trunk * scale, style="D")
    for x, y in base.holes.tolist():
        sheet.ink(INK, 0.5)
        sheet.circle(*at(x, y), base.hole_mm / 2.0 * scale, style="D")
    if base.rods is not None:
        sheet.ink(GREY, 0.2)
        sheet.circle(*middle, base.rods.circle_mm / 2.0 * scale, style="D")
    sheet.path([at(0.0, -half * 1.12), at(0.0, half * 1.12)], 0.15, GREY)
    sheet.path([at(-half * 1.12, 0.0), at(half * 1.12, 0.0)], 0.15, GREY)
    sheet.path([at(half, 0.0), at(half * 1.08, 0.0)], 1.4, ACCENT)
    toward = radians(plan.written.chalk_bearing(0))
    sheet.path([middle, at(trunk * 1.6 * sin(toward), trunk * 1.6 * cos(toward))], 0.7, ACCENT)
    sheet.ink(ACCENT)
    sheet.words(at(half, 0.0)[0] - 1.0, middle[1] - 1.5, "east mark", 10, bold=True, align="R")
    north_arrow(sheet, _EDGE + 4.0, top + 18.0)
    x = _EDGE + room + 8.0
    y = top + 6.0
    for name, text in _facts(plan, unit):
        sheet.ink(GREY)
        sheet.words(x, y, name, 9.5)
        sheet.ink(INK)
        sheet.fraction(x, y + 5.6, text, 13, bold=True, room=width - _EDGE - x)
        y += 11.6
    _holes(sheet, plan, top + room + 6.0, unit)


def _facts(plan: ShopPlan, unit: System) -> list[tuple[str, str]]:
    base = plan.base

    def of(mm: float) -> str:
        return format_length(mm, unit)

    thick = f" x {of(base.plate.thickness_mm)}" if base.plate.thickness_mm else ", thickness: engineer"
    facts = [("PLATE, square", f"{of(base.plate.side_mm)}{thick}")]
    if base.mass_kg:
        facts.append(("MASS", format_mass(base.mass_kg, unit)))
    facts.append(("STEEL", plan.commission.steel.grade))
    if base.rods is None:
        return [*facts, ("ANCHORS", "strength was not worked out")]
    return [
        *facts,
        ("ANCHORS", f"{base.rods.count} of {of(base.rods.diameter_mm)}"),
        ("HOLE CIRCLE", of(base.rods.circle_mm)),
        ("HOLES, drilled", of(base.hole_mm)),
        ("HOLE TO EDGE", f"{of(base.edge_mm)}, least {of(base.least_edge_mm)}"),
        ("GROUT under the plate", of(base.grout_mm)),
        ("RODS stand out of the concrete", of(base.stands_mm)),
    ]


def _holes(sheet: Sheet, plan: ShopPlan, y: float, unit: System) -> None:
    width, base = PAGES[plan.page][0], plan.base
    sheet.ink(GREY)
    sheet.words(_EDGE, y, "HOLES from the plate's middle", 9.5)
    y += 6.0
    step = (width - 2.0 * _EDGE) / 3.0
    for number, (x, north) in enumerate(base.holes.tolist()):
        at = _EDGE + number % 3 * step
        sheet.ink(INK)
        east = f"{'E' if x >= 0.0 else 'W'} {format_length(abs(x), unit)}"
        up = f"{'N' if north >= 0.0 else 'S'} {format_length(abs(north), unit)}"
        sheet.fraction(at, y, f"{number + 1}   {east}, {up}", 12, bold=True)
        if number % 3 == 2:
            y += 6.0
    y += 8.0
    washer = format_length(base.washer_mm, unit)
    lines = [
        f"Weld of the trunk: {'; '.join(joint_lines(plan, 0, unit))}.",
        _LEVEL.format(washer=washer),
        _GROUTED,
        _SIGNED,
    ]
    sheet.ink(INK)
    for text in lines:
        for line in sheet.wrapped(text, 11.0, width - 2.0 * _EDGE, "    "):
            sheet.fraction(_EDGE, y, line, 11)
            y += 5.2
