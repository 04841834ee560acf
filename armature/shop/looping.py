"""The loops of the leaves as the shop makes them: wire, and where round its twig each one goes.

Size letters: M members, L leaves. Lengths are mm, angles degrees.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.tree import Floats, Ints, Joints, Tree, chalk_lines, dot, parent_frames


@dataclass(frozen=True, eq=False)
class Loops:
    """L loops: clocks (L,) deg from the twig's chalk line to its underside as it hangs in the tree.

    wire_mm and inside_mm: wire and inside diameter of every loop. isolation: what keeps it from the leaf, "bush",
    "sleeve", "ring" or "none". order (L,): leaves twig by twig from the start; firsts (M + 1,): where each twig's are.
    """

    clocks: Floats
    wire_mm: float
    inside_mm: float
    isolation: str
    order: Ints
    firsts: Ints

    def on(self, row: int) -> Ints:
        """Return the leaves of a member in order from its start."""
        return self.order[self.firsts[row] : self.firsts[row + 1]]


def loops(tree: Tree, listed: Joints, wire_mm: float, inside_mm: float, isolation: str) -> Loops:
    """Return the loops of a tree; `listed` are its joints."""
    order = np.lexsort((tree.leaves.stations, tree.leaves.twigs))
    firsts = np.searchsorted(tree.leaves.twigs[order], np.arange(len(tree) + 1))
    return Loops(loop_clocks(tree, listed), wire_mm, inside_mm, isolation, order, firsts)


def loop_clocks(tree: Tree, listed: Joints) -> Floats:
    """Return the way round its twig in which each loop goes, from the chalk line: (L,) deg within +-180.

    Loops sit on the underside, square to the twig. On a twig that stands plumb there is none: +x is taken.
    """
    lines = chalk_lines(tree.chains, listed.chalks)
    _, t, c = parent_frames(tree.chains, lines, tree.leaves.twigs, tree.leaves.stations)
    down = np.array([0.0, 0.0, -1.0]) + t * t[:, 2:]
    steep = np.sqrt(np.maximum(1.0 - t[:, 2:] ** 2, 0.0))
    below = np.where(steep > 1e-6, down, [1.0, 0.0, 0.0])
    return np.degrees(np.arctan2(dot(np.cross(t, c), below), dot(c, below)))
