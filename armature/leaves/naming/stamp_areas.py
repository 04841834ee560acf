"""Where a name can be stamped: the largest rectangle on a leaf that is clear of veins, eye and edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from armature.leaves.outline import Design, line

# Room that a stamp wants from the edge and from a chased line, mm; less on small leaves.
EDGE_CLEAR = 2.5
VEIN_CLEAR = 0.8


@dataclass(frozen=True)
class Panel:
    """A rectangle for text: centre (x, y) mm in the design's frame, width along the text, height, turn of the text in
    degrees counter-clockwise from +x."""

    x: float
    y: float
    width: float
    height: float
    turn_deg: float

    @property
    def corners(self) -> NDArray[np.float64]:
        """Corners (4, 2), mm, counter-clockwise from the text's lower left."""
        w, h = self.width / 2, self.height / 2
        box = np.array([[-w, -h], [w, -h], [w, h], [-w, h]])
        a = np.deg2rad(self.turn_deg)
        turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
        return np.asarray(box @ turn.T + [self.x, self.y])


def clear_zone(design: Design, edge: float = EDGE_CLEAR, vein: float = VEIN_CLEAR) -> BaseGeometry:
    """Return the part of a leaf that is `edge` mm off its edge and eye and `vein` mm off its veins."""
    zone = design.shape.buffer(-edge)
    lines = [line(path).buffer(vein, cap_style="flat") for path in design.veins]
    return zone.difference(shapely.union_all(lines)) if lines else zone


def stamp_panels(
    design: Design, depths: Sequence[float] = (), cell: float = 0.5, step_deg: float = 7.5
) -> tuple[Panel, ...]:
    """Return the clear rectangles that names can stand on: the largest, then for each of `depths` in mm the longest
    that is at least so deep, where it is longer; none where nothing is clear.

    All text directions from -90 to 90 deg are tried. Rectangles are found on a grid of `cell` mm and lie wholly inside
    the clear zone.
    """
    zone = clear_zone(design, min(EDGE_CLEAR, 0.03 * design.length), min(VEIN_CLEAR, 0.01 * design.length))
    if zone.is_empty:
        return ()
    turns = np.arange(-90.0, 90.0, step_deg)
    coarse = [_Grid(zone, float(turn), 2.0 * cell) for turn in turns]
    fine: dict[float, _Grid] = {}
    panels: list[Panel] = []
    for depth in (0.0, *depths):
        rough = int(np.argmax([_worth(grid.best(depth), depth) for grid in coarse]))
        near = turns[rough] + np.array([-0.5, -0.25, 0.0, 0.25, 0.5]) * step_deg
        for turn in near.tolist():
            if turn not in fine:
                fine[turn] = _Grid(zone, turn, cell)
        best = max((fine[turn].best(depth) for turn in near.tolist()), key=lambda panel: _worth(panel, depth))
        if best is not None and not any(o.width >= best.width and o.height >= depth for o in panels):
            panels.append(best)
    return tuple(panels)


def _worth(panel: Panel | None, depth: float) -> float:
    """What a panel counts: its area, or its length where a depth is asked."""
    if panel is None:
        return 0.0
    return round(panel.width if depth else panel.width * panel.height, 6)


class _Grid:
    """The clear zone turned level with one text direction, as cells."""

    def __init__(self, zone: BaseGeometry, turn: float, cell: float) -> None:
        level = affinity.rotate(zone, -turn, origin=(0, 0))
        self.x0, self.y0, x1, y1 = level.bounds
        self.turn, self.cell = turn, cell
        self.free = _free_cells(level, np.arange(self.x0, x1, cell), np.arange(self.y0, y1, cell), cell)

    def best(self, depth: float) -> Panel | None:
        """The largest clear rectangle, or with a depth the longest so deep along the text; None where none is."""
        if depth:
            left, low, wide, high = longest_rectangle(self.free, int(np.ceil(depth / self.cell - 1e-9)))
        else:
            left, low, wide, high = largest_rectangle(self.free)
        if wide == 0:
            return None
        w, h = wide * self.cell, high * self.cell
        a = np.deg2rad(self.turn)
        cx, cy = self.x0 + left * self.cell + w / 2, self.y0 + low * self.cell + h / 2
        x, y = cx * np.cos(a) - cy * np.sin(a), cx * np.sin(a) + cy * np.cos(a)
        if h > w and not depth:
            return Panel(x, y, h, w, _readable(self.turn + 90.0))
        return Panel(x, y, w, h, _readable(self.turn))


