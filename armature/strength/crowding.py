"""Which members come too near to each other once they are thicker: clearance measured again, skin to skin."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.tree import Capsules, Index, Ints, Tree, capsules, gaps

_STEP_MM, _CHORD_MM = 40.0, 0.2


@dataclass(frozen=True)
class Crowded:
    """Two members nearer than the clearance, mm skin to skin, negative where they run into each other."""

    first: str
    second: str
    gap_mm: float


def crowded(before: Tree, after: Tree, clearance: float) -> tuple[Crowded, ...]:
    """Return the pairs that are nearer than `clearance` mm after a change and were not, or not as near, before it.

    Where a child sits on its parent, and where two children sit side by side, nearness is no fault.
    """
    old = _near(before, clearance)
    new = {pair: gap for pair, gap in _near(after, clearance).items() if gap < old.get(pair, np.inf) - 1e-3}
    tags = after.tags
    crowds = [Crowded(str(tags[one]), str(tags[other]), gap) for (one, other), gap in new.items()]
    return tuple(sorted(crowds, key=lambda pair: (pair.gap_mm, pair.first, pair.second)))


def _near(tree: Tree, clearance: float) -> dict[tuple[int, int], float]:
    """Return the least gap, mm, of each pair of member rows nearer than the clearance."""
    pieces = capsules(tree, _STEP_MM, _CHORD_MM)
    index = Index(pieces)
    left, right = index.near(index, clearance, same=True)
    apart = ~_by_joint(tree, pieces, left, right)
    left, right = left[apart], right[apart]
    # The pieces hold the chord error in their radii: it is given back here.
    gap = gaps(pieces, left, pieces, right) + 2.0 * _CHORD_MM
    pairs = np.sort(np.stack([pieces.members[left], pieces.members[right]], axis=1), axis=1)
    least: dict[tuple[int, int], float] = {}
    for (one, other), each in zip(pairs.tolist(), gap.tolist(), strict=True):
        if each < clearance:
            least[one, other] = min(each, least.get((one, other), np.inf))
    return least


def _by_joint(tree: Tree, pieces: Capsules, left: Ints, right: Ints) -> NDArray[np.bool_]:
    """Return whether pairs of pieces lie by a joint that both share: (Q,)."""
    one, other = pieces.members[left], pieces.members[right]
    room = 3.0 * (pieces.radii[left] + pieces.radii[right]) + _STEP_MM
    first, second = pieces.stations[left] < room, pieces.stations[right] < room
    child = ((tree.parents[one] == other) & first) | ((tree.parents[other] == one) & second)
    return np.asarray(child | ((tree.parents[one] == tree.parents[other]) & first & second))
