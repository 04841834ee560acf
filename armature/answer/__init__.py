"""The steel answers: a plan as the members that exist leave it, the rest keeping its place in the crown."""

from __future__ import annotations

from armature.answer.answering import Answer, answered
from armature.answer.revising import Change, Revision, changes, reason_of, revised
from armature.answer.seating import Seating, free_seats, seat_costs, seated
from armature.answer.troubles import ACCEPT, BACK, REMAKE, Trouble, troubles
from armature.answer.unmade import AIMED, BENT, STANDS

__all__ = [
    "ACCEPT",
    "AIMED",
    "BACK",
    "BENT",
    "REMAKE",
    "STANDS",
    "Answer",
    "Change",
    "Revision",
    "Seating",
    "Trouble",
    "answered",
    "changes",
    "free_seats",
    "reason_of",
    "revised",
    "seat_costs",
    "seated",
    "troubles",
]
