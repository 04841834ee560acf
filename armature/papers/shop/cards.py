"""Bend cards: one a member, with all that the smith and the welder need, to be read at arm's length."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from armature.centreline import Ints
from armature.papers import ACCENT, GREY, INK, PALE, Sheet
from armature.papers.shop.joint_words import joint_lines
from armature.papers.shop.notes import card_notes, draw_notes, notes_height
from armature.papers.shop.travel import saw_cuts, travel_words
from armature.papers.shop.views import Shape, draw_shapes, finished_shapes, flat_shape
from armature.papers.shop.words import hand, size_text
from armature.shop import METHODS, ShopPlan, floor_offsets
from armature.tree import RANKS
from armature.units import System, format_length

MARGIN = 10.0
_HOW = dict(zip(METHODS, ("cold fork", "hot horn", "hot fork", "cold press"), strict=True))
# How far from the left edge of a card its drawings begin: beside the table of bends.
_BESIDE = 134.0


@dataclass(frozen=True)
class Place:
    """Where a card goes on its page, and its place in its batch: batch number, number in it, size of it."""

    x: float
    y: float
    width: float
    height: float
    batch: int
    number: int
    count: int


def draw_card(sheet: Sheet, plan: ShopPlan, row: int, place: Place) -> None:
    """Draw the card of one member; a high card has room for the marks of its children and the chalk offsets too."""
    unit: System = "inch" if plan.paper.unit == "inch" else "mm"
    x, right = place.x + MARGIN, place.x + place.width - MARGIN
    tall = place.height > 200.0
    y = place.y + 8.0
    _head(sheet, plan, row, place, x, right, y)
    _stock(sheet, plan, row, x, right, y + 26.0, unit)
    rows = plan.bend_rows(row)
    middle = 78.0 if tall else 52.0
    wide = right - x if tall else _BESIDE - 4.0
    told = card_notes(sheet, plan, row, wide, unit)
    deep = notes_height(told)
    _bends(sheet, plan, rows, x, y + 47.0, middle if tall else middle - deep, unit)
    _drawings(sheet, plan, row, rows, x + _BESIDE, y + 45.0, right - x - _BESIDE, middle, unit)
    below = y + 47.0 + middle + 2.0
    _joint(sheet, plan, row, x, below, right, unit)
    if tall:
        under = below + 36.0
        if told:
            sheet.rule(x, under, right - x, 0.6)
            draw_notes(sheet, told, x, under + 1.8, wide, unit)
            under += deep + 2.5
        _children(sheet, plan, row, x, under, right, place.y + place.height - MARGIN, unit)
    else:
        draw_notes(sheet, told, x, y + 49.5 + middle - deep, wide, unit)


def _head(sheet: Sheet, plan: ShopPlan, row: int, place: Place, x: float, right: float, y: float) -> None:
    tree = plan.tree
    tag, rank = str(tree.tags[row]), RANKS[int(tree.ranks[row])]
    sheet.ink(INK)
    width = sheet.fitted(x, y + 17.5, tag, 62, 92.0, bold=True)
    beside = x + width + 6.0
    on = "on the base" if tree.parents[row] < 0 else f"on {tree.tags[tree.parents[row]]}"
    sheet.words(beside, y + 7.5, f"{rank} {on}", 17, bold=True)
    sheet.ink(GREY)
    batch = f"batch {place.batch}, {place.number} of {place.count}"
    sheet.words(beside, y + 13.2, f"{batch}; weld no. {plan.weld_numbers[row] + 1} of {len(tree)}", 11)
    sheet.ink(ACCENT if plan.on_site[row] else INK)
    sheet.fitted(beside, y + 18.8, travel_words(plan, row), 12, right - 40.0 - beside, bold=True)
    sheet.qr(right - 20.0, y, 20.0, tag)
    sheet.tick(right - 38.0, y + 1.0, 11.0, 0.8)
    sheet.ink(GREY)
    sheet.words(right - 32.5, y + 17.0, "made", 11, align="C")


def _stock(sheet: Sheet, plan: ShopPlan, row: int, x: float, right: float, y: float, unit: System) -> None:
    tree = plan.tree
    sheet.rule(x, y - 3.0, right - x, 0.6)
    sheet.rule(x, y + 14.0, right - x, 0.6)
    start, end, taper = (float(each[row]) for each in (tree.start_diameters, tree.end_diameters, tree.taper_starts))
    bar = size_text(float(tree.stock_diameters[row]), float(tree.walls[row]), unit)
    name = "PIPE" if tree.walls[row] else "ROUND BAR"
    if plan.sawn.rods[row] > 1:
        name, bar = f"BUNDLE OF {plan.sawn.rods[row]} RODS", _size(float(plan.sawn.diameters[row]), unit)
    cells = [
        (name, bar, 38.0),
        ("CUT EACH" if plan.sawn.rods[row] > 1 else "CUT", format_length(float(plan.cut[row]), unit), 46.0),
        ("FINISHED", format_length(float(tree.lengths[row]), unit), 46.0),
    ]
    at = x
    for name, text, width in cells:
        sheet.ink(GREY)
        sheet.words(at, y + 1.2, name, 9)
        sheet.ink(INK)
        sheet.fraction(at, y + 10.8, text, 25, bold=True, room=width - 3.0)
        at += width
    sheet.ink(GREY)
    sheet.words(at, y + 1.2, "TAPER", 9)
    sheet.ink(INK)
    if end > start - 1e-6:
        sheet.words(at, y + 10.8, "none", 18)
        return
    sheet.fraction(at, y + 6.6, f"from {format_length(taper, unit)}" if taper > 1.0 else "whole length", 14)
    thick = bar if abs(start - tree.stock_diameters[row]) < 1e-6 else _size(start, unit)
    width = sheet.fraction(at, y + 12.6, f"{thick.split(' x ')[0]} to ", 14)
    sheet.fraction(at + width, y + 12.6, _size(end, unit), 14, bold=True)


def _size(mm: float, unit: System) -> str:
    return format_length(mm, unit, fine=True)


def _bends(sheet: Sheet, plan: ShopPlan, rows: Ints, x: float, y: float, height: float, unit: System) -> None:
    columns = (("MARK", 7.0), ("CLOCK", 36.0), ("TURN", 66.5), ("BEND", 84.0), ("RADIUS", 97.0), ("HOW", 113.0))
    sheet.ink(GREY)
    for name, shift in columns:
        sheet.words(x + shift, y, name, 9)
    if not len(rows):
        sheet.ink(INK)
        sheet.words(x, y + 11.0, "straight, no bends", 18, bold=True)
        return
    pitch = min((height - 3.0) / len(rows), 11.5)
    size = min(19.0, pitch / POINT_PITCH)
    for number, at in enumerate(rows.tolist(), start=1):
        base = y + 1.0 + number * pitch - 0.25 * pitch
        sheet.ink(ACCENT)
        sheet.words(x, base, str(number), size, bold=True)
        sheet.ink(INK)
        sheet.length(x + 7.0, base, float(plan.bends.marks[at]), unit, size, bold=True)
        _clock(sheet, x + 36.0, base, float(plan.clocks[at]), number, size, pitch)
        sheet.ink(GREY)
        sheet.words(x + 66.5, base, "first" if number == 1 else hand(float(plan.bends.turns[at])), size * 0.7)
        sheet.ink(INK)
        sheet.words(x + 84.0, base, f"{plan.bends.bends[at]:.0f}°", size * 0.9, bold=True)
        sheet.fraction(x + 97.0, base, format_length(float(plan.bends.radii[at]), unit), size * 0.7, room=14.0)
        sheet.fitted(x + 113.0, base, _HOW[METHODS[plan.methods[at]]], min(size, 12.0), _BESIDE - 115.0)
        sheet.rule(x, base + 0.25 * pitch, _BESIDE - 3.0, 0.15, PALE)


POINT_PITCH = 0.56


def _clock(sheet: Sheet, x: float, base: float, clock: float, number: int, size: float, pitch: float) -> None:
    radius = min(0.36 * pitch, 3.6)
    sheet.dial(x + radius, base - 0.13 * size * 0.9, radius, clock)
    sheet.ink(INK)
    text = "chalk" if number == 1 else hand(clock)
    sheet.words(x + 2.0 * radius + 1.5, base, text, size * (0.75 if number == 1 else 0.85), bold=number > 1)


def _drawings(
    sheet: Sheet, plan: ShopPlan, row: int, rows: Ints, x: float, y: float, width: float, height: float, unit: System
) -> None:
    tail = float(plan.bends.tails[row])
    floor, side = finished_shapes(plan.floor, row)
    shapes: list[tuple[str, Shape]] = [("on the floor", floor), ("from the side", side)]
    if len(rows):
        shapes.insert(0, ("all bends in one plane", flat_shape(plan.bends, rows, tail)))
    draw_shapes(sheet, shapes, x, y, width, height + 2.0, unit, float(plan.tree.start_diameters[row]))


def _joint(sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, unit: System) -> None:
    tree, joint = plan.tree, plan.joints
    sheet.rule(x, y, right - x, 0.6)
    if tree.parents[row] < 0:
        sheet.ink(INK)
        sheet.words(x, y + 9.0, "Stands on the base, plumb at its foot; chalk line to the east mark.", 15)
        if plan.welds.known:
            sheet.fraction(x, y + 17.0, f"To the base plate: {' '.join(joint_lines(plan, row, unit))}.", 15)
        return
    sheet.ink(GREY)
    for name, shift in (("ON", 0.0), ("AT", 25.0), ("CLOCK", 58.0), ("LEAN", 96.0), ("ROLL", 118.0)):
        sheet.words(x + shift, y + 5.0, name, 9)
    base = y + 14.0
    sheet.ink(INK)
    sheet.fitted(x, base, str(tree.tags[tree.parents[row]]), 21, 23.0, bold=True)
    sheet.length(x + 25.0, base, float(joint.feet[row]), unit, 21, bold=True)
    sheet.words(x + 68.5, base, hand(float(joint.clocks[row])), 19, bold=True)
    sheet.words(x + 96.0, base, f"{joint.leans[row]:.0f}°", 19, bold=True)
    straight = not len(plan.bend_rows(row))
    sheet.words(x + 118.0, base, "any" if straight else hand(float(joint.rolls[row])), 19, bold=True)
    sheet.dial(x + 62.5, base - 2.4, 4.4, float(joint.clocks[row]))
    sheet.ink(GREY)
    sheet.words(x + 142.0, y + 5.0, "JOINT", 9)
    sheet.ink(INK)
    for line, text in enumerate(joint_lines(plan, row, unit)):
        sheet.fraction(x + 142.0, y + 10.8 + 5.0 * line, text, 13, bold=line == 0)
    _checks(sheet, plan, row, x, y + 21.0, right, unit)


def _checks(sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, unit: System) -> None:
    tree, checks = plan.tree, plan.checks
    parent = str(tree.tags[tree.parents[row]])
    parts = [("start to tip", float(checks.chords[row])), (f"tip to tip of {parent}", float(checks.to_parent_tip[row]))]
    before = int(checks.before[row])
    if before >= 0:
        parts.append((f"tip to tip of {tree.tags[before]}", float(checks.to_sibling_tip[row])))
    sheet.ink(GREY)
    sheet.words(x, y, "CHECK", 9)
    at = x + 16.0
    for name, distance in parts:
        sheet.ink(GREY)
        at += sheet.words(at, y, name, 11) + 1.5
        sheet.ink(INK)
        at += sheet.length(at, y, distance, unit, 14, bold=True) + 5.0
    family = plan.children(int(tree.parents[row])).tolist()
    place = family.index(row)
    beside = [str(tree.tags[family[n]]) for n in (place - 1, place + 1) if 0 <= n < len(family)]
    sheet.ink(GREY)
    sheet.words(x, y + 7.0, "BESIDE", 9)
    sheet.ink(INK)
    sheet.words(x + 16.0, y + 7.0, "   ".join(beside) if beside else "alone on its parent", 12)
    if plan.heels[row] > 0.3:
        sheet.fraction(
            right,
            y + 7.0,
            f"saddle: heel {format_length(float(plan.heels[row]), unit, fine=True)} in the cut",
            11,
            align="R",
        )


def _children(
    sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, bottom: float, unit: System
) -> None:
    _chalk_offsets(sheet, plan, row, x, y, right, unit)
    y += 19.0
    sheet.rule(x, y, right - x, 0.6)
    sheet.ink(INK)
    own = _punched(plan, row)
    title = "PUNCH THESE WHILE IT IS STRAIGHT, from the start along the bar" if own else "nothing to punch"
    sheet.words(x, y + 6.0, title, 12, bold=True)
    if not own:
        return
    lanes = 1 if len(own) <= 8 else (2 if (bottom - y - 9.0) / ceil(len(own) / 2) >= 6.3 else 3)
    lane = (right - x) / lanes
    each = ceil(len(own) / lanes)
    pitch = min((bottom - y - 9.0) / each, 9.0)
    size = min(17.0, pitch / POINT_PITCH) * (1.0 if lanes < 3 else 0.8)
    for number, (station, clock, name) in enumerate(own):
        at = x + (number // each) * lane
        base = y + 9.0 + (number % each + 1) * pitch - 0.28 * pitch
        sheet.tick(at, base - 0.62 * pitch, 0.62 * pitch, 0.35)
        sheet.ink(INK)
        step = lane / 100.0
        sheet.length(at + 8.0, base, station, unit, size, bold=True)
        if clock is not None:
            sheet.dial(at + 8.0 + 34.0 * min(step, 1.0), base - 0.20 * pitch, 0.38 * pitch, clock)
            sheet.ink(INK)
            sheet.words(at + 8.0 + 40.0 * min(step, 1.0), base, hand(clock), size)
        sheet.ink(ACCENT if " " in name else INK)
        sheet.fitted(at + 8.0 + 62.0 * min(step, 1.0), base, name, size, lane - 10.0 - 62.0 * min(step, 1.0), bold=True)


def _punched(plan: ShopPlan, row: int) -> list[tuple[float, float | None, str]]:
    """Return what is punched on a bar from its start on: station mm, clock deg (none for a saw cut all round), name."""
    tree, joint, bends = plan.tree, plan.joints, plan.bends
    found: list[tuple[float, float | None, str]] = [
        (float(joint.feet[child]), float(joint.clocks[child]), str(tree.tags[child]))
        for child in plan.children(row).tolist()
    ]
    found += [
        (float(bends.marks[at]), float(plan.clocks[at]), f"bend {bends.numbers[at]}")
        for at in plan.bend_rows(row).tolist()
    ]
    found += [(cut.station_mm, None, f"saw: S{cut.section}") for cut in saw_cuts(plan, row)]
    return sorted(found, key=lambda each: (round(each[0], 3), each[2]))


def _chalk_offsets(sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, unit: System) -> None:
    """Offsets from a chalked base line, for bending by eye, and the chord and rise of each bend."""
    length = float(plan.tree.lengths[row])
    found = floor_offsets(plan.tree.chains, row, length / 8.0, plan.floor)
    sheet.rule(x, y, right - x, 0.6)
    sheet.ink(GREY)
    sheet.words(x, y + 5.0, "BY EYE", 9)
    lines = (("along the line", found.alongs), ("rise", found.rises), ("lift", found.lifts))
    step = (right - x - 30.0) / len(found.alongs)
    for place, (name, values) in enumerate(lines):
        base = y + 5.0 + 5.0 * place
        sheet.ink(GREY)
        sheet.words(x + 14.0 if place == 0 else x + 28.0, base, name, 9)
        sheet.ink(INK)
        for number, value in enumerate(values.tolist()):
            sheet.length(x + 40.0 + number * (step - 1.0), base, value, unit, 11, bold=place == 1)
