"""Presets as first grown: each once in a process, for all tests that look at one."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from armature.commission import Commission, read
from armature.grow import grow
from armature.tree import Tree

PRESETS = Path(__file__).parents[1] / "presets"


@cache
def preset(name: str) -> Commission:
    """Return the commission of a preset."""
    return read(PRESETS / f"{name}.toml")


@cache
def grown(name: str) -> Tree:
    """Return the tree of a preset, neither mended nor made thicker."""
    return grow(preset(name))
