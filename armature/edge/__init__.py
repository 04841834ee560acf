"""The edge of the program: what people write is read here, and what is wrong with it is told in one line.

Errors that a user can mend; single files, read to a bound and written whole; quantities as people write them and as
the shop reads them.
"""

from __future__ import annotations

from armature.edge.errors import ArmatureError, CommissionError, FileError, GrowthError, StockError, UnitError
from armature.edge.saving import read_bytes, write_whole
from armature.edge.telling import (
    System,
    exact_length,
    exact_number,
    format_force,
    format_heat,
    format_height,
    format_inches,
    format_length,
    format_mass,
    format_moment,
    format_run,
    format_side,
    format_stress,
    format_thin,
    format_wind,
)
from armature.edge.units import Kind, parse, parse_angle, parse_length, parse_speed, wants_unit

__all__ = [
    "ArmatureError",
    "CommissionError",
    "FileError",
    "GrowthError",
    "Kind",
    "StockError",
    "System",
    "UnitError",
    "exact_length",
    "exact_number",
    "format_force",
    "format_heat",
    "format_height",
    "format_inches",
    "format_length",
    "format_mass",
    "format_moment",
    "format_run",
    "format_side",
    "format_stress",
    "format_thin",
    "format_wind",
    "parse",
    "parse_angle",
    "parse_length",
    "parse_speed",
    "read_bytes",
    "wants_unit",
    "write_whole",
]
