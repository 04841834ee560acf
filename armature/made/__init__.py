"""Steel that exists: what people list as made, measure and tape, read, fitted and kept in one record.

`read_measures` reads a job's `measured/` folder, `made_tags` its made.csv; `taken_in` makes one record, `Steel`, of
both.
"""

from __future__ import annotations

from armature.made.felt import Felt, felt_bars
from armature.made.fitting import Shape, shape_of
from armature.made.given import given_steel, is_given
from armature.made.listed import made_tags
from armature.made.measures import (
    TABLES,
    TWIGS,
    Measures,
    Offsets,
    Tape,
    Weld,
    files_of,
    next_file,
    read_measures,
    table_of,
)
from armature.made.record import Steel, taken_in
from armature.made.tapes import met

__all__ = [
    "TABLES",
    "TWIGS",
    "Felt",
    "Measures",
    "Offsets",
    "Shape",
    "Steel",
    "Tape",
    "Weld",
    "felt_bars",
    "files_of",
    "given_steel",
    "is_given",
    "made_tags",
    "met",
    "next_file",
    "read_measures",
    "shape_of",
    "table_of",
    "taken_in",
]
