"""Members that run through each other or rub: distances between pieces, thick and thin apart."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from armature.centreline import Floats, Ints, row_norms
from armature.look.reading import Reading
from armature.look.skeleton import Skeleton

# Pieces of one thickness class are searched with one radius; classes double in size.
_CLASSES = 2.0


def crossings(tree: Skeleton) -> Reading:
    """Return the number of pairs of members whose wood meets, a member and its host near their joint left out.

    Near: within two host radii and three of its own from the joint, and siblings that leave one another's collar
    likewise.
    """
    pairs, places = met(tree)
    rows, counts = np.unique(pairs, return_counts=True)
    worst = rows[np.argsort(-counts, kind="stable")]
    return Reading(float(len(pairs)), len(tree), high_rows=worst, high_places=places)


def met(tree: Skeleton, air: float = 0.0) -> tuple[Ints, Floats]:
    """Return the pairs of members closer than `air` mm skin to skin, and where: (K, 2), (K, 3) mm."""
    one, other = _candidates(tree, air)
    gap, here, there, middle = _apart(tree, one, other)
    heads = tree.heads
    rows = tree.members[heads]
    first, second = rows[one], rows[other]
    thick = tree.radii[heads]
    reach = thick[one] + thick[other] + air
    close = (gap < reach) & ~_joined(tree, one, other, here, there)
    pairs = np.sort(np.stack([first[close], second[close]], axis=1), axis=1)
    keep = np.unique(pairs, axis=0, return_index=True)[1] if len(pairs) else np.zeros(0, dtype=np.int64)
    return pairs[keep], middle[close][keep]


def _candidates(tree: Skeleton, air: float) -> tuple[Ints, Ints]:
    """Return pairs of segments of two members whose bounding balls meet: (K,), (K,) segment numbers."""
    size = tree.spans / 2.0 + np.maximum(tree.radii[tree.heads], tree.radii[tree.heads + 1]) + air / 2.0
    kind = np.floor(np.log(np.maximum(size, 1e-6)) / np.log(_CLASSES)).astype(np.int64)
    groups = [np.flatnonzero(kind == each) for each in np.unique(kind)]
    finders = [cKDTree(tree.middles[group]) for group in groups]
    found: list[Ints] = []
    for small, (group, finder) in enumerate(zip(groups, finders, strict=True)):
        for large in range(small, len(groups)):
            reach = float(size[group].max() + size[groups[large]].max())
            if large == small:
                near = finder.query_pairs(reach, output_type="ndarray")
                found.append(np.stack([group[near[:, 0]], group[near[:, 1]]], axis=1))
            else:
                met = finder.sparse_distance_matrix(finders[large], reach, output_type="ndarray")
                found.append(np.stack([group[met["i"]], groups[large][met["j"]]], axis=1))
    pairs = np.concatenate(found)
    rows = tree.members[tree.heads]
    pairs = pairs[rows[pairs[:, 0]] != rows[pairs[:, 1]]]
    near = row_norms(tree.middles[pairs[:, 0]] - tree.middles[pairs[:, 1]]) < size[pairs[:, 0]] + size[pairs[:, 1]]
    return pairs[near, 0], pairs[near, 1]


def _apart(tree: Skeleton, one: Ints, other: Ints) -> tuple[Floats, Floats, Floats, Floats]:
    """Return the distance of each pair of segments, the runs (shares) at which they are nearest, and the point between.

    Nearest points of two segments: Ericson, Real-Time Collision Detection, 2005, section 5.1.9, from memory.
    """
    p, d = tree.points[tree.heads[one]], tree.steps[one]
    q, e = tree.points[tree.heads[other]], tree.steps[other]
    r = p - q
    a, b, c = _dot(d, d), _dot(d, e), _dot(d, r)
    f, g = _dot(e, e), _dot(e, r)
    a, f = np.maximum(a, 1e-18), np.maximum(f, 1e-18)
    plane = a * f - b * b
    s = np.where(plane > 1e-12 * a * f, np.clip((b * g - c * f) / np.maximum(plane, 1e-18), 0.0, 1.0), 0.0)
    t = np.clip((b * s + g) / f, 0.0, 1.0)
    s = np.clip((b * t - c) / a, 0.0, 1.0)
    here, there = p + s[:, None] * d, q + t[:, None] * e
    return row_norms(here - there), s, t, (here + there) / 2.0


def _joined(
    tree: Skeleton, one: Ints, other: Ints, here: Floats, there: Floats
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return whether a pair is nearest where the two are welded, to each other or side by side to one host."""
    rows, runs = tree.members[tree.heads], tree.runs[tree.heads]
    near_joint = np.zeros(len(one), dtype=bool)
    for left, right, at_left, at_right in ((one, other, here, there), (other, one, there, here)):
        child, host = rows[left], rows[right]
        collar = 2.0 * tree.radii[tree.heads[right]] + 3.0 * tree.radii[tree.offsets[child]]
        on_child = runs[left] + at_left * tree.spans[left]
        on_host = runs[right] + at_right * tree.spans[right]
        touches = (tree.hosts[child] == host) & (on_child < collar)
        near_joint |= touches & (np.abs(on_host - tree.stations[child]) < 2.0 * collar)
    first, second = rows[one], rows[other]
    siblings = (tree.hosts[first] == tree.hosts[second]) & (tree.hosts[first] >= 0)
    host_wide = tree.radii_at(np.maximum(tree.hosts[first], 0), tree.stations[first])
    collar = 2.0 * host_wide + 2.0 * (tree.radii[tree.offsets[first]] + tree.radii[tree.offsets[second]])
    both = (runs[one] + here * tree.spans[one] < collar) & (runs[other] + there * tree.spans[other] < collar)
    return np.asarray(near_joint | (siblings & both & (np.abs(tree.stations[first] - tree.stations[second]) < collar)))


def _dot(left: Floats, right: Floats) -> Floats:
    return np.asarray(np.einsum("ij,ij->i", left, right))
