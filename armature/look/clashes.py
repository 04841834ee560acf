"""Members that run through each other or rub: distances between short pieces, thick and thin apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from armature.look.figures import Reading, nothing
from armature.look.skeleton import Skeleton
from armature.tree import Floats, Ints, nearest_on_segments, row_norms

# Longer segments are cut: a piece's bounding ball then holds little but the piece. Twelve radii cost least on crowns
# of 20,000 twigs; 8 and 20 cost a fifth more.
_CUT = 12.0
# Pieces whose balls are within this factor are searched together, with one radius.
_CLASS = 2.0
_BLOCK = 1_000_000
# Grown trees of 20,000 twigs have some two million such pairs.
_MOST_PAIRS = 30_000_000


@dataclass(frozen=True, eq=False)
class Pieces:
    """C straight pieces: rows (C,) members, heads (C, 3) mm, steps (C, 3) mm, radii (C,) mm, runs (C,) mm of the
    heads."""

    rows: Ints
    heads: Floats
    steps: Floats
    radii: Floats
    runs: Floats

    @property
    def tails(self) -> Floats:
        """Ends of the pieces: (C, 3) mm."""
        return self.heads + self.steps

    def at(self, rows: Ints, shares: Floats) -> Floats:
        """Return the points at shares (Q,) of pieces (Q,): (Q, 3) mm."""
        return self.heads[rows] + shares[:, None] * self.steps[rows]

    def reaches(self, air: float) -> Floats:
        """Return the radius of each piece's bounding ball about its middle: (C,) mm."""
        return row_norms(self.steps) / 2.0 + self.radii + air / 2.0


def crossings(skeleton: Skeleton) -> Reading:
    """Return the number of pairs of members whose wood meets, a member and its parent near their joint left out.

    Near: within two parent radii and three of its own from the joint, and siblings that leave one another's collar
    likewise.
    """
    if _is_too_dense(pieces_of(skeleton)):
        return nothing(len(skeleton))
    pairs, places = met(skeleton)
    rows, counts = np.unique(pairs, return_counts=True)
    worst = rows[np.argsort(-counts, kind="stable")]
    return Reading(float(len(pairs)), len(skeleton), high_rows=worst, high_places=places)


def _is_too_dense(pieces: Pieces) -> bool:
    """Return whether so many pieces lie so close that their pairs cannot be gone through: no wood grows like that."""
    size, middles = pieces.reaches(0.0), pieces.heads + pieces.steps / 2.0
    kind = np.floor(np.log(np.maximum(size, 1e-6)) / np.log(_CLASS)).astype(np.int64)
    # Pairs in cells as wide as the radius of the search: some fifth of those that would be looked at.
    cells = np.floor((middles - middles.min(axis=0)) / (2.0 * _CLASS ** (kind + 1))[:, None]).astype(np.int64)
    counts = np.unique(np.column_stack([kind, cells]), axis=0, return_counts=True)[1]
    return float((counts * (counts - 1) / 2).sum()) > _MOST_PAIRS / 5.0


def met(skeleton: Skeleton, air: float = 0.0) -> tuple[Ints, Floats]:
    """Return the pairs of members closer than `air` mm skin to skin, and where: (K, 2), (K, 3) mm."""
    pieces = pieces_of(skeleton)
    pairs, places = [np.zeros((0, 2), dtype=np.int64)], [np.zeros((0, 3))]
    for one, other in _candidates(pieces, air):
        ends = (pieces.heads[one], pieces.tails[one], pieces.heads[other], pieces.tails[other])
        gap, here, there = nearest_on_segments(*ends)
        close = np.flatnonzero(gap < pieces.radii[one] + pieces.radii[other] + air)
        close = close[~_welded(skeleton, pieces, one[close], other[close], here[close], there[close])]
        pairs.append(np.stack([pieces.rows[one[close]], pieces.rows[other[close]]], axis=1))
        at, across = pieces.at(one[close], here[close]), pieces.at(other[close], there[close])
        places.append((at + across) / 2.0)
    pairs_met, spots = np.sort(np.concatenate(pairs), axis=1), np.concatenate(places)
    keep = np.unique(pairs_met, axis=0, return_index=True)[1] if len(pairs_met) else np.zeros(0, dtype=np.int64)
    return pairs_met[keep], spots[keep]


