"""What strength asks of the shop: one record, made by the one and read by the other.

Size letters: M members, Q places that strength looked at. Lengths are mm, moments N mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.tree.centreline import Floats, Ints

# What a stick leaves open at the heel of a groove welded from its toe, mm: AWS D1.1 table 2.2, from memory, 1/4 in at a
# heel of 30 to 45 deg. Under 30 deg the table is silent, so that a trial piece has to show it.
HEEL_LOSS = 6.0


@dataclass(frozen=True)
class Rods:
    """The anchors of the base plate: so many rods of a diameter on a circle, and the square plate that holds them."""

    count: int
    diameter_mm: float
    circle_mm: float
    plate_side_mm: float
    plate_thickness_mm: float


@dataclass(frozen=True, eq=False)
class Demands:
    """What strength asks of the shop.

    legs: (M,) mm of fillet. grooves: (M,) whether the weld has to be as strong as the bar. sways: (M,) mm, how far wind
    moves each tip against its own foot. rows (Q,), stations (Q,) mm and moments (Q,) N mm: the largest bending there.
    rods: anchors and base plate, None where strength did not look at them. heel_uses: (M,) how far each foot is used
    where it is welded through from its toe and its heel stays open, over 1 not enough; None where that was not asked.
    """

    legs: Floats
    grooves: NDArray[np.bool_]
    sways: Floats
    rows: Ints
    stations: Floats
    moments: Floats
    rods: Rods | None = None
    heel_uses: Floats | None = None
