"""The base plate full size: holes, middle lines, trunk and east mark on tiles to tape together, by page.

x goes east, y north. A tile is a page on its side; one that holds nothing of the plate is not printed.
"""

from __future__ import annotations

from math import ceil, cos, radians, sin

import numpy as np

from armature.edge import System, format_length
from armature.papers import ACCENT, GREY, INK, PAGES, Point, Sheet
from armature.papers.shop.templates import Tile, frame, tile_size
from armature.papers.shop.wraps import EDGE
from armature.shop import ShopPlan

_RIM = 6.0


def draw_base_template(sheet: Sheet, plan: ShopPlan) -> None:
    """Draw the index of the template, then its tiles, line by line from the north-west."""
    unit: System = plan.commission.units
    tile = tile_size(plan)
    wide = plan.base.plate.side_mm + 2.0 * _RIM
    columns, lines = (ceil(wide / each) for each in tile)
    # The plate's middle from the upper left corner of the first tile.
    middle = columns * tile[0] / 2.0, lines * tile[1] / 2.0
    tiles = [(line, column) for line in range(lines) for column in range(columns)]
    shown = [each for each in tiles if _holds(plan, each, middle, tile)]
    _index(sheet, plan, shown, middle, tile, unit)
    for line, column in shown:
        sheet.add_page(orientation="landscape")
        corner = column * tile[0], line * tile[1]
        with sheet.rect_clip(EDGE, EDGE, tile[0], tile[1]):
            _plate(sheet, plan, (middle[0] - corner[0] + EDGE, middle[1] - corner[1] + EDGE), unit)
        frame(sheet, "base plate, full size", column, line, tile, unit, "Crosses are the middles of holes.")


def _edges(plan: ShopPlan) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Return points (K, 2) mm a hair apart along all that is drawn."""
    half, base = plan.base.plate.side_mm / 2.0, plan.base
    run = np.linspace(-half, half, max(ceil(half), 2))
    flat = np.zeros(len(run))
    side = np.full(len(run), half)
    lines = [(run, flat), (flat, run), (run, side), (run, -side), (side, run), (-side, run)]
    points = [np.stack(line, axis=1) for line in lines]
    around = np.radians(np.arange(0.0, 360.0, 2.0))
    ring = np.stack([np.sin(around), np.cos(around)], axis=1)
    points.append(ring * float(plan.tree.start_diameters[0]) / 2.0)
    points += [np.array(hole) + ring * base.hole_mm / 2.0 for hole in base.holes.tolist()]
    return np.concatenate(points)


def _holds(plan: ShopPlan, place: Tile, middle: Point, tile: Point) -> bool:
    line, column = place
    x, y = middle[0] + _edges(plan)[:, 0], middle[1] - _edges(plan)[:, 1]
    across = (x >= column * tile[0]) & (x <= (column + 1) * tile[0])
    return bool((across & (y >= line * tile[1]) & (y <= (line + 1) * tile[1])).any())


def _plate(sheet: Sheet, plan: ShopPlan, middle: Point, unit: System) -> None:
    base, half = plan.base, plan.base.plate.side_mm / 2.0

    def at(x: float, y: float) -> Point:
        return middle[0] + x, middle[1] - y

    sheet.path([at(x * half, y * half) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))], 0.5, INK)
    sheet.path([at(0.0, -half), at(0.0, half)], 0.2, GREY)
    sheet.path([at(-half, 0.0), at(half, 0.0)], 0.2, GREY)
    sheet.ink(GREY, 0.3)
    trunk = float(plan.tree.start_diameters[0]) / 2.0
    sheet.circle(*middle, trunk, style="D")
    if base.rods is not None:
        sheet.circle(*middle, base.rods.circle_mm / 2.0, style="D")
    for number, (x, y) in enumerate(base.holes.tolist(), start=1):
        sheet.path([at(x - 8.0, y), at(x + 8.0, y)], 0.2, INK)
        sheet.path([at(x, y - 8.0), at(x, y + 8.0)], 0.2, INK)
        sheet.ink(INK, 0.4)
        sheet.circle(*at(x, y), base.hole_mm / 2.0, style="D")
        px, py = at(x + base.hole_mm / 2.0 + 2.0, y)
        sheet.fraction(px, py - 1.5, f"{number}: drill {format_length(base.hole_mm, unit)}", 11, bold=True)
    sheet.path([at(half - 12.0, 0.0), at(half, 0.0)], 1.4, ACCENT)
    toward = radians(plan.written.chalk_bearing(0))
    sheet.path([at(0.0, 0.0), at(trunk * 1.3 * sin(toward), trunk * 1.3 * cos(toward))], 0.7, ACCENT)
    sheet.ink(ACCENT)
    sheet.words(middle[0] + half - 14.0, middle[1] - 2.0, "east mark", 10, bold=True, align="R")
    sheet.ink(INK)
    for name, x, y in (("N", 3.0, half - 8.0), ("S", 3.0, 4.0 - half), ("W", 4.0 - half, 3.0)):
        sheet.words(*at(x, y), name, 16, bold=True)


def _index(sheet: Sheet, plan: ShopPlan, shown: list[Tile], middle: Point, tile: Point, unit: System) -> None:
    """Draw the plate small under its tiles, each with the page that it is printed on."""
    sheet.add_page(orientation="landscape")
    height, width = PAGES[plan.page]
    sheet.ink(INK)
    sheet.words(14.0, 20.0, "Base plate, full size", 24, bold=True)
    sheet.ink(GREY)
    last = sheet.page + len(shown)
    said = f"Pages {sheet.page + 1} to {last} at 100 %, taped by their diamonds; each is numbered here."
    sheet.fitted(14.0, 28.0, said, 12, width - 28.0)
    half = plan.base.plate.side_mm / 2.0
    scale = min((width - 28.0) / (2.0 * middle[0]), (height - 50.0) / (2.0 * middle[1]))
    left, top = 14.0, 36.0

    def at(x: float, y: float) -> Point:
        return left + (middle[0] + x) * scale, top + (middle[1] - y) * scale

    sheet.path([at(x * half, y * half) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1), (-1, -1))], 0.7, INK)
    sheet.ink(INK, 0.3)
    for x, y in plan.base.holes.tolist():
        sheet.circle(*at(x, y), plan.base.hole_mm / 2.0 * scale, style="D")
    for number, (line, column) in enumerate(shown, start=sheet.page + 1):
        x, y = left + column * tile[0] * scale, top + line * tile[1] * scale
        sheet.ink(GREY, 0.2)
        sheet.rect(x, y, tile[0] * scale, tile[1] * scale)
        sheet.ink(ACCENT)
        sheet.words(x + 3.0, y + 8.0, f"page {number}", 14, bold=True)
    side = format_length(2.0 * half, unit)
    sheet.ink(INK)
    sheet.fraction(at(-half, half)[0] + 2.0, at(-half, half)[1] - 1.5, f"plate {side} square", 10)
