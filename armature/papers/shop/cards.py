"""Bend cards: one a member, read from top to bottom as it is made: saw, draw, punch, bend, weld, check."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

import numpy as np

from armature.edge import System, format_length
from armature.papers import ACCENT, GREY, INK, PALE, Sheet
from armature.papers.shop.card_drawings import Shape, draw_shapes, finished_shapes, flat_shape
from armature.papers.shop.checks import CHECK_HEIGHT, draw_checks
from armature.papers.shop.joint_words import joint_lines
from armature.papers.shop.marking import draw_marks, drawing_height
from armature.papers.shop.notes import card_notes, draw_notes, notes_height
from armature.papers.shop.travel import travel_words
from armature.papers.shop.words import hand, size_text
from armature.shop import METHODS, ShopPlan, bearing_text
from armature.tree import RANKS

MARGIN = 10.0
# The size at which a figure is 7.5 mm high: what the hand takes from the card without stooping.
FIGURE = 32.0
LEAST = 9.0
_HOW = dict(
    zip(
        METHODS,
        ("cold, fork", "hot, horn", "hot, fork", "cold, press", "hot, press", "cold, rolls", "NONE FITS"),
        strict=True,
    )
)
# Columns of the table of bends, shares of its width: number, begin, end, clock, skin, bend, inside radius, tool, 1°.
_COLUMNS = (0.04, 0.14, 0.14, 0.145, 0.12, 0.08, 0.11, 0.11, 0.115)
_TOP, _HEAD, _BIG, _LINE, _ROW, _LEAST_ROW = 5.0, 20.5, 15.2, 4.7, 7.0, 5.6
_BENDS_HEAD, _WELD = 8.0, 28.5
_BESIDE = 42.0
# Within so many degrees a lean is set off from a square.
_NEARLY = 30.0
# The row of caliper sizes: how far it begins after its name, its type, and the least room between two sizes.
_BESIDE_CALIPER, _CALIPER, _APART = 29.0, 11.0, 3.5


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


def card_height(sheet: Sheet, plan: ShopPlan, row: int, width: float) -> float:
    """Return the least room that a card needs where nothing but twigs' loops is punched on it, mm."""
    return _fixed(sheet, plan, row, width) + _LEAST_ROW * max(len(plan.bend_rows(row)), 2)


def _fixed(sheet: Sheet, plan: ShopPlan, row: int, width: float) -> float:
    """Return the room that a card takes but for its lines of bends, mm."""
    told = card_notes(sheet, plan, row, width - 2.0 * MARGIN, plan.commission.units)
    below = notes_height(told) + _WELD + CHECK_HEIGHT
    return _TOP + _HEAD + _BIG + _draw_height(sheet, plan, row, width - 2.0 * MARGIN) + _BENDS_HEAD + below + 2.0


def draw_card(sheet: Sheet, plan: ShopPlan, row: int, place: Place) -> None:
    """Draw the card of one member; a card as high as a page has its drawings and the marks of its children below."""
    unit: System = plan.commission.units
    x, right = place.x + MARGIN, place.x + place.width - MARGIN
    tall = place.height > 200.0
    y = place.y + _TOP
    count = max(len(plan.bend_rows(row)), 2)
    pitch = _ROW if tall else min((place.height - _fixed(sheet, plan, row, place.width)) / count, _ROW)
    _head(sheet, plan, row, place, x, right, y)
    y = _stock(sheet, plan, row, x, right, y + _HEAD, unit)
    y = _drawn(sheet, plan, row, x, right, y, unit)
    wide = right - x if tall else right - x - _BESIDE
    below = _bends(sheet, plan, row, x, y, wide, pitch, unit)
    if not tall:
        _drawings(sheet, plan, row, right - _BESIDE + 2.0, y + 2.5, _BESIDE - 2.0, below - y - 2.5, unit)
    y = below
    told = card_notes(sheet, plan, row, right - x, unit)
    if told:
        draw_notes(sheet, told, x, y + 1.0, right - x, unit)
        y += notes_height(told)
    y = _weld(sheet, plan, row, x, y, right, unit)
    y = draw_checks(sheet, plan, row, x, y, right, unit)
    if tall:
        bottom = place.y + place.height - MARGIN
        high = drawing_height(plan, row, bottom - y)
        _drawings(sheet, plan, row, x, y + 1.0, right - x, high, unit)
        draw_marks(sheet, plan, row, x, y + high + 3.0, right, bottom, unit)


