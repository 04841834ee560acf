"""The steel answers: a plan as the members that exist leave it, the rest keeping its place in the crown."""

from __future__ import annotations

from armature.answer.answering import Answer, answered
from armature.answer.revising import Change, Revision, changes, reason_of, revised
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
    "Trouble",
    "answered",
    "changes",
    "reason_of",
    "revised",
    "troubles",
]
