"""Leaves that are cut, graded or stamped keep their design, whatever else a new plan exchanges."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from armature.leaves.hanging.hang import Hung
from armature.leaves.hanging.meeting import Bools, Ints
from armature.tree import Leaves, Tree


def hung_as_cut(hung: Hung, cut: Mapping[str, int], hang: Callable[[Tree, Bools], Hung]) -> Hung:
    """Return the leaves hung with designs that are cut already on the tags that they were cut for.

    hung: leaves hung as if none was cut. cut: design number by tag. hang: hangs a tree's leaves, some of them locked.
    Where nothing has changed since they were cut, that is `hung` itself, so that a second run moves no loop.
    """
    before = hung.tree.leaves
    leaves, locked = designs_given_back(before, cut)
    if (leaves.designs == before.designs).all():
        return hung
    again = hang(hung.tree.hung(leaves), locked)
    return replace(again, moved=again.moved + hung.moved)


def designs_given_back(leaves: Leaves, cut: Mapping[str, int]) -> tuple[Leaves, Bools]:
    """Return the leaves with each design that is cut on its own tag, and which leaves are so locked: (L,).

    A leaf that gives its design back takes the other's for it, so as many of each are left as there were, as far as
    leaves not locked hold them. Tags that hang no more and designs that none has now are passed over.
    """
    numbers = frozenset(leaves.designs.tolist())
    due = {row: cut[tag] for row, tag in enumerate(leaves.tags.tolist()) if cut.get(tag) in numbers}
    locked = np.zeros(len(leaves), dtype=bool)
    locked[list(due)] = True
    designs = leaves.designs.copy()
    for row, design in due.items():
        if designs[row] != design:
            giver = _giver(designs, design, due, locked)
            if giver >= 0:
                designs[giver] = designs[row]
            designs[row] = design
    return replace(leaves, designs=designs), locked


def _giver(designs: Ints, design: int, due: Mapping[int, int], locked: Bools) -> int:
    """Row of a leaf that holds a design and is not due to: locked ones first, which need another; -1 for none."""
    holders = np.flatnonzero(designs == design).tolist()
    strangers = [row for row in holders if due.get(row, 0) != design]
    return min(strangers, key=lambda row: (not locked[row], row), default=-1)
