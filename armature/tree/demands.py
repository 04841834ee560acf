"""What strength asks of the shop: one record, made by the one and read by the other.

Size letters: M members, Q places that strength looked at. Lengths are mm, moments N mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.tree.centreline import Floats, Ints


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
    rods: anchors and base plate, None where strength did not look at them.
    """

    legs: Floats
    grooves: NDArray[np.bool_]
    sways: Floats
    rows: Ints
    stations: Floats
    moments: Floats
    rods: Rods | None = None