def _step(sheet: Sheet, x: float, y: float, number: int, name: str) -> None:
    """Write the number and the name of a step of the work: the order in which a card is read."""
    sheet.ink(ACCENT)
    width = sheet.words(x, y, str(number), 11, bold=True)
    sheet.words(x + width + 1.2, y, name, LEAST, bold=True)


def _label(sheet: Sheet, x: float, y: float, text: str) -> float:
    sheet.ink(GREY)
    return sheet.fraction(x, y, text, LEAST)


def _head(sheet: Sheet, plan: ShopPlan, row: int, place: Place, x: float, right: float, y: float) -> None:
    tree = plan.tree
    tag, rank = str(tree.tags[row]), RANKS[int(tree.ranks[row])]
    sheet.ink(INK)
    width = sheet.fitted(x, y + 16.5, tag, 56, 84.0, bold=True)
    beside = x + width + 6.0
    on = "on the base" if tree.parents[row] < 0 else f"on {tree.tags[tree.parents[row]]}"
    sheet.words(beside, y + 6.0, f"{rank} {on}", 16, bold=True)
    sheet.ink(GREY)
    own = plan.revisions.get(tag)
    batch = f"batch {place.batch}, {place.number} of {place.count}"
    batch += "" if own is None else f"; REVISION {own.number}"
    sheet.words(beside, y + 11.5, f"{batch}; weld no. {plan.weld_numbers[row] + 1} of {len(tree)}", 11)
    sheet.ink(ACCENT if plan.on_site[row] else INK)
    sheet.fitted(beside, y + 16.8, travel_words(plan, row), 12, right - 38.0 - beside, bold=True)
    sheet.qr(right - 18.0, y, 18.0, tag)
    sheet.tick(right - 36.0, y + 1.0, 10.0, 0.8)
    sheet.ink(GREY)
    sheet.words(right - 31.0, y + 15.5, "made", 11, align="C")


def _stock(sheet: Sheet, plan: ShopPlan, row: int, x: float, right: float, y: float, unit: System) -> float:
    """Draw what is sawn and how long it is drawn: the bar, the cut, DRAW TO, the number of bends."""
    rods = int(plan.sawn.rods[row])
    sheet.rule(x, y - 1.5, right - x, 0.6)
    bar, wall = float(plan.sawn.diameters[row]), float(plan.sawn.walls[row])
    name = "PIPE" if wall else "ROUND BAR"
    if rods > 1:
        name = f"BUNDLE OF {rods} RODS"
    cells = (
        (1, f"SAW {name}", size_text(bar, 0.0, unit), 0.21),
        (0, "CUT EACH" if rods > 1 else "CUT", format_length(float(plan.sawn_to[row]), unit), 0.275),
        (2, "DRAW TO", format_length(float(plan.draw_to[row]), unit), 0.275),
        (4, "BENDS", str(len(plan.bend_rows(row))), 0.09),
    )
    at = x
    for number, label, text, share in cells:
        if number:
            _step(sheet, at, y + 2.6, number, label)
        else:
            _label(sheet, at, y + 2.6, label)
        sheet.ink(INK)
        sheet.fraction(at, y + 12.4, text, FIGURE, bold=True, room=share * (right - x) - 2.0)
        at += share * (right - x)
    if wall:
        _label(sheet, at, y + 2.6, "WALL")
        sheet.ink(INK)
        sheet.fraction(at, y + 12.4, size_text(wall, 0.0, unit), 20, bold=True, room=right - at)
    else:
        _label(sheet, at, y + 5.6, f"CUT +{format_length(2.0 * plan.paper.length_mm, unit)}, no less")
        _label(sheet, at, y + 10.0, f"DRAW TO ±{plan.commission.shop.anvil.drawn:.0%}")
    return y + _BIG


