"""The plate that the trunk stands on: one size for the drawing, the rigger and whoever cuts it.

Lengths are mm. A first pass: an engineer sizes plate, anchors and footing.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from armature.edge import System

# Thicknesses in which plate is stocked (common practice, no source): EN 10029 leaves them free, mills roll these.
_PLATES = {
    "mm": (6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0, 100.0),
    "inch": tuple(25.4 / 8.0 * eighths for eighths in (2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 16, 18, 20, 24, 28, 32)),
}
_SIDE = {"mm": 10.0, "inch": 12.7}
_TRUNKS = 5.0


@dataclass(frozen=True)
class BasePlate:
    """A square plate: side and thickness mm; thickness 0 where nothing says how thick."""

    side_mm: float
    thickness_mm: float = 0.0


def base_plate(
    trunk_mm: float, units: System, width_mm: float | None = None, needed: tuple[float, float] | None = None
) -> BasePlate:
    """Return the plate as it is cut: the width given, else what anchors need, else five trunks, to the next whole size.

    needed: side and thickness that strength asks for.

    >>> base_plate(101.6, "mm", needed=(388.0, 31.2))
    BasePlate(side_mm=390.0, thickness_mm=35.0)
    """
    step = _SIDE[units]
    wanted = needed[0] if needed is not None else _TRUNKS * trunk_mm
    side = ceil(round(wanted / step, 6)) * step if width_mm is None else width_mm
    return BasePlate(side, 0.0 if needed is None else stock_plate(needed[1], units))


def stock_plate(thickness_mm: float, units: System) -> float:
    """Return the thinnest stocked plate of at least a thickness, mm; the next 10 mm over the thickest listed.

    >>> stock_plate(31.2, "mm"), stock_plate(31.2, "inch")
    (35.0, 31.75)
    """
    listed = next((each for each in _PLATES[units] if each >= thickness_mm - 1e-6), None)
    return ceil(thickness_mm / 10.0 - 1e-9) * 10.0 if listed is None else listed
