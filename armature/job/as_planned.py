"""The plan that made steel answers: kept beside the design from the first measure on, so that every step can be taken
back."""

from __future__ import annotations

from pathlib import Path

from armature.commission import Commission
from armature.files import load
from armature.tree import Tree

PLANNED = "planned.json"


def plan_of(folder: Path) -> tuple[Tree, Commission]:
    """Return the tree of a job as it was planned before any steel answered, with its commission: that of planned.json,
    or of design.json where nothing was measured yet."""
    kept = folder / PLANNED
    return load(kept if kept.is_file() else folder)