def _draw_height(sheet: Sheet, plan: ShopPlan, row: int, width: float) -> float:
    lines = len(_caliper_lines(sheet, plan, row, width - _BESIDE_CALIPER))
    return 0.3 + _LINE * (1 + lines + int(_drawn_down(plan, row) != ""))


def _caliper_lines(sheet: Sheet, plan: ShopPlan, row: int, width: float) -> list[list[str]]:
    """Return the caliper sizes along a bar in lines of at most `width` mm, each size well apart from the next."""
    unit: System = plan.commission.units
    places = plan.calipers(row)
    if len(places) == 1:
        return [[f"{_size(places[0][1], unit)} all along, no taper"]]
    told = [
        f"{_size(size, unit)} {'at START' if station == 0.0 else f'at {_to(station, unit)}'}".replace(" mm", "")
        for station, size in places
    ]
    # One unit for the whole line: it is told once, beside its name.
    each = max(sheet.width(text, _CALIPER, bold=True) for text in told) + _APART
    count = max(int((width + _APART) / each), 1)
    return [told[at : at + count] for at in range(0, len(told), count)]


def _drawn_down(plan: ShopPlan, row: int) -> str:
    """Return what is done to the whole bar before it is tapered, nothing where it is left as it is sold."""
    tree, unit = plan.tree, plan.commission.units
    bar, stock = float(tree.tapers.bars[row]), float(tree.stock_diameters[row])
    thinner = _size(bar, unit) != _size(stock, unit)
    drawn = plan.sawn.rods[row] == 1 and not tree.walls[row] and bar < stock and thinner
    swell, wide = float(tree.tapers.swells[row]), float(tree.start_diameters[row])
    if swell <= 0.0 or wide <= bar + 0.1:
        return f"First draw the WHOLE bar down to {_size(bar, unit)}" if drawn else ""
    foot = f"{_size(wide, unit)} at START, down to {_size(bar, unit)} at {_to(swell, unit)}"
    if not drawn:
        return f"upset the foot to {foot}"
    # Nobody draws a foot down to upset it again: it is kept, or upset, and the rest is drawn.
    first = f"Keep the foot thick, {foot}" if wide <= stock + 0.1 else f"Upset the foot to {foot}"
    return f"{first}; draw all BEYOND it down to {_size(bar, unit)}"


def _drawn(sheet: Sheet, plan: ShopPlan, row: int, x: float, right: float, y: float, unit: System) -> float:
    """Write what is drawn down, caliper sizes along the taper, and where START is punched."""
    sheet.rule(x, y - 1.5, right - x, 0.3)
    y += 2.6
    if down := _drawn_down(plan, row):
        sheet.ink(ACCENT)
        sheet.fraction(x, y, f"{down}.", 11, bold=True, room=right - x)
        y += _LINE
    _label(sheet, x, y, f"CALIPER ±{_size(plan.paper.length_mm / 2.0, unit)}")
    at = x + _BESIDE_CALIPER
    lines = _caliper_lines(sheet, plan, row, right - at)
    sheet.ink(INK)
    for told in lines:
        lane = (right - at) / len(lines[0])
        for number, text in enumerate(told):
            sheet.fraction(at + number * lane, y, text, _CALIPER, bold=True, room=lane - _APART / 2.0)
        y += _LINE
    _step(sheet, x, y, 3, "PUNCH")
    heel, finished = float(plan.heel_marks[row]), float(plan.written.lengths[row])
    where = f"START {_to(heel, unit)} from the foot's end" if heel else "START is the foot's end"
    text = f"{where}; marks count from it; FINISHED {_to(finished, unit)} from START to the tip"
    sheet.ink(INK)
    sheet.fraction(x + 17.0, y, text, 11.5, bold=True, room=right - x - 17.0)
    return y + 2.4


def _size(mm: float, unit: System) -> str:
    return format_length(mm, unit, fine=True)


def _to(mm: float, unit: System) -> str:
    return format_length(mm, unit)


