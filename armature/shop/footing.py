"""The base plate as it is cut, drilled, set and welded under the trunk: a first pass for the engineer who signs.

Lengths are mm, masses kg; x goes east, y north, from the middle of the trunk's foot.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.edge import System
from armature.metals import BasePlate
from armature.tree import Floats, Rods

# Hole over rod for rods cast in concrete, which stand never where they should: AISC Manual table 14-2, from memory.
# The inch table is the handbook's own: 9/16 in over 3/4, 11/16 over 7/8, 13/16 to 1 1/2, 1 in over 1 3/4, 1 1/4 beyond.
_ROOM = {
    "inch": ((19.1, 14.2875), (22.3, 17.4625), (38.2, 20.6375), (44.5, 25.4), (np.inf, 31.75)),
    "mm": ((20.0, 14.0), (26.0, 20.0), (33.0, 22.0), (np.inf, 24.0)),
}
# Least distance from the middle of a hole to an edge, rod diameters: AISC 360-16 table J3.4, rounded up (from memory).
_EDGE = 1.5
_GROUT = {"inch": 38.1, "mm": 40.0}
_WASHER = {"inch": 9.525, "mm": 10.0}


@dataclass(frozen=True, eq=False)
class Base:
    """A square plate and its anchors; no rods, and no thickness, where strength was not worked out.

    holes: (H, 2) mm, middles. hole_mm: their diameter. edge_mm: the least from the middle of a hole to an edge, and
    least_edge_mm what it should be. grout_mm under the plate, washer_mm: thickness of the plate washers. stands_mm: how
    far rods stand out of the concrete. mass_kg: of the plate, holes taken out.
    """

    plate: BasePlate
    rods: Rods | None
    holes: Floats
    hole_mm: float
    edge_mm: float
    least_edge_mm: float
    grout_mm: float
    washer_mm: float
    stands_mm: float
    mass_kg: float


def base(plate: BasePlate, rods: Rods | None, density_kg_m3: float, units: System) -> Base:
    """Return the base plate with its holes: on a circle, four of them at the corners, else the first to the north.

    >>> one = base(BasePlate(400.0, 30.0), Rods(4, 20.0, 300.0, 400.0, 30.0), 7850.0, "mm")
    >>> one.holes.round(2).tolist()[0], one.hole_mm, round(one.mass_kg, 2)
    ([106.07, 106.07], 34.0, 36.82)
    """
    grout, washer = _GROUT[units], _WASHER[units]
    if rods is None:
        return Base(
            plate, None, np.zeros((0, 2)), 0.0, 0.0, 0.0, grout, washer, 0.0, _mass(plate, 0, 0.0, density_kg_m3)
        )
    first = 45.0 if rods.count == 4 else 0.0
    around = np.radians(first + 360.0 / rods.count * np.arange(rods.count))
    holes = rods.circle_mm / 2.0 * np.stack([np.sin(around), np.cos(around)], axis=1)
    hole = rods.diameter_mm + next(room for most, room in _ROOM[units] if rods.diameter_mm <= most)
    edge = plate.side_mm / 2.0 - float(np.abs(holes).max(initial=0.0))
    stands = grout + plate.thickness_mm + washer + 1.5 * rods.diameter_mm
    mass = _mass(plate, rods.count, hole, density_kg_m3)
    return Base(plate, rods, holes, hole, edge, _EDGE * rods.diameter_mm, grout, washer, stands, mass)


def _mass(plate: BasePlate, count: int, hole: float, density: float) -> float:
    area = plate.side_mm**2 - count * np.pi / 4.0 * hole**2
    return float(area * plate.thickness_mm * density * 1e-9)
