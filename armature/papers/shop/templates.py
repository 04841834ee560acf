"""templates.pdf: members drawn full size on tiles to tape together, and wraps for the saddles on their ends.

A strip of members side by side is cut into tiles, and a tile that holds no steel is not printed. Every tile carries the
tags of what lies on it, a square to check the printer by and marks to match.
"""

from __future__ import annotations

from math import ceil

import numpy as np

from armature.edge import System, format_length
from armature.papers import ACCENT, GREY, INK, PAGES, Point, Sheet, strokes
from armature.papers.shop.strips import Outline, Strip, full_size, strips, touched_points
from armature.papers.shop.wraps import EDGE, FOOT, draw_wraps
from armature.shop import ShopPlan

# Pitch of the index, mm; tags named at the foot of a tile, where more are told by their number.
_LINE, _FEW = 5.4, 8
_SHORT = 120.0
_LEFT_OUT = {
    "bent": "straight members, branchlets and twigs of one bend, whose cards say all",
    "thick": "branchlets and twigs",
}
Tile = tuple[int, int]


def templates(plan: ShopPlan, laid: list[Strip] | None = None) -> bytes:
    """Return the PDF of full-size templates: an index, the tiles strip by strip, the saddle wraps.

    laid: the strips of the plan, where they are known already.
    """
    unit: System = "inch" if plan.paper.unit == "inch" else "mm"
    sheet = Sheet(plan.page, f"{plan.title}: templates", [plan.title], landscape=True)
    height, width = PAGES[plan.page]
    tile = tile_size(plan)
    jobs = [(strip, _filled(strip, tile)) for strip in (strips(plan, tile, full_size(plan)) if laid is None else laid)]
    _index(sheet, plan, jobs, width, height)
    for strip, filled in jobs:
        steel = [_steel(drawn) for drawn, _, _ in strip.outlines]
        for place, rows in filled.items():
            _tile(sheet, strip, place, rows, steel, tile, unit)
    draw_wraps(sheet, plan, width, height, unit)
    return sheet.printed()


def tile_size(plan: ShopPlan) -> Point:
    """Return the width and height of a tile, mm: a page on its side less its edges."""
    height, width = PAGES[plan.page]
    return width - 2.0 * EDGE, height - EDGE - FOOT


def _filled(strip: Strip, tile: Point) -> dict[Tile, list[int]]:
    """Return the tiles (line, column) that hold some steel, line by line, and the places of their outlines."""
    rows_by_tile: dict[Tile, list[int]] = {}
    for number, (drawn, x, y) in enumerate(strip.outlines):
        places = np.floor(np.round(touched_points(drawn, x, y) / tile, 6)).astype(np.int64)
        last = np.ceil(np.round([strip.width / tile[0], strip.height / tile[1]], 6)).astype(np.int64) - 1
        for column, line in np.unique(np.clip(places, 0, np.maximum(last, 0)), axis=0).tolist():
            rows_by_tile.setdefault((line, column), []).append(number)
    return dict(sorted(rows_by_tile.items()))


def _tile(
    sheet: Sheet, strip: Strip, place: Tile, rows: list[int], steel: list[str], tile: Point, unit: System
) -> None:
    sheet.add_page()
    line, column = place
    corner = (column * tile[0], line * tile[1])
    with sheet.rect_clip(EDGE, EDGE, tile[0], tile[1]):
        for number in rows:
            drawn, x, y = strip.outlines[number]
            at = x + EDGE - corner[0], y + EDGE - corner[1]
            sheet.stamp(*at, steel[number])
            _names(sheet, drawn, *at, tile, unit)
    tags = [strip.outlines[number][0].tag for number in rows]
    few = " ".join(tags) if len(tags) <= _FEW else f"{tags[0]} and {len(tags) - 1} more"
    frame(sheet, few, column, line, tile, unit, "Crosses mark where each bend begins and ends.")


def _steel(drawn: Outline) -> str:
    """Return the drawing of one member about its own origin: edges, centreline, crosses where bends begin and end."""
    along = np.gradient(drawn.line, axis=0)
    side = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
    out = side * drawn.radii[:, None]
    edge = np.concatenate([drawn.line + out, (drawn.line - out)[::-1], (drawn.line + out)[:1]])
    crosses = [
        [(px - 2.0, py - 2.0 * way), (px + 2.0, py + 2.0 * way)]
        for px, py in drawn.bends.tolist()
        for way in (1.0, -1.0)
    ]
    parts = [strokes([edge.tolist()], INK, 0.35), strokes([drawn.line.tolist()], GREY, 0.15, (4.0, 1.5))]
    return " ".join([*parts, strokes(crosses, ACCENT, 0.3)] if crosses else parts)


