"""The quick layout: leaves set one by one on a grid of cells, each as far left and then as low as it goes.

The same on every machine and run. Where a leaf may lie is found for all places at once by convolving the plate's
taken cells with the leaf's, so that no leaf, however lobed, is cut to a box.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy import fft

from armature.leaves.arcs import polygon
from armature.leaves.outlines import Design
from armature.leaves.plates import Plate, Rules, allowed_turns, placed_shapes, turned_shape

Cells = NDArray[np.bool_]
_WINDOW_LEAVES = 2.6


def raster_plate(
    designs: Sequence[Design],
    counts: NDArray[np.int64],
    length: float,
    height: float,
    rules: Rules,
    cell: float,
    kept: Plate | None = None,
) -> Plate:
    """Return one plate (length along x, height along y, mm) filled from `counts` leaves of each design.

    cell: size of the grid in mm. Larger leaves are set first; what does not fit is left out. kept: leaves that lie
    already and stay; then the gaps between them are filled.
    """
    masks = _Masks(designs, rules, cell)
    grid = _Grid(length, height, rules, cell, masks.reach if kept is None else np.inf)
    if kept is not None:
        grid.take(kept, designs, rules)
    order = np.argsort([-d.area for d in designs], kind="stable")
    left = counts.copy()
    rows: list[tuple[int, float, float, float]] = []
    for k in order.tolist():
        while left[k] > 0:
            spot = _best_spot(grid, masks, k)
            if spot is None:
                break
            turn, x, y = spot
            rows.append((designs[k].number, turn, x, y))
            left[k] -= 1
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    found = Plate(length, height, table[:, 0].astype(np.int64), table[:, 1], np.round(table[:, 2:], 4))
    return found if kept is None else _together(kept, found)


def _together(one: Plate, two: Plate) -> Plate:
    return Plate(
        one.width,
        one.height,
        np.concatenate([one.designs, two.designs]),
        np.concatenate([one.turns, two.turns]),
        np.concatenate([one.shifts, two.shifts]),
    )


class _Masks:
    """Each design at each turn as cells: the leaf itself and the leaf widened by the web, and where its eye lies."""

    def __init__(self, designs: Sequence[Design], rules: Rules, cell: float) -> None:
        self.designs, self.rules, self.cell = designs, rules, cell
        self.turns = allowed_turns(rules, 45.0)
        self.reach = _WINDOW_LEAVES * max(d.length for d in designs)
        self.of = cache(self._of)

    def _of(self, k: int, turn: float) -> tuple[Cells, Cells, float, float]:
        shape = turned_shape(polygon(self.designs[k].outline, 0.02), turn, np.zeros(2))
        grown = shape.buffer(self.rules.web + 0.02)
        x0, y0, x1, y1 = grown.bounds
        c = self.cell
        wide, high = int(np.ceil((x1 - x0) / c)) + 1, int(np.ceil((y1 - y0) / c)) + 1
        boxes = _cells(x0, y0, wide, high, c)
        shapely.prepare(shape)
        shapely.prepare(grown)
        own = shapely.intersects(shape, boxes).reshape(high, wide)
        web = shapely.intersects(grown, boxes).reshape(high, wide)
        return own, web, x0, y0


def _cells(x0: float, y0: float, wide: int, high: int, c: float) -> NDArray[np.object_]:
    x, y = np.meshgrid(x0 + c * np.arange(wide), y0 + c * np.arange(high))
    return np.asarray(shapely.box(x.ravel(), y.ravel(), x.ravel() + c, y.ravel() + c))


class _Grid:
    """Taken cells of a plate, with a taken border as wide as the web: a leaf's web may lie on it, a leaf may not."""

    def __init__(self, length: float, height: float, rules: Rules, cell: float, reach: float) -> None:
        self.cell, self.border = cell, int(np.ceil((rules.web + 0.02) / cell)) + 1
        self.origin = rules.margin - self.border * cell
        wide = max(int(np.floor((length - 2 * rules.margin) / cell)), 0)
        high = max(int(np.floor((height - 2 * rules.margin) / cell)), 0)
        self.taken: Cells = np.ones((high + 2 * self.border, wide + 2 * self.border), dtype=bool)
        self.taken[self.border : self.border + high, self.border : self.border + wide] = False
        self.window = int(np.ceil(min(reach, length) / cell))

    def take(self, kept: Plate, designs: Sequence[Design], rules: Rules) -> None:
        """Mark the cells of leaves that lie already, with their webs."""
        for shape in placed_shapes(kept, designs):
            grown = shape.buffer(rules.web + 0.02)
            x0, y0, x1, y1 = (np.asarray(grown.bounds) - self.origin) / self.cell
            row, column = max(int(y0), 0), max(int(x0), 0)
            high, wide = min(int(y1) + 1, self.taken.shape[0]) - row, min(int(x1) + 1, self.taken.shape[1]) - column
            left, low = self.origin + self.cell * column, self.origin + self.cell * row
            boxes = _cells(left, low, wide, high, self.cell)
            shapely.prepare(grown)
            part = self.taken[row : row + high, column : column + wide]
            part |= shapely.intersects(grown, boxes).reshape(high, wide)

    def first_column(self) -> int:
        """First column in which a leaf could still find room: the filled front less one window."""
        inner = self.taken[self.border : -self.border, : -self.border - 1]
        filled = np.flatnonzero(inner.any(axis=0) & (np.arange(inner.shape[1]) >= self.border))
        return max(int(filled[-1]) + 1 - self.window, 0) if len(filled) else 0


