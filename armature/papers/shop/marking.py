"""What is punched on a bar while it is straight, and how it lies to be bent by eye: the lower half of a tall card."""

from __future__ import annotations

from math import ceil, radians

from armature.edge import System, format_length
from armature.papers import ACCENT, GREY, INK, Sheet
from armature.papers.shop.travel import saw_cuts
from armature.papers.shop.words import hand
from armature.shop import ShopPlan, floor_offsets

_PITCH, _NARROW = 0.56, 70.0
# Offsets as planned, and two blank lines to write into how the bar came out.
_BY_EYE, _BLANK = 30.0, 6.0
# Two drawings of a bar, or one where its marks need the room: lines of three lanes lie this far apart, mm.
_TWO, _ONE, _CLOSE = 34.0, 20.0, 5.0


def draw_marks(
    sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, bottom: float, unit: System
) -> None:
    """Draw offsets for bending by eye, then all marks of a bar in order from START."""
    _chalk_offsets(sheet, plan, row, x, y, right, unit)
    y += _BY_EYE
    sheet.rule(x, y, right - x, 0.6)
    own = punched(plan, row)
    sheet.ink(INK)
    slip = format_length(plan.commission.shop.anvil.feed, unit)
    title = f"3 PUNCH THESE WHILE IT IS STRAIGHT, from START along the bar, ±{slip}" if own else "nothing else to punch"
    sheet.fraction(x, y + 5.0, title, 11, bold=True)
    if not own:
        return
    room = bottom - y - 7.0
    lanes = next((n for n in (1, 2, 3) if room / ceil(len(own) / n) >= 6.2), 3)
    lane = (right - x) / lanes
    each = ceil(len(own) / lanes)
    pitch = min(room / each, 8.5)
    size = max(min(15.0, pitch / _PITCH), 9.0)
    for number, (station, clock, name) in enumerate(own):
        at = x + (number // each) * lane
        base = y + 7.0 + (number % each + 1) * pitch - 0.28 * pitch
        _mark(sheet, plan, row, station, clock, name, at, base, lane, pitch, size, unit)


def drawing_height(plan: ShopPlan, row: int, room: float) -> float:
    """Return how high the drawings of a tall card may be, mm, so that its marks still stand well apart."""
    count, room = len(punched(plan, row)), room - _BY_EYE - 10.0
    least = _TWO if room - _TWO >= _CLOSE * ceil(count / 3) else _ONE
    return min(max(room - 7.0 * ceil(count / 2), least), 70.0)


def _mark(
    sheet: Sheet,
    plan: ShopPlan,
    row: int,
    station: float,
    clock: float | None,
    name: str,
    at: float,
    base: float,
    lane: float,
    pitch: float,
    size: float,
    unit: System,
) -> None:
    side = min(0.62 * pitch, 4.6)
    sheet.tick(at, base - side, side, 0.35)
    sheet.ink(INK)
    left, wide = at + side + 1.5, min(lane, 100.0)
    sheet.fraction(left, base, format_length(station, unit), size, bold=True, room=0.27 * wide)
    if clock is not None:
        # In a narrow lane the figures need the room of the dial.
        radius = min(0.36 * pitch, 3.0) if lane > _NARROW else 0.0
        if radius:
            sheet.dial(left + 0.30 * wide + radius, base - 0.16 * size * 0.9, radius, clock)
        sheet.ink(INK)
        sheet.fitted(left + 0.32 * wide + 2.0 * radius, base, hand(clock), size, 0.15 * wide)
        skin = radians(clock) * plan.thickness(row, station) / 2.0
        text = f"{'R' if skin > 0.0 else 'L'} {format_length(abs(skin), unit)}" if abs(skin) >= 0.5 else "0"
        sheet.ink(GREY)
        sheet.fraction(left + 0.47 * wide + 2.0 * radius, base, text, max(0.8 * size, 9.0), room=0.17 * wide)
    sheet.ink(ACCENT if " " in name else INK)
    sheet.fitted(left + 0.74 * wide, base, name, size, lane - 0.74 * wide - side - 3.0, bold=True)


def punched(plan: ShopPlan, row: int) -> list[tuple[float, float | None, str]]:
    """Return what is punched on a bar from START on: station mm, clock deg (none for a saw cut all round), name."""
    tree, kept, bends = plan.tree, plan.written, plan.bends
    marks: list[tuple[float, float | None, str]] = [
        (float(kept.feet[child]), float(kept.clocks[child]), str(tree.tags[child]))
        for child in plan.children(row).tolist()
    ]
    for at in plan.bend_rows(row).tolist():
        clock = float(kept.bend_clocks[at])
        marks.append((float(kept.begins[at]), clock, f"bend {bends.numbers[at]}"))
        marks.append((float(kept.ends[at]), clock, f"end {bends.numbers[at]}"))
    marks += [(each.station_mm, None, f"saw: S{each.section}") for each in saw_cuts(plan, row)]
    return sorted(marks, key=lambda each: (round(each[0], 3), each[2]))


def _chalk_offsets(sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, unit: System) -> None:
    """Offsets from a chalked base line, for bending by eye."""
    offsets = floor_offsets(plan.tree.chains, row, float(plan.tree.lengths[row]) / 8.0, plan.floor)
    sheet.rule(x, y, right - x, 0.6)
    sheet.ink(GREY)
    sheet.words(x, y + 4.6, "BY EYE", 9)
    lines = (("along the line", offsets.alongs), ("rise", offsets.rises), ("lift", offsets.lifts))
    step = (right - x - 40.0) / len(offsets.alongs)
    for place, (name, values) in enumerate(lines):
        base = y + 4.6 + 4.8 * place
        sheet.ink(GREY)
        sheet.words(x + 38.0, base, name, 9, align="R")
        sheet.ink(INK)
        for number, value in enumerate(values.tolist()):
            text = format_length(value, unit)
            sheet.fraction(x + 41.0 + number * step, base, text, 11, bold=place == 1, room=step - 1.5)
    count = len(offsets.alongs)
    for place, name in enumerate(("as made: rise", "lift")):
        top = y + 16.0 + _BLANK * place
        sheet.ink(GREY)
        sheet.words(x + 38.0, top + 4.4, name, 9, align="R")
        for number in range(1, count):
            last = number == count - 1
            # The tip's place along the line is what is read there: its rise and lift are nothing.
            if last and place:
                continue
            sheet.path(
                [(x + 41.0 + number * step, top + 4.8), (x + 41.0 + (number + 0.86) * step, top + 4.8)], 0.2, GREY
            )
    sheet.words(x + 41.0 + (count - 1) * step, y + 16.0 + 2.0 * _BLANK - 1.2, "along", 9)
