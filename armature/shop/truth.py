"""How true a tree comes out: what rounding on paper and the errors of a real anvil do to its tips.

Size letters: M members. Lengths are mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from armature.shop.anvil import Strays, strays
from armature.tree import Floats, Tree

if TYPE_CHECKING:
    from armature.commission import Anvil


@dataclass(frozen=True, eq=False)
class Truth:
    """How far tips stray, (M,) mm: by rounding on paper; over copies, half and 95 of 100, by numbers and fitted."""

    paper: Floats
    half: Floats
    most: Floats
    fitted_half: Floats
    fitted_most: Floats
    copies: int


def simulated(tree: Tree, anvil: Anvil, seed: int, paper: Floats) -> tuple[Truth, Strays | None]:
    """Return how far tips stray, and where they land when members are fitted, None where nothing is simulated.

    paper: (M,) mm, how far rounding on paper alone moves each tip.
    """
    if not anvil.copies:
        none = np.zeros(len(tree))
        return Truth(paper, none, none, none, none, 0), None
    by_numbers, fitted = strays(tree, anvil, seed), strays(tree, anvil, seed, fitted=True)
    half, most = by_numbers.within(0.5), by_numbers.within(0.95)
    return Truth(paper, half, most, fitted.within(0.5), fitted.within(0.95), anvil.copies), fitted
