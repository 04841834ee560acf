"""Whether swinging rods meet bars, exactly and for all poses at once: the one costly sum of the room to swing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
Singles = NDArray[np.float32]
# Rows of a block: its arrays stay in the processor's cache.
_BLOCK = 512


def rods_met(
    offsets: Floats, lengths: Floats, gaps: Floats, axes: Floats, runs: Floats, ways: Floats, firsts: Floats
) -> Bools:
    """Return in which of P ways each of N rods comes nearer than its gap to the bar beside it: (N, P).

    offsets: (N, 3) mm, eye less the start of the bar. lengths: (N,) mm of the rods; what lies within `firsts` (N,) mm
    of the eye does not count. gaps: (N,) mm. axes: (N, 3) unit, runs: (N,) mm, the bars. ways: (P, 3) unit, eye to
    apex. Single precision from the eye out: good to some 1e-3 mm.

    Nearest points of two segments: Ericson, Real-Time Collision Detection, 2005, section 5.1.9 (from memory).

    >>> one = np.ones(1)
    >>> rods_met(np.array([[0.0, 9, 0]]), 50 * one, 10 * one, np.array([[1.0, 0, 0]]), one, -np.eye(3)[2:], 0 * one)
    array([[ True]])
    """
    met = np.empty((len(offsets), len(ways)), dtype=bool)
    turned = np.asarray(ways.T, dtype=np.float32)
    bars = np.asarray(axes, dtype=np.float32)
    across = np.asarray(offsets, dtype=np.float32)
    spare = np.sum(offsets**2, axis=1) - gaps**2
    onto = np.sum(offsets * axes, axis=1)
    columns = [np.asarray(v, dtype=np.float32)[:, None] for v in (lengths, firsts, runs, onto, spare)]
    for start in range(0, len(met), _BLOCK):
        part = slice(start, start + _BLOCK)
        met[part] = _block(across[part], bars[part], turned, [column[part] for column in columns])
    return met


def _block(across: Singles, bars: Singles, turned: Singles, columns: list[Singles]) -> Bools:
    """rods_met of one block. With s along the rod and t along the bar, squared distance less squared gap is
    spare + s (s + 2 out) + t (t - 2 onto) - 2 s t lean."""
    most, least, run, onto, spare = columns
    out, lean = _along(across, turned), _along(bars, turned)
    flat = np.maximum(np.float32(1.0) - lean * lean, np.float32(1e-6))
    s = np.clip((lean * onto - out) / flat, least, most)
    t = np.clip(lean * s + onto, np.float32(0.0), run)
    best = lean * t - out
    s = np.clip(best, least, most)
    best *= np.float32(-2.0)
    best += s
    best *= s
    best += t * (t - np.float32(2.0) * onto)
    return np.asarray(best + spare < 0.0)


def _along(vectors: Singles, turned: Singles) -> Singles:
    # Term by term, not as a matrix product: the same sum to the last bit on every machine and for every block.
    along = vectors[:, :1] * turned[0]
    along += vectors[:, 1:2] * turned[1]
    along += vectors[:, 2:] * turned[2]
    return np.asarray(along)


def outside_swing(offsets: Floats, lengths: Floats, swing_deg: float) -> Floats:
    """Return how far points lie outside all that a rod of that length sweeps as it swings: (N,) mm, 0 inside.

    offsets: (N, 3) mm from the eye to the points. The rod sweeps a sector of a ball about the plumb line.

    >>> outside_swing(np.array([[0.0, 0.0, -60.0], [0.0, 0.0, 7.0]]), np.array([50.0, 50.0]), 30.0).tolist()
    [10.0, 7.0]
    """
    angle = np.deg2rad(swing_deg)
    side, down = np.hypot(offsets[:, 0], offsets[:, 1]), -offsets[:, 2]
    off = side * np.cos(angle) - down * np.sin(angle)
    along = side * np.sin(angle) + down * np.cos(angle)
    beside = np.hypot(np.maximum(off, 0.0), np.maximum(np.maximum(along - lengths, -along), 0.0))
    return np.where(off > 0.0, beside, np.maximum(np.hypot(side, down) - lengths, 0.0))


def poses_joined(struck: Bools, rows: Ints, met: Bools) -> None:
    """Add to `struck` (L, P) what N rods have met, (N, P), each under its row."""
    some = np.flatnonzero(met.any(axis=1))
    if len(some):
        some = some[np.argsort(rows[some], kind="stable")]
        firsts = np.flatnonzero(np.diff(rows[some], prepend=-1))
        struck[rows[some[firsts]]] |= np.logical_or.reduceat(met[some], firsts, axis=0)
