"""Clearance: which members come too near to each other, measured skin to skin between short tapered pieces.

Size letters: C pieces (capsules) of members, Q pairs. The distance between two segments is the closed form of Lumelsky
(Information Processing Letters 21, 1985): clamp one parameter, project, clamp the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import cKDTree

from armature.centreline import Floats, Ints, row_norms, sampled
from armature.joints import dot
from armature.tree import Tree


@dataclass(frozen=True, eq=False)
class Capsules:
    """C straight pieces: members (C,), heads and tails (C, 3) mm, radii (C,) mm (the larger end), stations (C,) mm of the heads."""

    members: Ints
    heads: Floats
    tails: Floats
    radii: Floats
    stations: Floats

    @cached_property
    def lengths(self) -> Floats:
        """Length of each piece: (C,) mm."""
        return row_norms(self.tails - self.heads)

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


def near_pairs(some: Capsules, others: Capsules, clearance: float) -> tuple[Ints, Ints]:
    """Return rows of pieces, one of `some` and one of `others`, nearer than `clearance` mm skin to skin: two (Q,).

    Thick pieces are few: they are looked up apart, so that their reach does not widen the search for all.
    """
    found_a, found_b = [np.zeros(0, dtype=np.int64)], [np.zeros(0, dtype=np.int64)]
    for a, b in ((x, y) for x in _by_thickness(some) for y in _by_thickness(others)):
        if len(a) and len(b):
            left, right = _candidates(some.taken(a), others.taken(b), clearance)
            found_a.append(a[left])
            found_b.append(b[right])
    left, right = np.concatenate(found_a), np.concatenate(found_b)
    gap = gaps(some, left, others, right)
    near = gap < clearance
    return left[near], right[near]


def gaps(some: Capsules, left: Ints, others: Capsules, right: Ints) -> Floats:
    """Return the distance skin to skin between pairs of pieces: (Q,) mm, negative where they run into each other."""
    axis = segment_distances(some.heads[left], some.tails[left], others.heads[right], others.tails[right])
    return axis - some.radii[left] - others.radii[right]


def segment_distances(p: Floats, p_end: Floats, q: Floats, q_end: Floats) -> Floats:
    """Return the least distance between segments p-p_end and q-q_end, row by row: (Q,) mm."""
    u, v, w = p_end - p, q_end - q, p - q
    a, b, c, d, e = dot(u, u), dot(u, v), dot(v, v), dot(u, w), dot(v, w)
    denominator = a * c - b * b
    parallel = denominator < 1e-12 * np.maximum(a * c, 1e-30)
    s = np.where(parallel, 0.0, np.clip((b * e - c * d) / np.where(parallel, 1.0, denominator), 0.0, 1.0))
    t = (b * s + e) / np.maximum(c, 1e-30)
    t_held = np.clip(t, 0.0, 1.0)
    s = np.where(t != t_held, np.clip((b * t_held - d) / np.maximum(a, 1e-30), 0.0, 1.0), s)
    gap = w + s[:, None] * u - t_held[:, None] * v
    return np.asarray(np.sqrt(dot(gap, gap)))


def _by_thickness(pieces: Capsules) -> tuple[Ints, Ints]:
    if not len(pieces.radii):
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    thick = pieces.radii > 2.5 * np.median(pieces.radii)
    return np.flatnonzero(~thick), np.flatnonzero(thick)


def _candidates(a: Capsules, b: Capsules, clearance: float) -> tuple[Ints, Ints]:
    half = max(_half_length(a), 0.0) + _half_length(b)
    reach = half + float(a.radii.max()) + float(b.radii.max()) + clearance
    middles_a, middles_b = (a.heads + a.tails) / 2.0, (b.heads + b.tails) / 2.0
    pairs = cKDTree(middles_a).sparse_distance_matrix(cKDTree(middles_b), reach, output_type="ndarray")
    left, right = pairs["i"].astype(np.int64), pairs["j"].astype(np.int64)
    order = np.lexsort((right, left))
    return left[order], right[order]


def _half_length(pieces: Capsules) -> float:
    return float(pieces.lengths.max(initial=0.0)) / 2.0