def pieces_of(skeleton: Skeleton) -> Pieces:
    """Return the segments of a skeleton cut to at most twelve radii, or a hundredth of the height where that is
    more."""
    heads, spans = skeleton.heads, skeleton.spans
    thick = (skeleton.radii[heads] + skeleton.radii[heads + 1]) / 2.0
    parts = np.maximum(np.ceil(spans / np.maximum(_CUT * thick, 0.005 * skeleton.height)), 1.0).astype(np.int64)
    at = np.repeat(np.arange(len(heads)), parts)
    share = (np.arange(len(at)) - np.repeat(np.cumsum(parts) - parts, parts)) / parts[at]
    return Pieces(
        rows=skeleton.members[heads][at],
        heads=skeleton.points[heads][at] + share[:, None] * skeleton.steps[at],
        steps=skeleton.steps[at] / parts[at, None],
        radii=skeleton.radii[heads][at] + share * (skeleton.radii[heads + 1] - skeleton.radii[heads])[at],
        runs=skeleton.runs[heads][at] + share * spans[at],
    )


def _candidates(pieces: Pieces, air: float) -> Iterator[tuple[Ints, Ints]]:
    """Yield pairs of pieces of two members whose bounding balls meet, (K,), (K,), in blocks of bounded size."""
    size, middles = pieces.reaches(air), pieces.heads + pieces.steps / 2.0
    kind = np.floor(np.log(np.maximum(size, 1e-6)) / np.log(_CLASS)).astype(np.int64)
    groups = [np.flatnonzero(kind == each) for each in np.unique(kind)]
    finders = [cKDTree(middles[group]) for group in groups]
    for small, (group, finder) in enumerate(zip(groups, finders, strict=True)):
        for large in range(small, len(groups)):
            reach = float(size[group].max() + size[groups[large]].max())
            if large == small:
                near = finder.query_pairs(reach, output_type="ndarray")
                one, other = group[near[:, 0]], group[near[:, 1]]
            else:
                meeting = finder.sparse_distance_matrix(finders[large], reach, output_type="ndarray")
                one, other = group[meeting["i"]], groups[large][meeting["j"]]
            for first in range(0, len(one), _BLOCK):
                left, right = one[first : first + _BLOCK], other[first : first + _BLOCK]
                differ = pieces.rows[left] != pieces.rows[right]
                left, right = left[differ], right[differ]
                balls = row_norms(middles[left] - middles[right]) < size[left] + size[right]
                yield left[balls], right[balls]


def _welded(
    skeleton: Skeleton, pieces: Pieces, one: Ints, other: Ints, here: Floats, there: Floats
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return whether pairs are nearest where the two are welded, to each other or side by side to one parent."""
    on_one = pieces.runs[one] + here * row_norms(pieces.steps[one])
    on_other = pieces.runs[other] + there * row_norms(pieces.steps[other])
    first, second = pieces.rows[one], pieces.rows[other]
    start = skeleton.radii[skeleton.offsets[:-1]]
    welded = np.zeros(len(one), dtype=bool)
    for child, parent, on_child, on_parent, wide in (
        (first, second, on_one, on_other, pieces.radii[other]),
        (second, first, on_other, on_one, pieces.radii[one]),
    ):
        collar = 2.0 * wide + 3.0 * start[child]
        at_joint = (on_child < collar) & (np.abs(on_parent - skeleton.stations[child]) < 2.0 * collar)
        welded |= (skeleton.parents[child] == parent) & at_joint
    siblings = np.flatnonzero((skeleton.parents[first] == skeleton.parents[second]) & (skeleton.parents[first] >= 0))
    left, right = first[siblings], second[siblings]
    collar = 2.0 * (skeleton.radii_at(skeleton.parents[left], skeleton.stations[left]) + start[left] + start[right])
    both = (on_one[siblings] < collar) & (on_other[siblings] < collar)
    welded[siblings] |= both & (np.abs(skeleton.stations[left] - skeleton.stations[right]) < collar)
    return welded