def _best_spot(grid: _Grid, masks: _Masks, k: int) -> tuple[float, float, float] | None:
    """Turn and shift of the leaf whose far side comes to lie leftmost, lowest among equals."""
    first = grid.first_column()
    best: tuple[float, int, float] | None = None
    place: tuple[int, int] = (0, 0)
    last = min(first + 2 * grid.window, grid.taken.shape[1])
    part = grid.taken[:, first:last]
    shape = [fft.next_fast_len(n, real=True) for n in part.shape]
    spectrum = fft.rfft2(part.astype(np.float32), shape)
    for turn in masks.turns:
        own, _, _, _ = masks.of(k, turn)
        spot = _free_spot(part, spectrum, shape, own)
        if spot is None:
            continue
        score = (spot[1] + own.shape[1] * 0.85 + 0.02 * spot[0], spot[0], turn)
        if best is None or score < best:
            best, place = score, (spot[0], spot[1] + first)
    if best is None:
        return None
    return _set(grid, masks, k, best[2], place)


def _free_spot(
    part: Cells, spectrum: NDArray[np.complexfloating], shape: list[int], own: Cells
) -> tuple[int, int] | None:
    rows, columns = part.shape[0] - own.shape[0] + 1, part.shape[1] - own.shape[1] + 1
    if rows <= 0 or columns <= 0:
        return None
    struck = fft.irfft2(spectrum * fft.rfft2(own[::-1, ::-1].astype(np.float32), shape), shape)
    free = struck[own.shape[0] - 1 :, own.shape[1] - 1 :][:rows, :columns] < 0.5
    open_columns = np.flatnonzero(free.any(axis=0))
    if len(open_columns) == 0:
        return None
    column = int(open_columns[0])
    return int(np.argmax(free[:, column])), column


def _set(grid: _Grid, masks: _Masks, k: int, turn: float, place: tuple[int, int]) -> tuple[float, float, float]:
    own, web, x0, y0 = masks.of(k, turn)
    row, column = place
    high, wide = min(own.shape[0], grid.taken.shape[0] - row), min(own.shape[1], grid.taken.shape[1] - column)
    grid.taken[row : row + high, column : column + wide] |= web[:high, :wide]
    return turn, grid.origin + column * grid.cell - x0, grid.origin + row * grid.cell - y0
