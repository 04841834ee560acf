"""A tree as the easel shows it: light enough to follow the hand, finer once the hand rests."""

from __future__ import annotations

from armature.pictures import ovate, packed, staged
from armature.tree import Tree


def sketch(tree: Tree, fine: bool = False, metal: str = "copper") -> bytes:
    """Return the packed scene of a tree with new leaves of a metal: coarse and quick, or fine."""
    if fine:
        return packed(staged(tree, rays=12, fine=0.75, metal=metal), tree)
    return packed(staged(tree, rays=0, blades=[ovate(rows=3)], fine=0.45, with_loops=False, metal=metal), tree)
