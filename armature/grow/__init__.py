"""Growing: from a commission to a Tree."""

from __future__ import annotations

from armature.grow.clearing import Meeting, MeetingError, cleared, meetings_of, parted
from armature.grow.drawing import LEAST_LEAN, MOST_LEANS, SHARPEST_BEND, Growing, seats
from armature.grow.edit import twig_added
from armature.grow.growing import grow, growing_of
from armature.grow.kept import check_counts, check_kept, given_members, kept_members
from armature.grow.members import BARE_SHARES, at_joint, free_lengths
from armature.grow.turning import swung, turn_about, turn_toward

__all__ = [
    "BARE_SHARES",
    "LEAST_LEAN",
    "MOST_LEANS",
    "SHARPEST_BEND",
    "Growing",
    "Meeting",
    "MeetingError",
    "at_joint",
    "check_counts",
    "check_kept",
    "cleared",
    "free_lengths",
    "given_members",
    "grow",
    "growing_of",
    "kept_members",
    "meetings_of",
    "parted",
    "seats",
    "swung",
    "turn_about",
    "turn_toward",
    "twig_added",
]
