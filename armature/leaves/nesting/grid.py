"""The first layout: leaves set one by one on a grid of cells, each as far left and then as low as it goes.

The same on every machine and run. Where a leaf may lie is found for all places at once by convolving the plate's
taken cells with the leaf's, so that no leaf, however lobed, is cut to a box. What a new leaf takes away from the next
one of its design is a fixed patch of places (the no-fit cells), cleared from the map instead of convolving anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from armature.leaves.nesting.plates import Plate, Rules, allowed_turns, joined, placed_shapes, turned_shape
from armature.leaves.outline import Design, polygon

Cells = NDArray[np.bool_]
Spot = tuple[float, int, int, float]
# How much a leaf's width counts against a place further left, and a high place against a low one.
FAR, _HIGH = 0.85, 0.02
# Kept beside the web for what the cells miss, in cells, and for the chords of outlines, mm.
_BESIDE = 0.05, 0.02
_KEPT_MASKS = 2048
# Bytes of spectra that are kept beside the masks.
_KEPT_WAVES = 60_000_000


class Masks:
    """Each design at each turn as cells: the leaf itself and the leaf widened by the web, and where its eye lies.

    step: between turns in degrees, a part of a quarter, where rotation is free.
    """

    def __init__(self, designs: Sequence[Design], rules: Rules, cell: float, step: float = 45.0) -> None:
        self.designs, self.rules, self.cell = designs, rules, cell
        self.turns = allowed_turns(rules, step)
        self.of = lru_cache(_KEPT_MASKS)(self._of)
        self.no_fit = lru_cache(_KEPT_MASKS)(self._no_fit)
        self._waves: dict[tuple[int, float, tuple[int, int]], NDArray[np.complexfloating]] = {}

    def _of(self, k: int, turn: float) -> tuple[Cells, Cells, float, float]:
        """Own cells and web cells (rows along y), and the lower left corner of both from the eye, mm."""
        if turn >= 90.0:
            own, web, x0, y0 = self.of(k, turn - 90.0)
            # A quarter turn to the left: columns become rows, and what was low comes to lie right.
            return own[::-1].T, web[::-1].T, -(y0 + own.shape[0] * self.cell), x0
        shape = turned_shape(polygon(self.designs[k].outline, 0.02), turn, np.zeros(2))
        grown = shape.buffer(_kept_clear(self.rules, self.cell))
        x0, y0, x1, y1 = grown.bounds
        wide, high = (int(np.ceil(v / self.cell)) + 1 for v in (x1 - x0, y1 - y0))
        return _met(shape, x0, y0, wide, high, self.cell), _met(grown, x0, y0, wide, high, self.cell), x0, y0

    def wave(self, k: int, turn: float, shape: tuple[int, int]) -> NDArray[np.complexfloating]:
        """Return the spectrum of a leaf's own cells, mirrored, on a plate of that shape; kept while there is room."""
        key = k, turn, shape
        if key not in self._waves:
            wave = _spectrum(self.of(k, turn)[0][::-1, ::-1], shape)
            if (len(self._waves) + 1) * wave.nbytes > _KEPT_WAVES:
                return wave
            self._waves[key] = wave
        return self._waves[key]

    def _no_fit(self, k: int, lying: float, coming: float) -> Cells:
        """Places where a leaf would strike one of the same design, from the corner of the one that lies."""
        if lying >= 90.0:
            # Both turned a quarter back strike at the same places, turned.
            return self.no_fit(k, lying - 90.0, (coming - 90.0) % 360.0)[::-1].T
        web, own = self.of(k, lying)[1], self.of(k, coming)[0]
        rows, columns = web.shape[0] + own.shape[0] - 1, web.shape[1] + own.shape[1] - 1
        shape = _fast((rows, columns))
        return np.asarray(
            _back(_spectrum(web, shape) * _spectrum(own[::-1, ::-1], shape), shape)[:rows, :columns] > 0.5
        )


def raster_plate(
    designs: Sequence[Design],
    counts: NDArray[np.int64],
    length: float,
    height: float,
    rules: Rules,
    cell: float,
    kept: Plate | None = None,
    masks: Masks | None = None,
    far: float = FAR,
) -> Plate:
    """Return one plate (length along x, height along y, mm) filled from `counts` leaves of each design.

    cell: size of the grid in mm. Larger leaves are set first; what does not fit is left out. kept: leaves that lie
    already and stay; then the gaps between them are filled. masks: of the same designs, rules and cell, to save time.
    far: 1 keeps each leaf's far side left, 0 its near side.
    """
    masks = masks or Masks(designs, rules, cell)
    grid = _Grid(length, height, rules, cell)
    if kept is not None:
        grid.take(kept, designs, rules)
    rows: list[tuple[int, float, float, float]] = []
    for k in np.argsort([-d.area for d in designs], kind="stable").tolist():
        if counts[k] > 0:
            rows += _set_design(grid, masks, k, int(counts[k]), far)
    table = np.array(rows, dtype=np.float64).reshape(-1, 4)
    plate = Plate(length, height, table[:, 0].astype(np.int64), table[:, 1], np.round(table[:, 2:], 4))
    return plate if kept is None else joined(kept, plate)


