"""Leaf designs: outlines of straights and arcs, drawn from forms or read from an artist's drawing."""

from __future__ import annotations

from armature.leaves.outline.arcs import Path, Points, circle, flattened, line, moved, path_length, polygon
from armature.leaves.outline.designs import draw_designs
from armature.leaves.outline.dish import LeafMesh, leaf_mesh
from armature.leaves.outline.drawn_text import as_kept, designs_text, read_designs
from armature.leaves.outline.fitting import fitted
from armature.leaves.outline.outlines import CHORD_ERROR, Design

__all__ = [
    "CHORD_ERROR",
    "Design",
    "LeafMesh",
    "Path",
    "Points",
    "as_kept",
    "circle",
    "designs_text",
    "draw_designs",
    "fitted",
    "flattened",
    "leaf_mesh",
    "line",
    "moved",
    "path_length",
    "polygon",
    "read_designs",
]
