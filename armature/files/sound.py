"""What must hold of a Tree before anything is built from it: checked at the edge, so that the rest can trust it."""

from __future__ import annotations

import re

import numpy as np

from armature.tree import RANKS, TRUNK, Leaves, Tree

# The bounds that a commission has for lengths, mm, bars, mm, and designs.
LONGEST, THINNEST, THICKEST, MOST_DESIGNS = 200_000.0, 0.5, 600.0, 500
# Upsetting a bar to twice its thickness takes four lengths for one: no smith does more (common practice, no source).
MOST_SWELLING = 2.0
_TAG, _LONGEST_TAG = re.compile(r"[A-Za-z0-9]+([-.][A-Za-z0-9]+)*"), 32
_PER_MEMBER = (
    "ranks",
    "parents",
    "stations",
    "setbacks",
    "stock_diameters",
    "walls",
    "departures",
)


def flaw(tree: Tree) -> str:
    """Return the first thing that is wrong with a tree in a few words, or nothing for a sound one."""
    for check in (_sizes, _chains, _tapers, _numbers, _within, _tags, _order, _bars, _profiles, _bends, _leaves):
        if wrong := check(tree):
            return wrong
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


def _tapers(tree: Tree) -> str:
    tapers, count = tree.tapers, len(tree.tags)
    offsets = tapers.offsets
    if len(offsets) != count + 1 or offsets[0] != 0 or offsets[-1] != len(tapers.stations):
        return "tree.tapers.offsets must run from 0 to the number of places, one step a tag"
    if (np.diff(offsets) < 1).any():
        return "tree.tapers.offsets must leave at least one place a member"
    if tapers.diameters.shape != tapers.stations.shape:
        return "tree.tapers.diameters must have one value a place"
    for name in ("tips", "swells"):
        if getattr(tapers, name).shape != (count,):
            return f"tree.tapers.{name} must have {count} values, one a tag"
    return ""


def _numbers(tree: Tree) -> str:
    named = {f"tree.{name}": getattr(tree, name) for name in _PER_MEMBER}
    named |= {"tree.chains.vertices": tree.chains.vertices, "tree.chains.radii": tree.chains.radii}
    named |= {"tree.leaves.stations": tree.leaves.stations}
    named |= {f"tree.tapers.{name}": getattr(tree.tapers, name) for name in ("stations", "diameters", "tips", "swells")}
    return next((f"{name} must be finite numbers" for name, array in named.items() if not np.isfinite(array).all()), "")


def _within(tree: Tree) -> str:
    """Lengths and thicknesses end where those of a commission do: what is worked out from them is of a size too."""
    lengths = {f"tree.{name}": getattr(tree, name) for name in ("stations", "setbacks", "departures")}
    lengths |= {f"tree.tapers.{name}": getattr(tree.tapers, name) for name in ("stations", "swells")}
    lengths |= {"tree.chains.vertices": tree.chains.vertices, "tree.chains.radii": tree.chains.radii}
    lengths |= {"tree.leaves.stations": tree.leaves.stations}
    for name, values in lengths.items():
        if values.size and np.abs(values).max() > LONGEST:
            return f"{name} must lie within {LONGEST / 1000.0:g} m"
    thick = {"tree.stock_diameters": tree.stock_diameters}
    thick |= {f"tree.tapers.{name}": getattr(tree.tapers, name) for name in ("diameters", "tips")}
    for name, values in thick.items():
        if values.max() > THICKEST:
            return f"{name} must be at most {THICKEST:g} mm"
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
        return "tree.parents must name an earlier row, or -1 on the base"
    standing = tree.parents == -1
    if tree.ranks[0] != TRUNK or not standing[0]:
        return "tree.parents must have a trunk first, on the base"
    loose = standing & (tree.ranks != TRUNK) & (tree.departures == 0.0)
    if loose.any():
        return f"{tree.tags[np.argmax(loose)]}: only stems, and rods of a bundle, stand on the base"
    return ""


def _bars(tree: Tree) -> str:
    along = np.minimum.reduceat(tree.tapers.diameters, tree.tapers.offsets[:-1])
    thin = np.minimum(tree.end_diameters, np.minimum(along, tree.stock_diameters))
    if (thin <= 0.0).any():
        return f"{tree.tags[np.argmin(thin)]}: diameters must be more than 0"
    if (tree.stock_diameters < THINNEST).any():
        return f"{tree.tags[np.argmin(tree.stock_diameters)]}: stock must be at least {THINNEST:g} mm thick"
    over = np.maximum(tree.tapers.bars, tree.end_diameters) - tree.stock_diameters
    if (over > 1e-6 * tree.stock_diameters).any():
        return f"{tree.tags[np.argmax(over)]}: no member is thicker than the bar that it is made from"
    if (2.0 * tree.walls >= tree.stock_diameters).any():
        return f"{tree.tags[np.argmax(tree.walls)]}: walls must be under half of the stock"
    if (tree.chains.sides <= 0.0).any():
        return f"{tree.tags[tree.chains.members[np.argmin(tree.chains.sides)]]}: two corners of a member coincide"
    below = min(each.min() for each in (tree.chains.radii, tree.setbacks, tree.walls, tree.departures))
    return "" if below >= 0.0 else "bend radii, setbacks, walls and departures must not be negative"


def _profiles(tree: Tree) -> str:
    tapers = tree.tapers
    if (tapers.stations[tapers.offsets[:-1]] != 0.0).any():
        return (
            f"{tree.tags[np.argmax(tapers.stations[tapers.offsets[:-1]] != 0.0)]}: a taper's first place is its start"
        )
    back = (np.diff(tapers.stations) < 0.0) & (np.diff(tapers.members) == 0)
    if back.any():
        return f"{tree.tags[tapers.members[np.argmax(back)]]}: the places of a taper must follow each other"
    past = np.maximum(tapers.stations, tapers.swells[tapers.members]) - tree.lengths[tapers.members]
    if (past > 1.0).any():
        return f"{tree.tags[tapers.members[np.argmax(past)]]}: a place of the taper lies past the end of its bar"
    bare = ~np.isin(np.arange(len(tree)), tapers.members[tapers.stations == tapers.swells[tapers.members]])
    if bare.any():
        return f"{tree.tags[np.argmax(bare)]}: the swelling must end at a place of the taper"
    rises = tapers.nexts > tapers.diameters * (1.0 + 1e-9)
    rises &= tapers.stations >= tapers.swells[tapers.members]
    if rises.any():
        return f"{tree.tags[tapers.members[np.argmax(rises)]]}: a bar gets no thicker toward its tip"
    over = np.maximum.reduceat(tapers.diameters, tapers.offsets[:-1]) - MOST_SWELLING * tree.stock_diameters
    return f"{tree.tags[np.argmax(over)]}: a foot swells to twice its bar at most" if (over > 1e-6).any() else ""


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
    past = np.where(tree.parents >= 0, tree.stations - chains.lengths[np.maximum(tree.parents, 0)], 0.0)
    past = np.maximum(past, tree.departures - chains.lengths)
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