def _bends(
    sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, width: float, pitch: float, unit: System
) -> float:
    """Draw the table of bends; return what is under it."""
    sheet.rule(x, y - 0.5, width, 0.3)
    rows = plan.bend_rows(row)
    places = np.concatenate([[0.0], np.cumsum(_COLUMNS)]) * width + x
    anvil, kept = plan.commission.shop.anvil, plan.written
    if not len(rows):
        _step(sheet, x, y + 4.0, 4, "BEND")
        sheet.ink(INK)
        sheet.words(x, y + 14.0, "straight, no bends", 18, bold=True)
        return y + _BENDS_HEAD + 2.0 * pitch
    mark, turn = f"±{_to(anvil.feed, unit)}", f"±{anvil.turn:.0f}°"
    heads = ("4", "BEGIN", "END", "CLOCK", "SKIN", "BEND", "INSIDE R", "TOOL", "1° MOVES")
    unders = ("", mark, mark, turn, "from chalk", f"±{anvil.bend:.0f}°", "", "", "the tip")
    for at, head, under in zip(places, heads, unders, strict=False):
        sheet.ink(ACCENT)
        sheet.words(at, y + 3.4, head, LEAST, bold=True)
        if under:
            _label(sheet, at, y + 7.0, under)
    inside, round_skin, moved = plan.bend_gauges
    for number, bend in enumerate(rows.tolist(), start=1):
        base = y + _BENDS_HEAD + number * pitch - 1.5
        sheet.ink(ACCENT)
        sheet.words(places[0], base, str(number), 15, bold=True)
        sheet.ink(INK)
        rooms = np.diff(places) - 1.5
        sheet.fraction(places[1], base, _to(float(kept.begins[bend]), unit), 15, bold=True, room=rooms[1])
        sheet.fraction(places[2], base, _to(float(kept.ends[bend]), unit), 15, bold=True, room=rooms[2])
        clock = float(kept.bend_clocks[bend])
        sheet.dial(places[3] + 2.6, base - 1.8, 2.6, clock)
        sheet.ink(INK)
        sheet.fitted(places[3] + 6.4, base, "chalk" if clock == 0.0 else hand(clock), 15, rooms[3] - 6.0, bold=True)
        sheet.fraction(places[4], base, _around(float(round_skin[bend]), unit), 12.5, room=rooms[4])
        sheet.words(places[5], base, f"{kept.angles[bend]:.0f}°", 15, bold=True)
        sheet.fraction(places[6], base, _to(max(float(inside[bend]), 0.0), unit), 12.5, room=rooms[6])
        how = _HOW[METHODS[plan.methods[bend]]]
        sheet.ink(ACCENT if how.isupper() else INK)
        sheet.fitted(places[7], base, how, 12.0, rooms[7])
        sheet.ink(INK)
        sheet.fraction(places[8], base, _to(float(moved[bend]), unit), 12.5, room=rooms[8])
        sheet.rule(x, base + 1.5, width, 0.15, PALE)
    return y + _BENDS_HEAD + pitch * max(len(rows), 2)


def _around(mm: float, unit: System) -> str:
    """Return a length round the skin with the hand in which it is measured; nothing at the chalk line."""
    return f"{'R' if mm > 0.0 else 'L'} {_to(abs(mm), unit)}" if abs(mm) >= 0.5 else "0"


