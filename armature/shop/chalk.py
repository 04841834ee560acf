"""Bent bars as they lie on the floor, and as offsets from a straight line for those who bend by eye to a chalk drawing.

The base line runs from the start of a member to its tip. `rise` is measured square to it in the floor drawing, the
plane through the base line in which the member strays furthest; `lift` is measured up from the floor.
Size letters: M members, N points of all their lines.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.tree import Chains, Floats, Ints, locate, row_norms, sampled

_CHORD, _STEP = 0.1, 60.0


@dataclass(frozen=True, eq=False)
class Floor:
    """M members on the floor, ragged: offsets (M + 1,), stations (N,) mm, points (N, 3) mm along, rise and lift.

    starts (M, 3) mm and frames (M, 3, 3), rows base line, rise, lift, say where each lies in the tree.
    """

    offsets: Ints
    stations: Floats
    points: Floats
    starts: Floats
    frames: Floats

    def line(self, row: int) -> tuple[Floats, Floats]:
        """Return the stations (K,) and the points (K, 3) of one member."""
        own = slice(int(self.offsets[row]), int(self.offsets[row + 1]))
        return self.stations[own], self.points[own]


@dataclass(frozen=True, eq=False)
class Offsets:
    """K stations: alongs, rises, lifts (K,) mm; `base_mm` the length of the base line, `frame` its axes (3, 3)."""

    alongs: Floats
    rises: Floats
    lifts: Floats
    base_mm: float
    frame: Floats


def on_floor(chains: Chains) -> Floor:
    """Return all members laid on the floor; a straight one, which has no plane of its own, any way up."""
    line = sampled(chains, _CHORD, _STEP)
    starts = line.points[line.offsets[:-1]]
    points = np.empty_like(line.points)
    frames = np.empty((len(starts), 3, 3))
    for row, (first, last) in enumerate(zip(line.offsets[:-1].tolist(), line.offsets[1:].tolist(), strict=True)):
        frames[row] = _frame(line.points[first:last])
        points[first:last] = (line.points[first:last] - starts[row]) @ frames[row].T
    return Floor(line.offsets, line.stations, points, starts, frames)


def floor_offsets(chains: Chains, row: int, spacing: float, floor: Floor | None = None) -> Offsets:
    """Return offsets of the centreline at about every `spacing` mm of its length, ends included.

    floor: all members of `chains` on the floor, where they are laid already.

    >>> from armature.tree import chain
    >>> quarter = chain([[0, 0, 0], [100, 0, 0], [100, 100, 0]], [0, 100, 0])
    >>> found = floor_offsets(quarter, 0, 80.0)
    >>> round(found.base_mm, 2), found.rises.round(2).tolist()
    (141.42, [0.0, 29.29, 0.0])
    """
    laid = on_floor(chains) if floor is None else floor
    length = float(chains.lengths[row])
    count = max(round(length / spacing), 2)
    stations = np.linspace(0.0, length, count + 1)
    points, _, _ = locate(chains, np.full(count + 1, row), stations)
    local = (points - laid.starts[row]) @ laid.frames[row].T
    local = np.where(np.abs(local) < 1e-9, 0.0, local)
    return Offsets(local[:, 0], local[:, 1], local[:, 2], float(local[-1, 0]), laid.frames[row])


def _frame(points: Floats) -> Floats:
    """Return the axes of the floor drawing of a line (K, 3): base line, rise, lift as rows (3, 3)."""
    chord = points[-1] - points[0]
    base = chord / max(float(np.linalg.norm(chord)), 1e-9)
    off = points - points[0]
    off = off - np.outer(off @ base, base)
    far = int(np.argmax(np.round(row_norms(off), 6)))
    if row_norms(off)[far] < 1e-6:
        spare = np.eye(3)[int(np.argmin(np.abs(base)))]
        rise = spare - (spare @ base) * base
    else:
        # The principal direction of the offsets, signed so that the furthest point rises.
        _, axes = np.linalg.eigh(off.T @ off)
        rise = axes[:, -1] - (axes[:, -1] @ base) * base
        rise *= np.sign(off[far] @ rise) or 1.0
    rise = rise / np.linalg.norm(rise)
    return np.stack([base, rise, np.cross(base, rise)])
