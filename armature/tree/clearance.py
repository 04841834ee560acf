"""Clearance: which members come too near to each other, measured skin to skin between short tapered pieces.

Size letters: C pieces (capsules) of members, Q pairs.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from armature.tree.centreline import Floats, Ints, nearest_on_segments, row_norms, sampled
from armature.tree.joints import dot
from armature.tree.tree import Tree

if TYPE_CHECKING:
    from scipy.spatial import cKDTree

_BLOCK = 262_144
# How far, mm, the pieces may leave the centreline while members are grown or moved.
CHORD_ERROR = 0.25


@dataclass(frozen=True, eq=False)
class Capsules:
    """C straight pieces: members (C,), heads and tails (C, 3) mm, radii (C,) mm (the larger end), stations (C,) mm of
    the heads."""

    members: Ints
    heads: Floats
    tails: Floats
    radii: Floats
    stations: Floats

    @cached_property
    def lengths(self) -> Floats:
        """Length of each piece: (C,) mm."""
        return row_norms(self.tails - self.heads)

    @cached_property
    def hulls(self) -> Floats:
        """How far each piece's skin reaches from its middle: (C,) mm."""
        return self.lengths / 2.0 + self.radii

    @cached_property
    def middles(self) -> Floats:
        """Middle of each piece: (C, 3) mm."""
        return (self.heads + self.tails) / 2.0

    def taken(self, rows: Ints | np.ndarray) -> Capsules:
        """Return the pieces of the given rows or mask."""
        return Capsules(self.members[rows], self.heads[rows], self.tails[rows], self.radii[rows], self.stations[rows])


def capsules(tree: Tree, step: float, chord_error: float) -> Capsules:
    """Return the members cut into pieces of at most `step` mm that leave no centreline by more than `chord_error` mm.

    The radius holds the chord error too, so that pieces which keep apart speak for true arcs that do.
    """
    line = sampled(tree.chains, chord_error, step)
    heads = np.delete(np.arange(len(line.points)), line.offsets[1:] - 1)
    members = np.repeat(np.arange(len(tree)), np.diff(line.offsets) - 1)
    stations = line.stations[heads]
    radii = tree.diameters_at(members, stations) / 2.0 + chord_error
    return Capsules(members, line.points[heads], line.points[heads + 1], radii, stations)


def joined_capsules(one: Capsules, other: Capsules) -> Capsules:
    """Return the pieces of both."""
    return Capsules(
        np.concatenate([one.members, other.members]),
        np.concatenate([one.heads, other.heads]),
        np.concatenate([one.tails, other.tails]),
        np.concatenate([one.radii, other.radii]),
        np.concatenate([one.stations, other.stations]),
    )


@dataclass(frozen=True, eq=False)
class Index:
    """Pieces in search trees, thick ones apart from thin: thick pieces are few, and must not widen the search for
    all."""

    pieces: Capsules

    @cached_property
    def classes(self) -> list[tuple[Ints, cKDTree, float]]:
        """Rows of each class of thickness, their search tree, and how far a piece's skin reaches from its middle,
        mm."""
        if not len(self.pieces.members):
            return []
        from scipy.spatial import cKDTree

        ratio = self.pieces.radii / (2.5 * np.median(self.pieces.radii))
        thickness = np.ceil(np.log(np.maximum(ratio, 1.0)) / np.log(4.0)).astype(np.int64)
        classes: list[tuple[Ints, cKDTree, float]] = []
        for each in range(int(thickness.max()) + 1):
            rows = np.flatnonzero(thickness == each)
            if len(rows):
                part = self.pieces.taken(rows)
                reach = float(part.hulls.max())
                classes.append((rows, cKDTree(part.middles), reach))
        return classes

    def near(self, other: Index, clearance: float, same: bool = False) -> tuple[Ints, Ints]:
        """Return rows of pieces, one of these and one of the other's, nearer than `clearance` mm skin to skin: two
        (Q,).

        Where `same` tells that both speak of the same members, a member is not held against itself.
        """
        ours, theirs = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
        for left, right in self._candidates(other, clearance):
            touching = _touching(self.pieces, left, other.pieces, right, clearance, same)
            ours.append(left[touching])
            theirs.append(right[touching])
        return np.concatenate(ours), np.concatenate(theirs)

    def _candidates(self, other: Index, clearance: float) -> Iterator[tuple[Ints, Ints]]:
        """Yield rows of pieces whose middles are near enough to look closer, in blocks; of an index with itself, each
        pair once."""
        for number, (rows, tree, reach) in enumerate(self.classes):
            for other_number, (other_rows, other_tree, other_reach) in enumerate(other.classes):
                within = reach + other_reach + clearance
                if other is self and number == other_number:
                    pairs = tree.query_pairs(within, output_type="ndarray")
                    for start in range(0, len(pairs), _BLOCK):
                        yield rows[pairs[start : start + _BLOCK, 0]], rows[pairs[start : start + _BLOCK, 1]]
                elif other is not self or number < other_number:
                    for block, search in _blocks(self.pieces, rows, tree):
                        near = search.sparse_distance_matrix(other_tree, within, output_type="ndarray")
                        yield block[near["i"]], other_rows[near["j"]]


def _blocks(pieces: Capsules, rows: Ints, tree: cKDTree) -> Iterator[tuple[Ints, cKDTree]]:
    """Yield the rows in blocks with a search tree of each, so that pairs of a large crown do not all stand in
    memory."""
    from scipy.spatial import cKDTree

    if len(rows) <= _BLOCK:
        yield rows, tree
        return
    for start in range(0, len(rows), _BLOCK):
        block = rows[start : start + _BLOCK]
        yield block, cKDTree(pieces.middles[block])


def _touching(some: Capsules, left: Ints, others: Capsules, right: Ints, clearance: float, same: bool) -> Ints:
    """Return which pairs (Q,) of pieces are nearer than the clearance: looked at by their hulls before their axes."""
    between = some.middles[left] - others.middles[right]
    near = dot(between, between) < (some.hulls[left] + others.hulls[right] + clearance) ** 2
    if same:
        near &= some.members[left] != others.members[right]
    rows = np.flatnonzero(near)
    return rows[gaps(some, left[rows], others, right[rows]) < clearance]


def gaps(some: Capsules, left: Ints, others: Capsules, right: Ints) -> Floats:
    """Return the distance skin to skin between pairs of pieces: (Q,) mm, negative where they run into each other."""
    axis = nearest_on_segments(some.heads[left], some.tails[left], others.heads[right], others.tails[right])[0]
    return axis - some.radii[left] - others.radii[right]
