"""The eye: judge the look of any tree, show where it fails, and mend it."""

from __future__ import annotations

from armature.look.verdict import first_look, judged

__all__ = ["first_look", "judged"]
