"""The commission: the job's input file, read, checked, changed and written back.

A commission is one TOML file with a section a module here: canopy, growth, steel, leaves, site, shop, pictures.
"""

from __future__ import annotations

from armature.commission.model import Commission
from armature.commission.reading import changed, read
from armature.commission.writing import write

__all__ = ["Commission", "changed", "read", "write"]
