"""Names: read, given to leaves, set in letters, and what comes back from the bench."""

from __future__ import annotations

from armature.leaves.naming.assigning import BEST, GRADES, PLAIN, SCRAP, WILD, Assignment, Places, assign_names
from armature.leaves.naming.batches import Batch, Station, batches, dealt_batches, stations
from armature.leaves.naming.bench import Bench, read_bench
from armature.leaves.naming.folding import folded
from armature.leaves.naming.grades import read_grades, read_pairs, read_table
from armature.leaves.naming.letters import Setting, advance, line_depths, stamp_heights
from armature.leaves.naming.names import NameList, Note, read_names, search_key
from armature.leaves.naming.piles import Dealt, Pile, deal, pile_words, read_piles
from armature.leaves.naming.record import (
    KINDS,
    Event,
    checked_name,
    read_record,
    record_columns,
    recorded,
    spoiled,
    struck_leaves,
    to_strike,
)
from armature.leaves.naming.regrading import Regraded, Stamps, regraded
from armature.leaves.naming.romanised import romanised, script_table
from armature.leaves.naming.sight import Sight, sight, worth
from armature.leaves.naming.signing import Change, Signed, changes_since, read_signed, signed_rows
from armature.leaves.naming.stamp_areas import Panel, stamp_panels
from armature.leaves.naming.stamping import Stamping, stamping
from armature.leaves.naming.wishes import Wish, likings, met, read_wish

__all__ = [
    "BEST",
    "GRADES",
    "KINDS",
    "PLAIN",
    "SCRAP",
    "WILD",
    "Assignment",
    "Batch",
    "Bench",
    "Change",
    "Dealt",
    "Event",
    "NameList",
    "Note",
    "Panel",
    "Pile",
    "Places",
    "Regraded",
    "Setting",
    "Sight",
    "Signed",
    "Stamping",
    "Stamps",
    "Station",
    "Wish",
    "advance",
    "assign_names",
    "batches",
    "changes_since",
    "checked_name",
    "deal",
    "dealt_batches",
    "folded",
    "likings",
    "line_depths",
    "met",
    "pile_words",
    "read_bench",
    "read_grades",
    "read_names",
    "read_pairs",
    "read_piles",
    "read_record",
    "read_signed",
    "read_table",
    "read_wish",
    "record_columns",
    "recorded",
    "regraded",
    "romanised",
    "script_table",
    "search_key",
    "sight",
    "signed_rows",
    "spoiled",
    "stamp_heights",
    "stamp_panels",
    "stamping",
    "stations",
    "struck_leaves",
    "to_strike",
    "worth",
]
