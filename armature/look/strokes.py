"""Straight strokes painted onto a square raster by points along and across them, closer than a pixel.

Size letters: P points of the polylines, S strokes. A pixel is told as row * side + column.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from armature.tree import Floats, Ints

# Points set at once, for memory.
POINTS = 1_000_000
# Strokes are cut to so many points: all are then painted in as many steps, each one place further on all of them.
_STEPS = 64


def painted(flat: Floats, half_widths: Floats, heads: Ints, side: int) -> NDArray[np.bool_]:
    """Return which pixels of a raster lie under the strokes from points (P, 2) px at `heads` (S,) to the next:
    (side * side,).

    half_widths: (P,) px; each stroke is painted as wide as in its middle. A line is painted even where it is thinner
    than a pixel.
    """
    raster = np.zeros(side * side, dtype=bool)
    for part in blocks(flat, half_widths, heads):
        paint(raster, flat, half_widths, part, side)
    return raster


def blocks(flat: Floats, half_widths: Floats, heads: Ints) -> list[Ints]:
    """Return the strokes in parts, of which each is painted with a bounded number of points."""
    totals = np.cumsum(points_of(flat, half_widths, heads))
    return np.array_split(heads, np.searchsorted(totals, np.arange(POINTS, totals[-1], POINTS))) if len(heads) else []


def points_of(flat: Floats, half_widths: Floats, heads: Ints) -> Ints:
    """Return how many points are set for each stroke: (S,)."""
    along, lanes = _touches(flat, half_widths, heads)
    return np.asarray(along * lanes.astype(np.int64))


def _touches(flat: Floats, half_widths: Floats, heads: Ints) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Return how many points are set along each stroke, and in how many lanes."""
    step = flat[heads + 1] - flat[heads]
    along = np.ceil(np.hypot(step[:, 0], step[:, 1]) / 0.75).astype(np.int32) + 1
    wide = half_widths[heads] + half_widths[heads + 1]
    return along, np.where(wide > 1.0, np.ceil(wide / 0.75), 1.0).astype(np.int32)


def paint(raster: NDArray[np.bool_], flat: Floats, half_widths: Floats, heads: Ints, side: int) -> None:
    """Set the pixels of a raster (side * side,) that lie under strokes, as `painted` has them."""
    step = flat[heads + 1] - flat[heads]
    long = np.hypot(step[:, 0], step[:, 1])
    along, lanes = _touches(flat, half_widths, heads)
    wide = half_widths[heads] + half_widths[heads + 1]
    stride = step / np.maximum(along - 1, 1)[:, None]
    beside = np.stack([-step[:, 1], step[:, 0]], axis=1) * (wide / lanes / np.maximum(long, 1e-9))[:, None]
    start = flat[heads] - beside * (lanes[:, None] - 1.0) / 2.0
    own = np.concatenate([start, stride, beside], axis=1).astype(np.float32)
    # One row for every lane of a stroke and every length of `_STEPS` points on it, the longest first.
    at, lane = _counted(lanes)
    pieces = -(-along[at] // _STEPS)
    again, piece = _counted(pieces)
    at, lane, first = at[again], lane[again], piece * _STEPS
    left = np.minimum(along[at] - first, _STEPS)
    order = np.argsort(-left, kind="stable")
    at, lane, first, left = at[order], lane[order], first[order].astype(np.float64), left[order]
    starts, strides = own[at, :2].T.astype(np.float64), own[at, 2:4].T.astype(np.float64)
    shifts = lane * own[at, 4:].T.astype(np.float64)
    counts = np.searchsorted(-left, -np.arange(1, _STEPS + 1), side="right")
    for number, count in enumerate(counts[counts > 0].tolist()):
        place = first[:count] + number
        column, row = ((starts[:, :count] + place * strides[:, :count]) + shifts[:, :count]).astype(np.int32)
        inside = (column >= 0) & (column < side) & (row >= 0) & (row < side)
        if not inside.all():
            column, row = column[inside], row[inside]
        raster[row * side + column] = True


def _counted(counts: NDArray[np.int32]) -> tuple[Ints, Ints]:
    """Return, for each of `counts` (K,) things of a row, the row and its number in the row: two (sum,)."""
    rows = np.repeat(np.arange(len(counts)), counts)
    return rows, np.arange(len(rows)) - np.repeat(np.cumsum(counts) - counts, counts)
