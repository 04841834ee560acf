"""The eye: judge the look of any tree, show where it fails, mend it, and look through many seeds."""

from __future__ import annotations

from armature.look.axes import skeleton_of_nodes
from armature.look.character import TRAITS, Character, alike, in_words
from armature.look.choosing import best_unlike, ordered, tied
from armature.look.measured import read_nodes
from armature.look.ranges import ranges
from armature.look.refine import Mending, refined
from armature.look.side_pictures import across, side_views, sky_hole
from armature.look.skeleton import Skeleton, skeleton_of
from armature.look.spacing import crown_hull
from armature.look.survey import Grown, grown_again, surveyed
from armature.look.verdict import Finding, Verdict, apart_from_counts, first_look, judged

__all__ = [
    "TRAITS",
    "Character",
    "Finding",
    "Grown",
    "Mending",
    "Skeleton",
    "Verdict",
    "across",
    "alike",
    "apart_from_counts",
    "best_unlike",
    "crown_hull",
    "first_look",
    "grown_again",
    "in_words",
    "judged",
    "ordered",
    "ranges",
    "read_nodes",
    "refined",
    "side_views",
    "skeleton_of",
    "skeleton_of_nodes",
    "sky_hole",
    "surveyed",
    "tied",
]
