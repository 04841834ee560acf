"""A tree as short slices of bar with their masses, for boxes, balances and lifts.

Size letters: M members, N slices, R places. Lengths are mm, masses kg.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.metals import BasePlate
from armature.tree import Floats, Ints, Tree, locate, sampled


@dataclass(frozen=True, eq=False)
class Slices:
    """N slices: members (N,), stations of their middles (N,) mm, points (N, 3) mm, radii, lengths (N,) mm, masses (N,)
    kg."""

    members: Ints
    stations: Floats
    points: Floats
    radii: Floats
    masses: Floats
    lengths: Floats

    def taken(self, rows: Ints) -> Slices:
        """Return the slices of the given rows."""
        return Slices(
            *(getattr(self, name)[rows] for name in ("members", "stations", "points", "radii", "masses", "lengths"))
        )

    @property
    def centre(self) -> Floats:
        """Centre of gravity: (3,) mm."""
        return np.asarray(self.masses @ self.points / max(float(self.masses.sum()), 1e-12))


def sliced(tree: Tree, density_kg_m3: float, step: float = 50.0, chord_error: float = 0.5) -> Slices:
    """Return slices of at most `step` mm that leave no arc by more than `chord_error` mm.

    Each weighs what its frustum, or its ring of pipe, weighs.
    """
    line = sampled(tree.chains, chord_error, step)
    owners = tree.chains.members[line.straights]
    inner = np.flatnonzero((owners[1:] == owners[:-1]) & (np.diff(line.stations) > 1e-9))
    rows, low, high = owners[inner], line.stations[inner], line.stations[inner + 1]
    d0, d1 = tree.diameters_at(rows, low), tree.diameters_at(rows, high)
    area = np.pi / 12.0 * (d0**2 + d0 * d1 + d1**2)
    wall = tree.walls[rows]
    b0, b1 = np.maximum(d0 - 2.0 * wall, 0.0), np.maximum(d1 - 2.0 * wall, 0.0)
    bore = np.where(wall > 0.0, np.pi / 12.0 * (b0**2 + b0 * b1 + b1**2), 0.0)
    masses = (area - bore) * (high - low) * density_kg_m3 * 1e-9
    # The thicker end of a frustum is the heavier: its centre lies a little before the middle.
    lean = (d0**2 + 2.0 * d0 * d1 + 3.0 * d1**2) / (4.0 * (d0**2 + d0 * d1 + d1**2))
    points = line.points[inner] + lean[:, None] * (line.points[inner + 1] - line.points[inner])
    return Slices(rows, (low + high) / 2.0, points, np.maximum(d0, d1) / 2.0, masses, high - low)


def with_plate(slices: Slices, plate: BasePlate | None, density_kg_m3: float) -> Slices:
    """Return slices with the base plate as four more at the trunk's foot, a quarter of it each at its corners.

    They are no thinner than the trunk, so that nothing is taken to break there.
    """
    if plate is None or plate.thickness_mm <= 0.0 or not len(slices.members):
        return slices
    radius, half = float(slices.radii[0]), plate.side_mm / 2.0
    reach = max(half - radius, half / 2.0)
    corners = reach * np.array([[1.0, 1.0, 0.0], [-1.0, 1.0, 0.0], [-1.0, -1.0, 0.0], [1.0, -1.0, 0.0]])
    corners[:, 2] = -plate.thickness_mm / 2.0
    mass = plate.side_mm**2 * plate.thickness_mm * density_kg_m3 * 1e-9
    four, none = np.ones(4), np.zeros(4)
    added = (np.zeros(4, dtype=np.int64), none, corners, radius * four, mass / 4.0 * four, none)
    names = ("members", "stations", "points", "radii", "masses", "lengths")
    return Slices(*(np.concatenate([new, getattr(slices, name)]) for new, name in zip(added, names, strict=True)))


class DeadStress:
    """Bending stress from own weight anywhere in a tree, MPa, leaves left out: call it with a row and a station in mm.

    The moment is the weight of all that is carried beyond the place times its lever from there, over the section
    modulus of the bar.
    """

    def __init__(self, tree: Tree, slices: Slices) -> None:
        self._tree, self._slices = tree, slices
        moments = slices.masses[:, None] * slices.points[:, :2]
        sums = [slices.masses, moments[:, 0], moments[:, 1]]
        self._own = np.stack(sums, axis=1)
        self._carried = np.stack(
            [
                tree.summed_to_root(np.bincount(slices.members, weights=each, minlength=len(tree)).astype(np.float64))
                for each in sums
            ],
            axis=1,
        )

    def __call__(self, row: int, station: float) -> float:
        """Return the stress at a station of a row."""
        tree, slices = self._tree, self._slices
        own = (slices.members == row) & (slices.stations >= station)
        beyond = (tree.parents == row) & (tree.stations >= station)
        mass, x, y = self._own[own].sum(axis=0) + self._carried[beyond].sum(axis=0)
        point = locate(tree.chains, [row], [station])[0][0]
        moment = float(np.hypot(x - mass * point[0], y - mass * point[1])) * 9.80665
        d = float(tree.diameters_at([row], [station])[0])
        bore = max(d - 2.0 * float(tree.walls[row]), 0.0) if tree.walls[row] else 0.0
        return moment / (np.pi / 32.0 * (d**4 - bore**4) / d)
