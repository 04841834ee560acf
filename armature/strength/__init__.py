"""Will it stand, and for how long: loads, forces, checks by clause, sizes, lifetime and the report.

A combination is a sum of basic load cases with a standard's factors. A section is a place where the checks look. A
ratio is what is asked over what is allowed: over 1 fails. Forces are N, moments N mm, stresses MPa, lengths mm.
"""

from __future__ import annotations

from armature.strength.assess import assessed
from armature.strength.page import page
from armature.strength.record import record
from armature.strength.sizing import strengthened

__all__ = ["assessed", "page", "record", "strengthened"]
