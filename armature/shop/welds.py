"""How each member is welded on: the leg of its fillet, or a groove, and the metal that the weld lays down.

Size letters: M members. Lengths are mm, volumes mm3.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.metals import least_fillets
from armature.shop.bending import Paper
from armature.tree import Demands, Floats, Strings, Tree

# A leg this little under a size is that size: far below what a weld gauge shows.
_GAUGE = 0.05


@dataclass(frozen=True, eq=False)
class Welds:
    """The welds of M members: legs (M,) mm of fillet and grooves (M,) bool, neither where the joint is no weld.

    metal: (M,) mm3 laid down. known: whether the strength report sized them; else they are the least of the table.
    """

    legs: Floats
    grooves: NDArray[np.bool_]
    metal: Floats
    known: bool

    @property
    def are_fillets(self) -> NDArray[np.bool_]:
        """Where the joint is a fillet: (M,)."""
        return self.legs > 0.0


def welds(tree: Tree, kinds: Strings, paper: Paper, asked: Demands | None = None) -> Welds:
    """Return the welds as they are printed: each leg the least of the table or what strength needs, whichever is more.

    kinds: (M,) how each member is joined; the trunk's "base" is welded to its plate, as far as strength knows it.
    asked: what the strength report asks. Legs are rounded up
    to the shop's next size, 1/16 in or half a mm. The least is capped at half the bar, or at the wall of a pipe: more
    leg than that adds nothing.
    """
    thickness = np.where(tree.walls > 0.0, tree.walls, tree.start_diameters)
    least = np.minimum(least_fillets(thickness), np.where(tree.walls > 0.0, tree.walls, tree.start_diameters / 2.0))
    welded = (kinds == "weld") | ((kinds == "base") & (asked is not None))
    grooves = np.zeros(len(tree), dtype=bool) if asked is None else asked.grooves & welded
    wanted = least if asked is None else np.maximum(least, asked.legs)
    legs = np.where(welded & ~grooves, upward(wanted, fillet_step(paper)), 0.0)
    return Welds(legs, grooves, weld_metal(tree, legs, grooves), asked is not None)


def fillet_step(paper: Paper) -> float:
    """Return the step in which the shop sizes fillets, mm: 1/16 in, or half a millimetre."""
    return paper.length_mm if paper.unit == "inch" else 0.5


def upward(legs: Floats, step: float) -> Floats:
    """Return legs (M,) mm rounded up to whole steps.

    >>> upward(np.array([3.2, 4.7625, 5.0]), 1.5875).round(4).tolist()
    [3.175, 4.7625, 6.35]
    """
    return np.asarray(np.ceil((legs - _GAUGE) / step - 1e-9) * step)


def weld_metal(tree: Tree, legs: Floats, grooves: NDArray[np.bool_]) -> Floats:
    """Return the weld metal of each joint: (M,) mm3, crown and loss left out.

    A fillet is its triangle turned round the bar (Pappus). A bar that is grooved is ground to a point of 45 degrees, so
    that the groove is half its diameter deep and holds the cylinder less its cone, pi d^3 / 12; a pipe is bevelled by
    45 degrees through its wall. A leaning foot is longer than the circle, which is left out.
    """
    d, wall = tree.start_diameters, tree.walls
    fillets = np.pi * (d + 2.0 * legs / 3.0) * legs**2 / 2.0
    bevels = np.pi * (d - 2.0 * wall / 3.0) * wall**2 / 2.0
    return np.where(grooves, np.where(wall > 0.0, bevels, np.pi * d**3 / 12.0), fillets)
