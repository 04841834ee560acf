"""What a section feels while it hangs: forces in it from its own weight and the pulls of the slings.

Size letters: N slices of the section, H hooks. Lengths are mm, masses kg, forces N, moments N mm, stresses MPa.

A section is a tree of bars held by nothing but its slings, so that each place is cut through and all that lies beyond
it, toward the tips, has to balance: no matrix is needed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from armature.shop.slices import Slices
from armature.tree import Floats, Ints, Tree, locate, row_norms

G = 9.80665
# A lifted load starts and stops: counted twice. EN 13155 asks that attachments bear twice their load without a lasting
# bend (from memory).
DYNAMIC = 2.0
# Share of the yield stress that the doubled load may use: AISC 360-16 chapter F, phi 0.90.
_ALLOWED = 0.9


@dataclass(frozen=True, eq=False)
class Hanging:
    """One section's slices (N,) with the slice before each toward its splice, -1 for the first; tangents (N, 3).

    beyond_kg (N,) and beyond_kg_mm (N, 3): mass of a slice and of all beyond it, and mass times place. moduli,
    areas: (N,) section modulus mm3 and area mm2. limits: (N,) MPa allowed of a load counted once.
    """

    slices: Slices
    before: Ints
    tangents: Floats
    beyond_kg: Floats
    beyond_kg_mm: Floats
    moduli: Floats
    areas: Floats
    limits: Floats

    @property
    def mass(self) -> float:
        """Mass of the section, kg."""
        return float(self.slices.masses.sum())

    def turned(self, turn: Floats) -> Hanging:
        """Return the same section in turned axes: rows of `turn` (3, 3) are the new axes."""
        return replace(
            self,
            slices=replace(self.slices, points=self.slices.points @ turn.T),
            tangents=self.tangents @ turn.T,
            beyond_kg_mm=self.beyond_kg_mm @ turn.T,
        )

    def ways(self, rows: Ints) -> NDArray[np.bool_]:
        """Return which slices lie between each of the given slices (H,) and the splice, both included: (H, N)."""
        ways = np.zeros((len(rows), len(self.before)), dtype=bool)
        for number, row in enumerate(rows.tolist()):
            while row >= 0:
                ways[number, row] = True
                row = int(self.before[row])
        return ways

    def uses(self, ways: NDArray[np.bool_], points: Floats, pulls: Floats, down: Floats) -> Floats:
        """Return the share of what is allowed that each slice uses: (N,), over 1 too much; the load counted twice.

        ways: (H, N). points, pulls: (H, 3) where the slings pull and how, N. down: (3,) unit direction of gravity as
        seen by the section. Bending, twist and pull act together (von Mises).
        """
        own = self.slices.points
        weight = self.beyond_kg[:, None] * G * down
        centre = self.beyond_kg_mm / np.maximum(self.beyond_kg, 1e-12)[:, None]
        force = weight + ways.T.astype(np.float64) @ pulls
        moment = np.cross(centre - own, weight)
        for way, point, pull in zip(ways, points, pulls, strict=True):
            moment[way] += np.cross(point - own[way], pull)
        twist = np.einsum("ni,ni->n", moment, self.tangents)
        bending = row_norms(moment - twist[:, None] * self.tangents)
        pulled = np.abs(np.einsum("ni,ni->n", force, self.tangents))
        along = bending / self.moduli + pulled / self.areas
        return np.asarray(DYNAMIC * np.hypot(along, np.sqrt(3.0) * twist / (2.0 * self.moduli)) / self.limits)


def hanging(tree: Tree, slices: Slices, yields: Floats) -> Hanging:
    """Return a section ready to be hung. yields: (M,) MPa, yield stress of each member of the tree."""
    before = _before(tree, slices)
    mass, moment = slices.masses.copy(), slices.masses[:, None] * slices.points
    # Slices come in the order of rows and stations, parents first: backwards, all beyond a slice is summed before it.
    for row in range(len(before) - 1, 0, -1):
        if before[row] >= 0:
            mass[before[row]] += mass[row]
            moment[before[row]] += moment[row]
    d = 2.0 * slices.radii
    walls = tree.walls[slices.members]
    bores = np.where(walls > 0.0, np.maximum(d - 2.0 * walls, 0.0), 0.0)
    return Hanging(
        slices,
        before,
        locate(tree.chains, slices.members, slices.stations)[1],
        mass,
        moment,
        np.pi / 32.0 * (d**4 - bores**4) / d,
        np.pi / 4.0 * (d**2 - bores**2),
        _ALLOWED * yields[slices.members],
    )


def leg_pulls(points: Floats, apex: Floats, weight: float, centre: Floats) -> Floats:
    """Return the pull of each leg on its hook (H, 3) N, for up to three legs that meet at the apex above the centre.

    Solved from the balance of forces at the apex; of two legs and a centre a little aside, the nearest to it.
    """
    lines = apex - points
    units = lines / row_norms(lines)[:, None]
    sizes = np.linalg.lstsq(units.T, np.array([0.0, 0.0, weight]), rcond=None)[0]
    return np.asarray(units * sizes[:, None])


def _before(tree: Tree, slices: Slices) -> Ints:
    members = slices.members
    count = len(members)
    before = np.arange(-1, count - 1)
    firsts = np.flatnonzero(np.append(True, members[1:] != members[:-1]))
    ends = np.append(firsts[1:], count)
    runs = {int(members[first]): (int(first), int(end)) for first, end in zip(firsts, ends, strict=True)}
    for row, (first, _) in runs.items():
        parent = runs.get(int(tree.parents[row]))
        if parent is None:
            before[first] = -1
            continue
        place = int(np.searchsorted(slices.stations[parent[0] : parent[1]], tree.stations[row], side="right")) - 1
        before[first] = parent[0] + max(place, 0)
    return before
