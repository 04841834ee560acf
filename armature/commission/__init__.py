"""The commission: the job's input file, read, checked, changed and written back.

A commission is one TOML file with a section a module here: canopy, growth, steel, leaves, site, shop, pictures.
"""

from __future__ import annotations

from armature.commission.canopy import Habit
from armature.commission.errors_told import telling_of
from armature.commission.model import Commission
from armature.commission.named_files import named_files
from armature.commission.presets import preset_paths, preset_purpose, start_commission
from armature.commission.reading import changed, read
from armature.commission.site import Quake, Tie
from armature.commission.steel import Pipe
from armature.commission.workshop import Anvil, Buying, Crew, Tool, Tools, Transport
from armature.commission.writing import as_tables, write

__all__ = [
    "Anvil",
    "Buying",
    "Commission",
    "Crew",
    "Habit",
    "Pipe",
    "Quake",
    "Tie",
    "Tool",
    "Tools",
    "Transport",
    "as_tables",
    "changed",
    "named_files",
    "preset_paths",
    "preset_purpose",
    "read",
    "start_commission",
    "telling_of",
    "write",
]
