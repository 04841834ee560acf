"""What must hold of a Tree before anything is built from it: checked at the edge, so that the rest can trust it."""

from __future__ import annotations

import re

import numpy as np

from armature.tree import RANKS, Leaves, Tree

# The bounds that a commission has for lengths, mm, bars, mm, and designs.
LONGEST, THINNEST, THICKEST, MOST_DESIGNS = 200_000.0, 0.5, 600.0, 500
_TAG, _LONGEST_TAG = re.compile(r"[A-Za-z0-9]+([-.][A-Za-z0-9]+)*"), 32
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
    for check in (_sizes, _chains, _numbers, _within, _tags, _order, _bars, _bends, _leaves):
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


def _within(tree: Tree) -> str:
    """Lengths and thicknesses end where those of a commission do: what is worked out from them is of a size too."""
    lengths = {f"tree.{name}": getattr(tree, name) for name in ("stations", "setbacks", "taper_starts")}
    lengths |= {"tree.chains.vertices": tree.chains.vertices, "tree.chains.radii": tree.chains.radii}
    lengths |= {"tree.leaves.stations": tree.leaves.stations}
    for name, values in lengths.items():
        if values.size and np.abs(values).max() > LONGEST:
            return f"{name} must lie within {LONGEST / 1000.0:g} m"
    for name in ("start_diameters", "end_diameters", "stock_diameters"):
        if getattr(tree, name).max() > THICKEST:
            return f"tree.{name} must be at most {THICKEST:g} mm"
    return ""


def _tags(tree: Tree) -> str:
    for name, tags in (("tree.tags", tree.tags), ("tree.leaves.tags", tree.leaves.tags)):
        for tag in tags.tolist():
            if not _TAG.fullmatch(tag) or len(tag) > _LONGEST_TAG:
                rule = f"letters and digits, hyphens or points between, {_LONGEST_TAG} signs at most"
                return f"{name}: {tag[:40]!r} is no tag: {rule}"
        if len(set(tags.tolist())) != len(tags):
            return f"{name} must differ"
    return ""


def _order(tree: Tree) -> str:
    if ((tree.ranks < 0) | (tree.ranks >= len(RANKS))).any():
        return f"tree.ranks must lie in 0 to {len(RANKS) - 1}"
    if (tree.parents >= np.arange(len(tree))).any() or (tree.parents < -1).any():
        return "tree.parents must name an earlier row, or -1 for the trunk"
    return "" if tree.parents[0] == -1 and (tree.parents[1:] >= 0).all() else "tree.parents must have one trunk, first"


def _bars(tree: Tree) -> str:
    thin = np.minimum(tree.end_diameters, np.minimum(tree.start_diameters, tree.stock_diameters))
    if (thin <= 0.0).any():
        return f"{tree.tags[np.argmin(thin)]}: diameters must be more than 0"
    if (tree.stock_diameters < THINNEST).any():
        return f"{tree.tags[np.argmin(tree.stock_diameters)]}: stock must be at least {THINNEST:g} mm thick"
    over = np.maximum(tree.start_diameters, tree.end_diameters) - tree.stock_diameters
    if (over > 1e-6 * tree.stock_diameters).any():
        return f"{tree.tags[np.argmax(over)]}: no member is thicker than the bar that it is made from"
    if (2.0 * tree.walls >= tree.stock_diameters).any():
        return f"{tree.tags[np.argmax(tree.walls)]}: walls must be under half of the stock"
    if (tree.chains.sides <= 0.0).any():
        return f"{tree.tags[tree.chains.members[np.argmin(tree.chains.sides)]]}: two corners of a member coincide"
    below = np.minimum(tree.chains.radii.min(), min(tree.setbacks.min(), tree.walls.min(), tree.taper_starts.min()))
    return "" if below >= 0.0 else "bend radii, setbacks, walls and taper starts must not be negative"


def _bends(tree: Tree) -> str:
    chains = tree.chains
    if tree.tips[0, 2] <= tree.starts[0, 2]:
        return f"{tree.tags[0]}: the trunk must rise from its foot"
    if (chains.bends > np.radians(179.0)).any():
        return f"{tree.tags[chains.members[np.argmax(chains.bends)]]}: a corner folds back on itself"
    # A hair over: two bends may meet with nothing left between them.
    if (chains.feeds < -1e-3).any():
        return (
            f"{tree.tags[chains.members[np.argmin(chains.feeds)]]}: bends overlap: a radius is too large for its sides"
        )
    past = np.maximum(tree.taper_starts - chains.lengths, 0.0)
    past[1:] = np.maximum(past[1:], tree.stations[1:] - chains.lengths[tree.parents[1:]])
    if (past > 1.0).any():
        return f"{tree.tags[np.argmax(past)]}: a station lies past the end of its bar"
    return ""


def _leaves(tree: Tree) -> str:
    leaves: Leaves = tree.leaves
    if ((leaves.twigs < 0) | (leaves.twigs >= len(tree))).any():
        return "tree.leaves.twigs must name rows of members"
    if (leaves.stations < 0.0).any() or (leaves.stations > tree.lengths[leaves.twigs] + 1.0).any():
        return "tree.leaves.stations must lie on the twig"
    if ((leaves.designs < 1) | (leaves.designs > MOST_DESIGNS)).any():
        return f"tree.leaves.designs must count from 1, to {MOST_DESIGNS} at most"
    return ""