def _readable(turn: float) -> float:
    """Text reads from left to right, or upward where it stands on end."""
    return (turn + 90.0) % 180.0 - 90.0


def _free_cells(zone: BaseGeometry, x: NDArray[np.float64], y: NDArray[np.float64], cell: float) -> NDArray[np.bool_]:
    """Cells wholly inside: all four corners and the middle in the zone once it is taken in by a tenth of a cell."""
    inner = zone.buffer(-0.1 * cell)
    inside = _inside(inner, np.append(x, x[-1] + cell), np.append(y, y[-1] + cell))
    middle = _inside(inner, x + cell / 2, y + cell / 2)
    return np.asarray(inside[:-1, :-1] & inside[:-1, 1:] & inside[1:, :-1] & inside[1:, 1:] & middle)


def _inside(zone: BaseGeometry, x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Return whether each point of a grid of ascending x (C,) and y (R,) lies in a zone: (R, C).

    A point is inside where a line from the left crosses the zone's edges an odd number of times before it: row by row
    over all edges at once, a tenth of the time of asking for each point.
    """
    rings = shapely.get_rings(shapely.get_parts(zone))
    points, ring = shapely.get_coordinates(rings, return_index=True)
    edges = np.flatnonzero(ring[1:] == ring[:-1])
    start, stop = points[edges], points[edges + 1]
    low, high = (np.searchsorted(y, each(start[:, 1], stop[:, 1]), side="right") for each in (np.minimum, np.maximum))
    crossed = np.repeat(np.arange(len(edges)), high - low)
    row = np.arange(len(crossed)) - np.repeat(np.cumsum(high - low) - high, high - low)
    run = stop[crossed] - start[crossed]
    at = start[crossed, 0] + (y[row] - start[crossed, 1]) / run[:, 1] * run[:, 0]
    column = np.searchsorted(x, at)
    wide = len(x) + 1
    crossings = np.bincount(row * wide + column, minlength=len(y) * wide).reshape(len(y), wide)
    return np.asarray(np.cumsum(crossings, axis=1)[:, :-1] % 2 == 1)


def largest_rectangle(free: NDArray[np.bool_]) -> tuple[int, int, int, int]:
    """Return (left column, low row, columns, rows) of the largest all-true rectangle of a grid (R, C); zeros if none.

    For each pair of rows the longest run of columns free in between; rows are grown together, so that the cost is R^2 C
    in whole-array steps.

    >>> largest_rectangle(np.array([[1, 1, 0], [1, 1, 1]], dtype=bool))
    (0, 0, 2, 2)
    """
    rows = len(free)
    best, rectangle = 0, (0, 0, 0, 0)
    column = free.copy()
    for high in range(1, rows + 1):
        # column[r] says which columns are free in rows r .. r + high - 1.
        column = free.copy() if high == 1 else column[:-1] & free[high - 1 :]
        runs = _runs(column)
        widest = runs.max(axis=1)
        row = int(np.argmax(widest))
        if int(widest[row]) == 0:
            break
        if int(widest[row]) * high > best:
            end = int(np.argmax(runs[row]))
            wide = int(widest[row])
            best, rectangle = wide * high, (end - wide + 1, row, wide, high)
    return rectangle


def longest_rectangle(free: NDArray[np.bool_], rows: int) -> tuple[int, int, int, int]:
    """Return (left column, low row, columns, rows) of the longest all-true rectangle of so many rows; zeros if none.

    >>> longest_rectangle(np.array([[1, 1, 0], [1, 1, 1]], dtype=bool), 1)
    (0, 1, 3, 1)
    """
    if rows > len(free):
        return (0, 0, 0, 0)
    windows = np.lib.stride_tricks.sliding_window_view(free, rows, axis=0)
    runs = _runs(np.asarray(windows.all(axis=2)))
    row, end = (int(v) for v in np.unravel_index(int(np.argmax(runs)), runs.shape))
    wide = int(runs[row, end])
    return (end - wide + 1, row, wide, rows) if wide else (0, 0, 0, 0)


def _runs(column: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Length of the run of true cells that ends at each cell, along the rows."""
    count = np.arange(1, column.shape[1] + 1)
    broken = np.maximum.accumulate(np.where(column, 0, count), axis=1)
    return np.asarray(count - broken, dtype=np.int64)


def panel_shape(panel: Panel) -> Polygon:
    """Return the panel as a shapely polygon."""
    return Polygon(panel.corners)