class _Grid:
    """Taken cells of a plate, with a taken border as wide as the web: a leaf's web may lie on it, a leaf may not."""

    def __init__(self, length: float, height: float, rules: Rules, cell: float) -> None:
        self.cell, self.border = cell, int(np.ceil(_kept_clear(rules, cell) / cell)) + 1
        self.origin = rules.margin - self.border * cell
        wide = max(int(np.floor((length - 2 * rules.margin) / cell)), 0)
        high = max(int(np.floor((height - 2 * rules.margin) / cell)), 0)
        self.taken: Cells = np.ones((high + 2 * self.border, wide + 2 * self.border), dtype=bool)
        self.taken[self.border : self.border + high, self.border : self.border + wide] = False

    def take(self, kept: Plate, designs: Sequence[Design], rules: Rules) -> None:
        """Mark the cells of leaves that lie already, with their webs."""
        for shape in placed_shapes(kept, designs):
            grown = shape.buffer(_kept_clear(rules, self.cell))
            x0, y0, x1, y1 = (np.asarray(grown.bounds) - self.origin) / self.cell
            row, column = max(int(y0), 0), max(int(x0), 0)
            high, wide = min(int(y1) + 1, self.taken.shape[0]) - row, min(int(x1) + 1, self.taken.shape[1]) - column
            left, low = self.origin + self.cell * column, self.origin + self.cell * row
            self.taken[row : row + high, column : column + wide] |= _met(grown, left, low, wide, high, self.cell)


def _kept_clear(rules: Rules, cell: float) -> float:
    return rules.web + _BESIDE[0] * cell + _BESIDE[1]


def _set_design(grid: _Grid, masks: Masks, k: int, count: int, far: float) -> list[tuple[int, float, float, float]]:
    """Set up to `count` leaves of one design; their numbers, turns and shifts."""
    maps = _open_places(grid, masks, k)
    first = dict.fromkeys(maps, 0)
    rows: list[tuple[int, float, float, float]] = []
    while len(rows) < count:
        spots = [s for turn in maps if (s := _spot(maps[turn], first, turn, far * masks.of(k, turn)[0].shape[1]))]
        if not spots:
            break
        _, row, column, turn = min(spots)
        _, web, x0, y0 = masks.of(k, turn)
        part = grid.taken[row : row + web.shape[0], column : column + web.shape[1]]
        part |= web[: part.shape[0], : part.shape[1]]
        _close_places(maps, masks, k, (turn, row, column))
        x, y = grid.origin + column * grid.cell - x0, grid.origin + row * grid.cell - y0
        rows.append((masks.designs[k].number, turn, x, y))
    return rows


def _open_places(grid: _Grid, masks: Masks, k: int) -> dict[float, Cells]:
    """By turn, the places (rows, columns) at which the lower left corner of a design's cells may lie."""
    shape = _fast(grid.taken.shape)
    spectrum = _spectrum(grid.taken, shape)
    maps = {}
    for turn in masks.turns:
        high, wide = masks.of(k, turn)[0].shape
        rows, columns = grid.taken.shape[0] - high + 1, grid.taken.shape[1] - wide + 1
        if rows > 0 and columns > 0:
            struck = _back(spectrum * masks.wave(k, turn, shape), shape)
            maps[turn] = struck[high - 1 :, wide - 1 :][:rows, :columns] < 0.5
    return maps


def _spot(places: Cells, first: dict[float, int], turn: float, wide: float) -> Spot | None:
    """The leftmost, then lowest place, with its score; columns found empty once are not looked at again."""
    open_columns = places[:, first[turn] :].any(axis=0)
    if not open_columns.any():
        return None
    column = first[turn] = first[turn] + int(np.argmax(open_columns))
    row = int(np.argmax(places[:, column]))
    return column + wide + _HIGH * row, row, column, turn


def _close_places(maps: dict[float, Cells], masks: Masks, k: int, lying: tuple[float, int, int]) -> None:
    turn, row, column = lying
    for coming, places in maps.items():
        patch = masks.no_fit(k, turn, coming)
        high, wide = masks.of(k, coming)[0].shape
        low, left = row - high + 1, column - wide + 1
        part = places[max(low, 0) : low + patch.shape[0], max(left, 0) : left + patch.shape[1]]
        window = patch[max(-low, 0) :, max(-left, 0) :][: part.shape[0], : part.shape[1]]
        part &= ~window


def _met(shape: shapely.Polygon, x0: float, y0: float, wide: int, high: int, cell: float) -> Cells:
    """Which cells of a grid (high, wide) with its corner at (x0, y0) a shape meets.

    Its edge is walked in tenths of a cell: a corner that is cut off by less than that may be missed (`_BESIDE`).
    """
    x, y = np.meshgrid(x0 + cell * (np.arange(wide) + 0.5), y0 + cell * (np.arange(high) + 0.5))
    shapely.prepare(shape)
    cells = np.asarray(shapely.contains_xy(shape, x, y))
    edge = shapely.get_coordinates(shapely.segmentize(shape.exterior, cell / 10))
    columns, rows = np.floor((edge - (x0, y0)) / cell).astype(np.int64).T
    within = (columns >= 0) & (columns < wide) & (rows >= 0) & (rows < high)
    cells[rows[within], columns[within]] = True
    return cells


def _fast(shape: tuple[int, ...]) -> tuple[int, int]:
    from scipy import fft

    rows, columns = (int(fft.next_fast_len(n, real=True)) for n in shape)
    return rows, columns


def _back(spectrum: NDArray[np.complexfloating], shape: tuple[int, int]) -> NDArray[np.floating]:
    from scipy import fft

    return np.asarray(fft.irfft2(spectrum, shape))


def _spectrum(cells: Cells, shape: tuple[int, int]) -> NDArray[np.complexfloating]:
    from scipy import fft

    return np.asarray(fft.rfft2(cells.astype(np.float32), shape))
