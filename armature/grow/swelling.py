"""Feet that swell as wood does where a branch leaves: a collar of growth round its base, upset or filled at the forge.

A branch's base is wider than the branch, by the branch's own collar and the trunk's grown into each other (Shigo, Tree
Anatomy, 1994, from memory). Size letters: M members. Lengths are mm.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.grow.sizes import SEAT
from armature.tree import (
    BRANCH,
    BRANCHLET,
    CHORD_ERROR,
    LIMB,
    ROOT,
    Floats,
    Index,
    Joints,
    Tapers,
    Tree,
    capsules,
    joints,
)

# A swelling reaches so many diameters of its bar where there is room, and falls to it in a hollow curve told at these
# shares of its length.
_REACH, _SHORTEST = 2.8, 1.2
_SHARES = np.array([0.0, 0.2, 0.45, 0.72, 1.0])
# Thinner bars, and less than this, are not worth upsetting (common practice, no source).
_THINNEST, _LEAST = 10.0, 1.06


def swollen(tree: Tree, share: float, clearance: float, step: float) -> Tree:
    """Return the tree with feet of limbs, branches, branchlets and roots thicker by a share of their bar.

    None is swollen beyond what its parent seats or past its parent's end, nor so far that it comes nearer than
    `clearance` mm to a member that it is not joined to. Pipes, and bars under 10 mm, stay as they are. step: mm, pieces
    for looking.
    """
    joined, bars = joints(tree), tree.tapers.bars
    room = np.minimum(joined.parent_diameters / SEAT, _ends_room(tree, joined))
    feet = np.minimum((1.0 + share) * bars, room)
    runs = np.minimum(_REACH * bars, np.minimum(_first_places(tree), 0.25 * tree.lengths))
    may = np.isin(tree.ranks, (LIMB, BRANCH, BRANCHLET, ROOT)) & (tree.walls == 0.0) & (bars >= _THINNEST)
    may &= (feet >= _LEAST * bars) & (runs >= _SHORTEST * bars) & (tree.tapers.swells == 0.0)
    if not may.any():
        return tree
    fat = replace(tree, tapers=_with_feet(tree, np.where(may, feet, bars), np.where(may, runs, 0.0)))
    may &= ~_crowded(fat, clearance, step)
    return replace(tree, tapers=_with_feet(tree, np.where(may, feet, bars), np.where(may, runs, 0.0)))


def _ends_room(tree: Tree, joined: Joints) -> Floats:
    """Return the thickest foot whose ellipse on the parent's skin ends before the parent does: (M,) mm."""
    left = np.maximum(tree.lengths[tree.parents] - joined.feet, 0.0)
    return np.where(tree.parents >= 0, 2.0 * left * np.sin(np.radians(joined.leans)), np.inf)


def _first_places(tree: Tree) -> Floats:
    """Return the station of each member's second place, or its length: (M,) mm."""
    return tree.tapers.stops(tree.lengths)[tree.tapers.offsets[:-1]]


def _with_feet(tree: Tree, feet: Floats, runs: Floats) -> Tapers:
    """Return the tapers with feet (M,) mm thick that fall to their bars over runs (M,) mm; none where the run is 0."""
    old = tree.tapers
    has = runs > 0.0
    rows = np.repeat(np.flatnonzero(has), len(_SHARES))
    share = np.tile(_SHARES, int(has.sum()))
    stations = share * runs[rows]
    bar = old.at(tree.lengths, rows, stations)
    diameters = bar + (feet - old.bars)[rows] * (1.0 - share) ** 2
    # The new places take the place of the one at the start.
    kept = np.ones(len(old.stations), dtype=bool)
    kept[old.offsets[:-1][has]] = False
    members = np.concatenate([old.members[kept], rows])
    order = np.lexsort((np.concatenate([old.stations[kept], stations]), members))
    counts = np.bincount(members, minlength=len(tree))
    return Tapers(
        np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        np.concatenate([old.stations[kept], stations])[order],
        np.concatenate([old.diameters[kept], diameters])[order],
        old.tips,
        np.where(has, runs, old.swells),
    )


def _crowded(tree: Tree, clearance: float, step: float) -> np.ndarray:
    """Return which swollen feet come too near to a member that is neither parent nor child of theirs: (M,)."""
    pieces = capsules(tree, step, CHORD_ERROR)
    feet = pieces.taken(pieces.stations < tree.tapers.swells[pieces.members])
    everything = Index(pieces)
    left, right = Index(feet).near(everything, clearance, same=True)
    one, other = feet.members[left], pieces.members[right]
    apart = (tree.parents[one] != other) & (tree.parents[other] != one)
    crowded = np.zeros(len(tree), dtype=bool)
    crowded[one[apart]] = True
    return crowded
