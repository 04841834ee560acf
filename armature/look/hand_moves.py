"""Moves of a shaping hand: a member swung about its joint with all it carries, slid along its parent, or bent anew.

A swing is rigid, so that every bend stays as listed; only the joint changes. What is moved keeps the commission's
clearances, stays in the canopy, and starts on its parent's skin.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from armature.grow import BARE_SHARES, SHARPEST_BEND, Growing, at_joint, free_lengths, growing_of
from armature.tree import (
    CHORD_ERROR,
    Capsules,
    Chains,
    Floats,
    Index,
    Ints,
    Tree,
    bend_list,
    bent,
    capsules,
    joined_capsules,
)

if TYPE_CHECKING:
    from armature.commission import Commission


# A chord that falls by more than this, deg, is seen to hang.
_HANGING = -45.0


@dataclass(frozen=True, eq=False)
class Room:
    """What is in the way of a move: the pieces of all members, and what the commission asks of clearance and canopy."""

    standing: Index
    growing: Growing

    def without(self, rows: Ints) -> Room:
        """Return the room after the given members are taken out of it."""
        pieces = self.standing.pieces
        return replace(self, standing=Index(pieces.taken(~np.isin(pieces.members, rows))))

    def with_pieces(self, pieces: Capsules) -> Room:
        """Return the room with further pieces in it."""
        return replace(self, standing=Index(joined_capsules(self.standing.pieces, pieces)))


def room_of(tree: Tree, commission: Commission) -> Room:
    """Return the room around a grown tree."""
    growing = growing_of(commission)
    return Room(Index(capsules(tree, growing.step, CHORD_ERROR)), growing)


def rebent(tree: Tree, row: int, turns: Floats, share: float, least_bend: float) -> Tree | None:
    """Return the tree with a childless member's bends turned by `turns` (B,) deg about its bar and opened to a share.

    Straight runs and radii stay. None where the member has no bends, carries others, or a bend would be fainter than
    `least_bend`, deg, or sharper than growing draws any.
    """
    listed = bend_list(tree.chains.taken([row]))
    if len(listed.bends) == 0 or (tree.parents == row).any():
        return None
    bends = listed.bends * share
    if (bends < least_bend).any() or (bends > SHARPEST_BEND).any():
        return None
    new_turns = np.where(listed.numbers > 1, (listed.turns + turns[: len(bends)] + 180.0) % 360.0 - 180.0, 0.0)
    inward = tree.chains.inward[tree.chains.firsts[row]]
    fresh = bent(replace(listed, bends=bends, turns=new_turns), tree.starts[[row]], tree.axes[[row]], inward[None])
    first, last = int(tree.chains.offsets[row]), int(tree.chains.offsets[row + 1])
    vertices = tree.chains.vertices.copy()
    vertices[first:last] = fresh.vertices
    chains = Chains(tree.chains.offsets, vertices, tree.chains.radii)
    ratio = chains.lengths[row] / tree.lengths[row]
    shares, leaves = np.ones(len(tree)), tree.leaves.stations.copy()
    shares[row] = ratio
    leaves[tree.leaves.twigs == row] *= ratio
    return replace(
        tree, chains=chains, tapers=tree.tapers.stretched(shares), leaves=replace(tree.leaves, stations=leaves)
    )


def still_hangs(before: Tree, after: Tree, row: int) -> bool:
    """Return whether all that a moved member takes with it hangs about as before: what hung goes on hanging.

    Told by the steepness of each chord, which may rise by 5 deg at most, or to a fall of 40 deg where it hung steeper.
    """
    rows = before.subtree(row)
    old, new = _steepness(before, rows), _steepness(after, rows)
    return bool((new <= np.maximum(old, _HANGING) + 5.0).all())


def _steepness(tree: Tree, rows: Ints) -> Floats:
    """Return how far each chord rises over the level: (R,) deg, below 0 where its tip hangs."""
    chords = tree.tips[rows] - tree.starts[rows]
    return np.asarray(np.degrees(np.arctan2(chords[:, 2], np.hypot(chords[:, 0], chords[:, 1]))))


def fits(moved: Tree, row: int, room: Room) -> Capsules | None:
    """Return the pieces of a moved member and its load if they are clear of the room and in the canopy, else None."""
    rows = moved.subtree(row)
    own = capsules(moved.alone(rows), room.growing.step, CHORD_ERROR)
    own = replace(own, members=rows[own.members])
    if not _in_canopy(moved, own, room.growing):
        return None
    left, right = Index(own).near(room.standing, room.growing.clearance)
    here, there = own.members[left], room.standing.pieces.members[right]
    joined = (here == row) & (there == moved.parents[row])
    free = np.full(len(left), free_lengths(moved, moved.alone([row]), room.growing.clearance)[0])
    excused = at_joint(own, left, room.standing.pieces, right, joined, free, room.growing.clearance)
    return own if bool(excused.all()) else None


def _in_canopy(tree: Tree, own: Capsules, growing: Growing) -> bool:
    canopy = growing.canopy
    bare = np.array([BARE_SHARES[int(rank)] for rank in tree.ranks[own.members]]) * tree.lengths[own.members]
    bears = np.concatenate([own.stations, own.stations + own.lengths]) >= np.concatenate([bare, bare])
    points = np.concatenate([own.heads, own.tails])
    within = canopy.holds(points, np.concatenate([own.radii, own.radii]), bears)
    return bool(within.all()) and not bool(canopy.crosses_boxes(own.heads, own.tails, own.radii).any())