def _drawings(
    sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, width: float, height: float, unit: System
) -> None:
    rows, tail = plan.bend_rows(row), float(plan.bends.tails[row])
    floor, side = finished_shapes(plan.floor, row)
    shapes: list[tuple[str, Shape]] = [("on the floor", floor), ("from the side", side)]
    if len(rows):
        shapes.insert(0, ("all bends in one plane", flat_shape(plan.bends, rows, tail)))
    # A low card has room for one or two of them.
    shown = shapes[: max(int((height - 5.0) // 11.0), 1)]
    draw_shapes(sheet, shown, x, y, width, height, unit, float(plan.tree.start_diameters[row]))


def _weld(sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, unit: System) -> float:
    """Draw where the member is welded on, and how; return what is under it."""
    sheet.rule(x, y, right - x, 0.6)
    if plan.tree.parents[row] < 0:
        _on_base(sheet, plan, row, x, y, right, unit)
    else:
        _on_parent(sheet, plan, row, x, y, right, unit)
    for line, text in enumerate(joint_lines(plan, row, unit)[:3]):
        sheet.ink(INK)
        sheet.fraction(x, y + 18.8 + 4.4 * line, text, 11.0 if line == 0 else 10.0, bold=line == 0, room=right - x)
    return y + _WELD


def _on_base(sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, unit: System) -> None:
    kept = plan.written
    cells = [
        ("STANDS ON", "base", "", 0.22),
        ("LEAN", f"{kept.leans[row]:.1f}°", f"±{plan.commission.shop.anvil.lean:.0f}°, from plumb", 0.16),
        (
            "LEANS TO",
            bearing_text(kept.lean_bearing(row)) if kept.leans[row] > 0.05 else "plumb",
            "by compass of the setting-out sheet",
            0.31,
        ),
        (
            "CHALK FACES",
            bearing_text(kept.chalk_bearing(row)),
            f"±{plan.commission.shop.anvil.roll:.0f}°, at START",
            0.31,
        ),
    ]
    _cells(sheet, cells, x, y, right)


def _on_parent(sheet: Sheet, plan: ShopPlan, row: int, x: float, y: float, right: float, unit: System) -> None:
    kept, anvil = plan.written, plan.commission.shop.anvil
    parent = int(plan.tree.parents[row])
    foot, clock = float(kept.feet[row]), float(kept.clocks[row])
    skin = radians(clock) * plan.thickness(parent, foot) / 2.0
    straight = not len(plan.bend_rows(row))
    roll = float(kept.rolls[row])
    rolled = radians(roll) * float(plan.tree.start_diameters[row]) / 2.0
    cells = [
        ("WELD ON", str(plan.tree.tags[parent]), "", 0.185),
        ("AT", _to(foot, unit), f"±{_to(anvil.station, unit)}, its START to mark", 0.26),
        (f"CLOCK ±{anvil.clock:.0f}°", hand(clock), f"skin {_around(skin, unit)}", 0.18),
        (f"LEAN ±{anvil.lean:.0f}°", f"{kept.leans[row]:.0f}°", _gauge(float(kept.leans[row]), unit), 0.195),
        (
            f"ROLL ±{anvil.roll:.0f}°",
            "any" if straight else hand(roll),
            "" if straight else f"skin {_around(rolled, unit)}",
            0.18,
        ),
    ]
    _cells(sheet, cells, x, y, right, clock)


def _gauge(lean: float, unit: System) -> str:
    """Return the lean as a jig is cut: so far out on a run along the parent, or off square; back toward the foot."""
    run, back = 101.6 if unit == "inch" else 100.0, " back" if lean > 90.0 else ""
    off = abs(90.0 - lean)
    if off <= 1.0:
        return "square"
    # Near square a jig is set by how far it is off square, else by how far it goes out along the parent.
    if off < _NEARLY:
        out = _to(run * np.tan(radians(off)), unit).removesuffix(" mm")
        return f"{out} in {_to(run, unit).removesuffix(' mm')} {'past' if back else 'off'} square"
    out = _to(run * np.tan(radians(90.0 - off)), unit).removesuffix(" mm")
    return f"{out} on {_to(run, unit)}{back}"


def _cells(
    sheet: Sheet, cells: list[tuple[str, str, str, float]], x: float, y: float, right: float, clock: float = 0.0
) -> None:
    """Draw large figures under their names, with tolerance and gauge under them; clock: of the dial, deg."""
    at = x
    for number, (label, text, under, share) in enumerate(cells):
        if number == 0:
            _step(sheet, at, y + 4.4, 5, label)
        else:
            _label(sheet, at, y + 4.4, label)
        room, shift = share * (right - x) - 2.0, 11.0 if label.startswith("CLOCK") else 0.0
        if shift:
            sheet.dial(at + 4.0, y + 9.0, 3.5, clock)
        sheet.ink(INK)
        size = FIGURE if label in ("WELD ON", "AT", "STANDS ON") else 19.0
        sheet.fraction(at + shift, y + 13.4 if size == FIGURE else y + 11.0, text, size, bold=True, room=room - shift)
        if under:
            low = y + 14.9 if size != FIGURE else y + 4.4
            sheet.ink(GREY)
            place = at if size != FIGURE else at + 6.0
            sheet.fraction(place, low, under, LEAST, room=room - (place - at))
        at += share * (right - x)
    sheet.ink(INK)
