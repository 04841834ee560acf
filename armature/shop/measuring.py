"""What to measure on the way: distances between points that a tape can reach, before a joint is welded out.

Size letters: M members. Lengths are mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.tree import Floats, Tree, row_norms


@dataclass(frozen=True, eq=False)
class CheckDimensions:
    """For each member (M,) mm: its own chord from start to tip, tip to its parent's tip, tip to the tip fitted before.

    `before` (M,) is the row of that sibling, the one next lower on the same parent, -1 where there is none.
    """

    chords: Floats
    to_parent_tip: Floats
    to_sibling_tip: Floats
    before: np.ndarray[tuple[int], np.dtype[np.int64]]


def check_dimensions(tree: Tree) -> CheckDimensions:
    """Return the check dimensions of every member; those of the trunk to others are 0."""
    before = np.full(len(tree), -1, dtype=np.int64)
    order = np.lexsort((tree.stations, tree.parents))
    same = tree.parents[order[1:]] == tree.parents[order[:-1]]
    later = order[1:][same]
    before[later] = order[:-1][same]
    before[tree.parents < 0] = -1
    parents = np.maximum(tree.parents, 0)
    to_parent = np.where(tree.parents >= 0, row_norms(tree.tips - tree.tips[parents]), 0.0)
    to_sibling = np.where(before >= 0, row_norms(tree.tips - tree.tips[np.maximum(before, 0)]), 0.0)
    return CheckDimensions(row_norms(tree.tips - tree.starts), to_parent, to_sibling, before)
