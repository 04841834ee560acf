"""templates.pdf: members drawn full size on tiles to tape together, and wraps for the saddles on their ends.

Strategy: members of one batch are laid side by side on a strip as long as the longest; a strip is cut into tiles, and a
tile that holds no steel is not printed. Every tile carries a square to check the printer by and marks to match.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from armature.centreline import Floats, Ints, sampled
from armature.records.shop_packet import batches
from armature.records.shop_sheet import ACCENT, GREY, INK, PAGES, PALE, Point, Sheet
from armature.shop.chalk import floor_frame
from armature.shop.plan import ShopPlan
from armature.shop.saddles import saddle
from armature.units import System, format_length

EDGE, FOOT = 10.0, 34.0
_GAP = 8.0
_WIDEST = 560.0
# A wrap round a thinner bar is smaller than the fingers that hold it: those saddles are ground by eye.
THINNEST_WRAP = 10.0


@dataclass(frozen=True, eq=False)
class Outline:
    """One member on the floor: its line (K, 2) mm, its radii (K,) mm, bends' places, and how high it lifts (K,) mm."""

    tag: str
    line: Floats
    radii: Floats
    bends: Floats
    lift: Floats


@dataclass(frozen=True, eq=False)
class Strip:
    """Outlines side by side: each with the place of its own origin (x, y) mm; the strip's size."""

    name: str
    outlines: tuple[tuple[Outline, float, float], ...]
    width: float
    height: float


def templates(plan: ShopPlan) -> bytes:
    """Return the PDF of full-size templates: an index, the tiles strip by strip, the saddle wraps."""
    unit: System = "inch" if plan.paper.unit == "inch" else "mm"
    sheet = Sheet(plan.page, f"{plan.title}: templates", [plan.title], landscape=True)
    height, width = PAGES[plan.page]
    own = strips(plan)
    tile = (width - 2.0 * EDGE, height - EDGE - FOOT)
    jobs = [(strip, _filled(strip, tile)) for strip in own]
    _index(sheet, plan, jobs, width, height)
    for strip, filled in jobs:
        for column, line in filled:
            _tile(sheet, strip, column, line, tile, unit)
    _wraps(sheet, plan, width, height, unit)
    return sheet.printed()


def strips(plan: ShopPlan) -> list[Strip]:
    """Return all members on strips of at most some 560 mm of height, batch by batch."""
    found: list[Strip] = []
    for batch in batches(plan):
        placed: list[tuple[Outline, float, float]] = []
        top = 0.0
        for row in batch.rows:
            drawn = outline(plan, row)
            low, high = drawn.line[:, 1].min() - drawn.radii.max(), drawn.line[:, 1].max() + drawn.radii.max()
            if placed and top + high - low > _WIDEST:
                found.append(_strip(batch.number, placed, top))
                placed, top = [], 0.0
            left = drawn.line[:, 0].min() - drawn.radii.max()
            placed.append((drawn, float(-left), float(top + high)))
            top += float(high - low) + _GAP
        found.append(_strip(batch.number, placed, top))
    return found


def outline(plan: ShopPlan, row: int) -> Outline:
    """Return one member as it lies on the floor."""
    tree = plan.tree
    line = sampled(tree.chains.taken([row]), 0.1, 60.0)
    start, frame = floor_frame(tree.chains, row)
    local = (line.points - start) @ frame.T
    rows = np.flatnonzero(plan.bends.members == row)
    marks = np.concatenate([plan.bends.marks[rows], plan.bends.marks[rows] + _arcs(plan, rows)])
    bends = np.stack([np.interp(marks, line.stations, local[:, axis]) for axis in range(2)], axis=1)
    radii = tree.diameters_at(np.full(len(local), row), line.stations) / 2.0
    return Outline(str(tree.tags[row]), local[:, :2], radii, bends, local[:, 2])


def _arcs(plan: ShopPlan, rows: Ints) -> Floats:
    return np.asarray(plan.bends.radii[rows] * np.radians(plan.bends.bends[rows]))


def _strip(batch: int, placed: list[tuple[Outline, float, float]], top: float) -> Strip:
    width = max(float(each.line[:, 0].max() + each.radii.max()) + x for each, x, _ in placed)
    names = f"{placed[0][0].tag} to {placed[-1][0].tag}" if len(placed) > 1 else placed[0][0].tag
    return Strip(f"batch {batch}: {names}", tuple(placed), width, top)


