"""What must hold of a Tree before anything is built from it: checked at the edge, so that the rest can trust it."""

from __future__ import annotations

import numpy as np

from armature.tree import RANKS, Leaves, Tree

_PER_MEMBER = (
    "ranks",
    "parents",
    "stations",
    "setbacks",
    "start_diameters",
    "end_diameters",
    "taper_starts",
    "stock_diameters",
    "walls",
)


def flaw(tree: Tree) -> str:
    """Return the first thing that is wrong with a tree in a few words, or nothing for a sound one."""
    for check in (_sizes, _chains, _numbers, _order, _bars, _leaves):
        if found := check(tree):
            return found
    return ""


def _sizes(tree: Tree) -> str:
    count = len(tree.tags)
    for name in _PER_MEMBER:
        if getattr(tree, name).shape != (count,):
            return f"tree.{name} must have {count} values, one a tag"
    for name in ("twigs", "stations", "designs", "names"):
        if getattr(tree.leaves, name).shape != (len(tree.leaves.tags),):
            return f"tree.leaves.{name} must have {len(tree.leaves.tags)} values, one a leaf"
    return "" if count else "tree.tags is empty: a tree has at least a trunk"


def _chains(tree: Tree) -> str:
    offsets, vertices = tree.chains.offsets, tree.chains.vertices
    if len(offsets) != len(tree.tags) + 1 or offsets[0] != 0 or offsets[-1] != len(vertices):
        return "tree.chains.offsets must run from 0 to the number of vertices, one step a tag"
    if (np.diff(offsets) < 2).any():
        return "tree.chains.offsets must leave at least two vertices a member"
    return "" if tree.chains.radii.shape == (len(vertices),) else "tree.chains.radii must have one value a vertex"


def _numbers(tree: Tree) -> str:
    named = {f"tree.{name}": getattr(tree, name) for name in _PER_MEMBER}
    named |= {"tree.chains.vertices": tree.chains.vertices, "tree.chains.radii": tree.chains.radii}
    named |= {"tree.leaves.stations": tree.leaves.stations}
    return next((f"{name} must be finite numbers" for name, array in named.items() if not np.isfinite(array).all()), "")


def _order(tree: Tree) -> str:
    if len(set(tree.tags.tolist())) != len(tree.tags):
        return "tree.tags must differ"
    if ((tree.ranks < 0) | (tree.ranks >= len(RANKS))).any():
        return f"tree.ranks must lie in 0 to {len(RANKS) - 1}"
    if (tree.parents >= np.arange(len(tree))).any() or (tree.parents < -1).any():
        return "tree.parents must name an earlier row, or -1 for the trunk"
    return "" if tree.parents[0] == -1 and (tree.parents[1:] >= 0).all() else "tree.parents must have one trunk, first"


def _bars(tree: Tree) -> str:
    thin = np.minimum(tree.end_diameters, np.minimum(tree.start_diameters, tree.stock_diameters))
    if (thin <= 0.0).any():
        return f"{tree.tags[np.argmin(thin)]}: diameters must be more than 0"
    if (tree.chains.sides <= 0.0).any():
        return f"{tree.tags[tree.chains.members[np.argmin(tree.chains.sides)]]}: two corners of a member coincide"
    below = np.minimum(tree.chains.radii.min(), min(tree.setbacks.min(), tree.walls.min(), tree.taper_starts.min()))
    return "" if below >= 0.0 else "bend radii, setbacks, walls and taper starts must not be negative"


def _leaves(tree: Tree) -> str:
    leaves: Leaves = tree.leaves
    if ((leaves.twigs < 0) | (leaves.twigs >= len(tree))).any():
        return "tree.leaves.twigs must name rows of members"
    if len(set(leaves.tags.tolist())) != len(leaves):
        return "tree.leaves.tags must differ"
    return "" if (leaves.designs >= 1).all() else "tree.leaves.designs must count from 1"
