"""Names: read, given to leaves, set in letters, and what comes back from the bench."""

from __future__ import annotations

from armature.leaves.naming.assigning import GRADES, SCRAP, Assignment, Places, assign_names
from armature.leaves.naming.grades import Bench, read_bench, read_grades, read_pairs
from armature.leaves.naming.letters import Setting, advance, line_depths, stamp_heights
from armature.leaves.naming.names import NameList, Note, folded, read_names, search_key
from armature.leaves.naming.regrading import Regraded, Stamps, regraded
from armature.leaves.naming.sight import Sight, sight, worth
from armature.leaves.naming.stamp_areas import Panel, stamp_panels
from armature.leaves.naming.stamping import Stamping, stamping

__all__ = [
    "GRADES",
    "SCRAP",
    "Assignment",
    "Bench",
    "NameList",
    "Note",
    "Panel",
    "Places",
    "Regraded",
    "Setting",
    "Sight",
    "Stamping",
    "Stamps",
    "advance",
    "assign_names",
    "folded",
    "line_depths",
    "read_bench",
    "read_grades",
    "read_names",
    "read_pairs",
    "regraded",
    "search_key",
    "sight",
    "stamp_heights",
    "stamp_panels",
    "stamping",
    "worth",
]
