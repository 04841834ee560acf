"""The eye: judge the look of any tree, show where it fails, mend it, and look through many seeds."""

from __future__ import annotations

from armature.look.refine import refined
from armature.look.survey import surveyed
from armature.look.verdict import first_look, judged

__all__ = ["first_look", "judged", "refined", "surveyed"]
