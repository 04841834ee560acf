"""The steel standard that belongs to the wind standard: their factors are never mixed."""

from __future__ import annotations

from armature.strength import aisc360, en1993
from armature.strength.conditions import Conditions
from armature.strength.resistance import Resistance
from armature.strength.rounds import Rounds
from armature.tree import Floats


def resistance(cross_section: Rounds, yields: Floats, free: Floats, conditions: Conditions) -> Resistance:
    """Return the resistance of cross-sections (Q,): AISC 360-16 with ASCE 7-16, EN 1993-1-1 with EN 1991-1-4.

    yields: (Q,) MPa. free: (Q,) mm of member beyond each cross-section.
    """
    rule = aisc360.resistance if conditions.is_american else en1993.resistance
    return rule(cross_section, yields, conditions.grade.young_gpa * 1000.0, free)
