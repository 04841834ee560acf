"""A bent bar as offsets from a straight line, for those who bend by eye to a chalk drawing on the floor.

The base line runs from the start of the member to its tip. `rise` is measured square to it in the floor drawing,
the plane through the base line in which the member strays furthest; `lift` is measured up from the floor.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.centreline import Chains, Floats, locate, row_norms, sampled


@dataclass(frozen=True, eq=False)
class Offsets:
    """K stations: alongs, rises, lifts (K,) mm; `base_mm` the length of the base line, `frame` its axes (3, 3)."""

    alongs: Floats
    rises: Floats
    lifts: Floats
    base_mm: float
    frame: Floats


def floor_frame(chains: Chains, row: int) -> tuple[Floats, Floats]:
    """Return the start point (3,) mm and the axes (3, 3) of a member's floor drawing: base line, rise, lift.

    A straight member has no plane of its own; it gets any square to its line.
    """
    points = sampled(chains.taken([row]), 0.2).points
    start, chord = points[0], points[-1] - points[0]
    base = chord / max(float(np.linalg.norm(chord)), 1e-9)
    off = points - start - np.outer((points - start) @ base, base)
    far = int(np.argmax(np.round(row_norms(off), 6)))
    if row_norms(off)[far] < 1e-6:
        spare = np.eye(3)[int(np.argmin(np.abs(base)))]
        rise = spare - (spare @ base) * base
    else:
        # The principal direction of the offsets, signed so that the furthest point rises.
        _, _, axes = np.linalg.svd(off, full_matrices=False)
        rise = axes[0] - (axes[0] @ base) * base
        rise *= np.sign(off[far] @ rise) or 1.0
    rise = rise / np.linalg.norm(rise)
    return start, np.stack([base, rise, np.cross(base, rise)])


def floor_offsets(chains: Chains, row: int, spacing: float) -> Offsets:
    """Return offsets of the centreline at about every `spacing` mm of its length, ends included.

    >>> from armature.centreline import chain
    >>> quarter = chain([[0, 0, 0], [100, 0, 0], [100, 100, 0]], [0, 100, 0])
    >>> found = floor_offsets(quarter, 0, 80.0)
    >>> round(found.base_mm, 2), found.rises.round(2).tolist()
    (141.42, [0.0, 29.29, 0.0])
    """
    length = float(chains.lengths[row])
    count = max(round(length / spacing), 2)
    stations = np.linspace(0.0, length, count + 1)
    points, _, _ = locate(chains, np.full(count + 1, row), stations)
    start, frame = floor_frame(chains, row)
    local = (points - start) @ frame.T
    local = np.where(np.abs(local) < 1e-9, 0.0, local)
    return Offsets(local[:, 0], local[:, 1], local[:, 2], float(local[-1, 0]), frame)
