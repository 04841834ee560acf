"""Zones of a scaffold: in which part of the crown, and in which order, leaves are hung."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.edge import System, format_length
from armature.tree import Tree

# Height of a lift of scaffold, mm: what a person reaches from one platform. Common practice, no source.
LIFT = 2000.0
_SIDES = ("north", "east", "south", "west")


@dataclass(frozen=True)
class Lift:
    """A zone: its number in order of hanging, its side, heights of its foot and top in mm, and the rows of its
    leaves in order of hanging."""

    number: int
    side: str
    low: float
    high: float
    rows: tuple[int, ...]

    def words(self, units: System) -> str:
        """Return where the zone is."""
        low, high = (format_length(mm, units, feet=True) for mm in (self.low, self.high))
        return f"{self.side}, {low} to {high} above ground"


def lifts(tree: Tree, eyes: NDArray[np.float64], high: float = LIFT) -> list[Lift]:
    """Return the zones that hold leaves, from the top down and around, each twig whole in one zone.

    eyes: (L, 3) mm. x is taken as east, y as north. Within a zone twigs come branch by branch, leaves from foot to tip.
    """
    leaves = tree.leaves
    if len(leaves) == 0:
        return []
    twigs = np.unique(leaves.twigs)
    middles = np.stack([eyes[leaves.twigs == twig].mean(axis=0) for twig in twigs])
    level = np.floor(middles[:, 2] / high).astype(int)
    side = np.round(np.rad2deg(np.arctan2(middles[:, 0], middles[:, 1])) / 90.0).astype(int) % 4
    zones: list[Lift] = []
    for band, quarter in sorted({(-int(a), int(b)) for a, b in zip(level, side, strict=True)}):
        inside = twigs[(level == -band) & (side == quarter)]
        order = sorted(inside.tolist(), key=lambda t: _by_number(str(tree.tags[t])))
        rows = [
            k
            for t in order
            for k in sorted(np.flatnonzero(leaves.twigs == t).tolist(), key=lambda k: leaves.stations[k])
        ]
        zones.append(Lift(len(zones) + 1, _SIDES[quarter], -band * high, (1 - band) * high, tuple(rows)))
    return zones


def _by_number(tag: str) -> list[tuple[int, str]]:
    """The parts of a tag, so that A07-2 comes before A07-10."""
    return [(int(part) if part.isdecimal() else 0, part) for part in re.split(r"(\d+)", tag)]
