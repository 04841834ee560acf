"""Metals as they are bought, age and touch: round bars, plate, steel grades, sheet, patinas, the galvanic series."""

from __future__ import annotations

from armature.metals.base_plate import BasePlate, base_plate, stock_plate
from armature.metals.galvanic import OUTDOORS, allowed_volts, anodic_index
from armature.metals.patina import AGES, mirror, patina
from armature.metals.stock import Grade, Sheet, bar_masses, grade, least_fillets, sheet, usual_bars

__all__ = [
    "AGES",
    "OUTDOORS",
    "BasePlate",
    "Grade",
    "Sheet",
    "allowed_volts",
    "anodic_index",
    "bar_masses",
    "base_plate",
    "grade",
    "least_fillets",
    "mirror",
    "patina",
    "sheet",
    "stock_plate",
    "usual_bars",
]