def _filled(strip: Strip, tile: Point) -> list[tuple[int, int]]:
    """Return the tiles (column, line) that hold some steel, line by line."""
    found: set[tuple[int, int]] = set()
    for drawn, x, y in strip.outlines:
        for (px, py), radius in zip(drawn.line.tolist(), drawn.radii.tolist(), strict=True):
            for dx in (-radius, radius):
                for dy in (-radius, radius):
                    found.add((int((x + px + dx) // tile[0]), int((y - py + dy) // tile[1])))
    columns, lines = ceil(strip.width / tile[0]), ceil(strip.height / tile[1])
    inside = {(min(max(c, 0), columns - 1), min(max(r, 0), lines - 1)) for c, r in found}
    return sorted(inside, key=lambda place: (place[1], place[0]))


def _tile(sheet: Sheet, strip: Strip, column: int, line: int, tile: Point, unit: System) -> None:
    sheet.add_page()
    shift = (EDGE - column * tile[0], EDGE - line * tile[1])
    with sheet.rect_clip(EDGE, EDGE, tile[0], tile[1]):
        for drawn, x, y in strip.outlines:
            _steel(sheet, drawn, x + shift[0], y + shift[1], unit)
    _frame(sheet, strip.name, column, line, tile, unit)


def _steel(sheet: Sheet, drawn: Outline, x: float, y: float, unit: System) -> None:
    def place(points: Floats) -> list[Point]:
        return [(x + px, y - py) for px, py in points.tolist()]

    along = np.gradient(drawn.line, axis=0)
    side = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
    edges = [drawn.line + side * drawn.radii[:, None], drawn.line - side * drawn.radii[:, None]]
    sheet.path([*place(edges[0]), *place(edges[1])[::-1], place(edges[0])[0]], 0.35, INK)
    sheet.set_dash_pattern(dash=4, gap=1.5)
    sheet.path(place(drawn.line), 0.15, GREY)
    sheet.set_dash_pattern()
    sheet.ink(ACCENT, 0.3)
    for px, py in place(drawn.bends):
        sheet.line(px - 2.0, py - 2.0, px + 2.0, py + 2.0)
        sheet.line(px - 2.0, py + 2.0, px + 2.0, py - 2.0)
    start = place(drawn.line[:1])[0]
    sheet.ink(ACCENT)
    sheet.words(start[0] + 4.0, start[1] - drawn.radii[0] - 1.5, drawn.tag, 16, bold=True)
    far = int(np.argmax(np.abs(np.round(drawn.lift, 6))))
    if abs(drawn.lift[far]) >= 1.0:
        at = place(drawn.line[far : far + 1])[0]
        sheet.ink(GREY)
        sheet.fraction(at[0], at[1] + drawn.radii[far] + 4.5, f"lift {format_length(float(drawn.lift[far]), unit)}", 10)


def _frame(sheet: Sheet, name: str, column: int, line: int, tile: Point, unit: System) -> None:
    sheet.ink(GREY, 0.1)
    sheet.rect(EDGE, EDGE, *tile)
    for x in (EDGE, EDGE + tile[0]):
        for share in (0.25, 0.75):
            _match(sheet, x, EDGE + share * tile[1], f"{column if x == EDGE else column + 1}")
    for y in (EDGE, EDGE + tile[1]):
        for share in (0.25, 0.75):
            _match(
                sheet,
                EDGE + share * tile[0],
                y,
                f"{chr(96 + (line if y == EDGE else line + 1))}" if line or y > EDGE else "",
            )
    foot = EDGE + tile[1]
    side = 25.4 if unit == "inch" else 25.0
    sheet.ink(INK, 0.2)
    sheet.rect(EDGE, foot + 4.0, side, side)
    sheet.words(EDGE + side + 3.0, foot + 9.0, f"This square is {format_length(side, unit)} each way:", 9)
    sheet.words(EDGE + side + 3.0, foot + 13.5, "if it is not, print at 100 %, not fitted to the page.", 9)
    sheet.words(EDGE + tile[0], foot + 10.0, f"column {column + 1}, line {line + 1}", 16, bold=True, align="R")
    sheet.words(EDGE + tile[0], foot + 17.0, name, 11, align="R")
    sheet.ink(GREY)
    sheet.words(
        EDGE + side + 3.0,
        foot + 20.5,
        "Trim on the frame; lay the diamonds of two tiles with the same sign together.",
        9,
    )
    sheet.words(EDGE + side + 3.0, foot + 25.0, "Crosses mark where each bend begins and ends.", 9)


def _match(sheet: Sheet, x: float, y: float, sign: str) -> None:
    if not sign:
        return
    sheet.ink(GREY, 0.2)
    sheet.polygon([(x - 2.2, y), (x, y - 2.2), (x + 2.2, y), (x, y + 2.2)])
    sheet.words(x + 2.6, y - 1.0, sign, 7)


def _index(
    sheet: Sheet, plan: ShopPlan, jobs: list[tuple[Strip, list[tuple[int, int]]]], width: float, height: float
) -> None:
    """List which pages hold what, so that only those wanted are printed; more pages where one is not enough."""
    page, lines = 0, int((height - 44.0) // 5.2)
    first = 1 + ceil(len(jobs) / (2 * lines))
    for number, (strip, filled) in enumerate(jobs):
        place = number % (2 * lines)
        if place == 0:
            sheet.add_page()
            sheet.ink(INK)
            sheet.fitted(14.0, 20.0, f"{plan.title}: full-size templates", 24, width - 28.0, bold=True)
            sheet.ink(GREY)
            sheet.words(14.0, 28.0, "Print only the pages you need, at 100 %.", 12)
        x = 14.0 + place // lines * (width / 2.0 - 7.0)
        y = 38.0 + place % lines * 5.2
        sheet.ink(INK)
        last = first + page + len(filled) - 1
        pages = f"{first + page}" if len(filled) == 1 else f"{first + page}-{last}"
        sheet.words(x, y, pages, 10, bold=True)
        sheet.fitted(x + 24.0, y, strip.name, 10, width / 2.0 - 40.0)
        page += len(filled)


def _wraps(sheet: Sheet, plan: ShopPlan, width: float, height: float, unit: System) -> None:
    """Draw the wraps: cut out, wind round the bar, heel mark on the acute side, chalk the curve, grind to it."""
    tree, joint = plan.tree, plan.joints
    thick = (tree.parents >= 0) & (tree.start_diameters >= THINNEST_WRAP) & (plan.kinds == "weld")
    x, y, tallest = EDGE, height, 0.0
    for row in np.flatnonzero(thick).tolist():
        shape = saddle(float(tree.start_diameters[row]), float(joint.parent_diameters[row]), float(joint.leans[row]))
        wide, deep = float(shape.around[-1]), float(shape.cut.max()) + 22.0
        if x + wide > width - EDGE:
            x, y, tallest = EDGE, y + tallest + 9.0, 0.0
        if y + deep > height - FOOT:
            _frame_of_wraps(sheet, plan, width, height, unit)
            x, y, tallest = EDGE, 24.0, 0.0
        _wrap(sheet, str(tree.tags[row]), shape.around, shape.cut, x, y, deep)
        x += wide + 8.0
        tallest = max(tallest, deep)


def _wrap(sheet: Sheet, tag: str, around: Floats, cut: Floats, x: float, y: float, deep: float) -> None:
    curve = [(x + a, y + c) for a, c in zip(around.tolist(), cut.tolist(), strict=True)]
    sheet.path([*curve, (x + float(around[-1]), y + deep), (x, y + deep), curve[0]], 0.3, INK)
    middle = x + float(around[-1]) / 2.0
    sheet.ink(GREY, 0.15)
    sheet.line(middle, curve[len(curve) // 2][1], middle, y + deep)
    sheet.ink(ACCENT)
    sheet.words(x + 1.0, y + deep - 1.5, "heel", 7)
    sheet.words(middle + 0.8, y + deep - 1.5, "toe", 7)
    sheet.ink(INK)
    sheet.fitted(x + 1.0, y + deep - 6.0, tag, 12, float(around[-1]) / 2.0 - 2.0, bold=True)


def _frame_of_wraps(sheet: Sheet, plan: ShopPlan, width: float, height: float, unit: System) -> None:
    sheet.add_page()
    sheet.ink(INK)
    sheet.words(EDGE, 14.0, "SADDLE WRAPS", 18, bold=True)
    sheet.ink(GREY)
    sheet.words(
        EDGE, 20.0, "Wind round the end of the bar, heel on the acute side, curve at the end. Grind to the curve.", 10
    )
    sheet.rule(EDGE, height - FOOT + 2.0, width - 2.0 * EDGE, 0.2, PALE)
    side = 25.4 if unit == "inch" else 25.0
    sheet.ink(INK, 0.2)
    sheet.rect(EDGE, height - FOOT + 4.0, side, side)
    sheet.words(EDGE + side + 3.0, height - FOOT + 9.0, f"This square is {format_length(side, unit)} each way.", 9)