def _names(sheet: Sheet, drawn: Outline, x: float, y: float, tile: Point, unit: System) -> None:
    """Write the tag beside the member on the tile, and how far it lifts off the floor at most."""
    line = np.stack([x + drawn.line[:, 0], y - drawn.line[:, 1]], axis=1)
    inside = np.flatnonzero(((line > EDGE) & (line < np.array(tile) + EDGE)).all(axis=1))
    if not len(inside):
        return
    at = int(inside[len(inside) // 3])
    before, after = line[max(at - 1, 0)], line[min(at + 1, len(line) - 1)]
    # Beside a bar that climbs there is room to the left of it, beside one that falls to the right.
    climbs = after[1] < before[1]
    above = line[at, 1] - drawn.radii[at] - 1.8
    base = above if above > EDGE + 5.0 else line[at, 1] + drawn.radii[at] + 6.0
    right = climbs == (base == above) and line[at, 0] > EDGE + 40.0
    most = float(np.abs(np.round(drawn.lift, 6)).max())
    lift = f"  lifts {format_length(most, unit)}" if most >= 1.0 else ""
    x = float(line[at, 0]) + (-1.0 - (sheet.width(lift, 10) if lift else 0.0) if right else 1.0)
    sheet.ink(ACCENT)
    # On a short twig a large tag would lie over its neighbours.
    size = 15 if np.ptp(drawn.line[:, 0]) > _SHORT else 11
    width = sheet.words(x, base, drawn.tag, size, bold=True, align="R" if right else "L")
    sheet.ink(INK)
    sheet.fraction(x if right else x + width, base, lift, 10)


def frame(sheet: Sheet, name: str, column: int, line: int, tile: Point, unit: System, said: str) -> None:
    """Draw what every tile has: its frame, diamonds to match, a square to check the printer by, page and place."""
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
    sheet.words(
        EDGE + tile[0],
        foot + 10.0,
        f"page {sheet.page}: column {column + 1}, line {line + 1}",
        16,
        bold=True,
        align="R",
    )
    wide = 105.0
    sheet.fitted(EDGE + tile[0] - wide, foot + 17.5, name, 13, wide, align="R")
    sheet.ink(GREY)
    sheet.words(
        EDGE + side + 3.0,
        foot + 20.5,
        "Trim on the frame; lay the diamonds of two tiles with the same sign together.",
        9,
    )
    sheet.words(EDGE + side + 3.0, foot + 25.0, said, 9)


def _match(sheet: Sheet, x: float, y: float, sign: str) -> None:
    if not sign:
        return
    sheet.ink(GREY, 0.2)
    sheet.polygon([(x - 2.2, y), (x, y - 2.2), (x + 2.2, y), (x, y + 2.2)])
    sheet.words(x + 2.8, y - 1.0, sign, 10)


def _index(
    sheet: Sheet, plan: ShopPlan, jobs: list[tuple[Strip, dict[Tile, list[int]]]], width: float, height: float
) -> None:
    """List which pages hold what, so that only those wanted are printed; more pages where one is not enough."""
    wide = width / 2.0 - 40.0
    wrapped = [_lines(sheet, [drawn.tag for drawn, _, _ in strip.outlines], wide) for strip, _ in jobs]
    counts = [len(filled) for _, filled in jobs]
    drawn = {outline.tag for strip, _ in jobs for outline, _, _ in strip.outlines}
    if left := [tag for tag in plan.tree.tags.tolist() if tag not in drawn]:
        wrapped, counts = [*wrapped, _lines(sheet, left, wide)], [*counts, 0]
    each = int((height - 44.0) // _LINE)
    page = 1 + ceil(sum(map(len, wrapped)) / (2 * each))
    number = 0
    for count, lines in zip(counts, wrapped, strict=True):
        pages = "card only" if not count else f"{page}" if count == 1 else f"{page}-{page + count - 1}"
        page += count
        for first, line in zip([pages, *[""] * len(lines)], lines, strict=False):
            place = number % (2 * each)
            if place == 0:
                _index_page(sheet, plan, width)
            x, y = 14.0 + place // each * (width / 2.0 - 7.0), 38.0 + place % each * _LINE
            sheet.ink(INK)
            sheet.words(x, y, first, 11, bold=True)
            sheet.fitted(x + 24.0, y, line, 11, wide)
            number += 1


def _index_page(sheet: Sheet, plan: ShopPlan, width: float) -> None:
    sheet.add_page()
    sheet.ink(INK)
    sheet.fitted(14.0, 20.0, f"{plan.title}: full-size templates", 24, width - 28.0, bold=True)
    sheet.ink(GREY)
    said = "Print only the pages you need, at 100 %."
    if plan.templates != "all":
        said += f' Not drawn: {_LEFT_OUT[plan.templates]}; shop.printing.templates = "all" draws them.'
    sheet.fitted(14.0, 28.0, said, 12, width - 28.0)


def _lines(sheet: Sheet, tags: list[str], wide: float) -> list[str]:
    """Return tags in lines of at most `wide` mm."""
    lines = [tags[0]]
    for tag in tags[1:]:
        longer = f"{lines[-1]} {tag}"
        if sheet.width(longer, 11) > wide:
            lines.append(tag)
        else:
            lines[-1] = longer
    return lines
