"""Growing: from a commission to a Tree."""

from __future__ import annotations

from armature.grow.clearance import CHORD_ERROR, Capsules, Index, capsules, gaps, joined_capsules
from armature.grow.clearing import MeetingError, cleared, meetings_of
from armature.grow.drawing import SHARPEST_BEND, Growing, seats
from armature.grow.edit import twig_added
from armature.grow.growing import grow, growing_of
from armature.grow.kept import check_kept, kept_members, made_tags
from armature.grow.members import BARE_SHARES, at_joint, free_lengths
from armature.grow.moving import swung, turn_about, turn_toward

__all__ = [
    "BARE_SHARES",
    "CHORD_ERROR",
    "SHARPEST_BEND",
    "Capsules",
    "Growing",
    "Index",
    "MeetingError",
    "at_joint",
    "capsules",
    "check_kept",
    "cleared",
    "free_lengths",
    "gaps",
    "grow",
    "growing_of",
    "joined_capsules",
    "kept_members",
    "made_tags",
    "meetings_of",
    "seats",
    "swung",
    "turn_about",
    "turn_toward",
    "twig_added",
]
