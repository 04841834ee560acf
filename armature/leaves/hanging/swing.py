"""Room to swing: how much of its swing each leaf has clear of other leaves and of steel.

A leaf hangs from its eye and swings to any side, up to an angle from plumb. It is taken as a rod from the eye to
the apex with a quarter of the blade's width around it: a flat leaf that turns freely about its loop meets others with
its edge or its face, and the quarter is the mean of the two. It is tried at rest, and at a third, two thirds and the
whole of the swing in twelve directions, against its neighbours at rest and against all steel. The twig that it hangs
from it can meet too, but not with the quarter of its length next the eye: stalk and base of the blade are narrower
than the rod, and the loop holds them off.

Both choices were set against denser trying on the garden and the weeping preset. Of 168 leaves that 577 poses found to
strike in over a quarter of their swing, seventeen poses (half and whole swing, eight directions) had passed 29;
these thirty-seven pass 6, and otherwise err to the strict side, since the whole swing counts in full. Flat outlines
turned to eight sides met their own twig in 0.058 and 0.197 of their poses; rods from a quarter of the length on in
0.066 and 0.174, leaf by leaf with a correlation of 0.95 and 0.92.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from armature.leaves.hanging.meeting import Bools, Floats, Ints, outside_swing, poses_joined, rods_met

DIRECTIONS = 12
RINGS = 3
BODY = 0.25
STALK = 0.25
# Pieces of a member, mm: short enough that a bar bent to its least radius stays within a millimetre of them.
STEP = 20.0
# Leaves looked at together, so that a tree of any size takes no more memory than this.
_BATCH = 16384
# Bars are sought by thickness, mm, so that the trunk does not widen the search among the twigs.
_CLASSES = (6.0, 15.0, 40.0, np.inf)


@dataclass(frozen=True, eq=False)
class Rods:
    """L leaves as rods: eyes (L, 3), lengths (L,), radii (L,), mm; twigs (L,) that they hang from."""

    eyes: Floats
    lengths: Floats
    radii: Floats
    twigs: Ints

    def __len__(self) -> int:
        return len(self.lengths)

    def taken(self, rows: NDArray[np.int64] | NDArray[np.bool_]) -> Rods:
        """Return some of the leaves."""
        return Rods(self.eyes[rows], self.lengths[rows], self.radii[rows], self.twigs[rows])

    def put(self, rows: Ints, others: Rods) -> Rods:
        """Return the leaves with some of them changed for others."""
        eyes, lengths, radii = self.eyes.copy(), self.lengths.copy(), self.radii.copy()
        twigs = self.twigs.copy()
        eyes[rows], lengths[rows], radii[rows], twigs[rows] = others.eyes, others.lengths, others.radii, others.twigs
        return Rods(eyes, lengths, radii, twigs)


@dataclass(frozen=True, eq=False)
class Steel:
    """All steel as P short round bars: starts (P, 3), axes (P, 3) unit, runs (P,), radii (P,), mm; members (P,)."""

    starts: Floats
    axes: Floats
    runs: Floats
    radii: Floats
    members: Ints

    @cached_property
    def middles(self) -> Floats:
        """Middle of each piece, mm: (P, 3)."""
        return self.starts + self.axes * (self.runs[:, None] / 2)

    @cached_property
    def classes(self) -> list[tuple[Ints, float, cKDTree]]:
        """Pieces by thickness, how far such a piece reaches from its middle at most, mm, and a tree of the middles."""
        kind = np.searchsorted(_CLASSES, self.radii)
        rows = [np.flatnonzero(kind == k) for k in range(len(_CLASSES))]
        reach = self.radii + self.runs / 2
        return [(r, float(reach[r].max()), cKDTree(self.middles[r])) for r in rows if len(r)]


def poses(swing_deg: float) -> Floats:
    """Return the directions in which a leaf is tried, from eye to apex: (3 * 12 + 1, 3), rest first."""
    turn = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    poses_of = [np.array([[0.0, 0.0, -1.0]])]
    for angle in np.deg2rad(swing_deg) * np.arange(1, RINGS + 1) / RINGS:
        s, c = np.sin(angle), np.cos(angle)
        poses_of.append(np.stack([s * np.cos(turn), s * np.sin(turn), np.full(DIRECTIONS, -c)], axis=1))
    return np.concatenate(poses_of)


def strike_shares(tried: Rods, tried_rows: Ints, resting: Rods, steel: Steel, swing_deg: float) -> Floats:
    """Return the share of its poses in which each tried leaf meets a leaf at rest or steel: (Q,).

    tried_rows: (Q,) row of each tried leaf among those at rest; a leaf never meets itself.
    """
    struck = steel_struck(tried, steel, swing_deg)
    one, other = near_leaves(tried, resting, swing_deg)
    apart = tried_rows[one] != other
    one, other = one[apart], other[apart]
    poses_joined(struck, one, leaves_met(tried.taken(one), resting.taken(other), swing_deg))
    return np.asarray(struck.mean(axis=1)) if len(tried) else np.zeros(0)


def leaves_met(swung: Rods, resting: Rods, swing_deg: float) -> Bools:
    """Return in which poses each of N swung leaves meets the leaf at rest beside it in the list: (N, P)."""
    plumb = np.broadcast_to([0.0, 0.0, -1.0], swung.eyes.shape)
    gaps, none = swung.radii + resting.radii, np.zeros(len(swung))
    return rods_met(swung.eyes - resting.eyes, swung.lengths, gaps, plumb, resting.lengths, poses(swing_deg), none)


def near_leaves(tried: Rods, resting: Rods, swing_deg: float) -> tuple[Ints, Ints]:
    """Return the pairs (tried, resting) that could meet, whichever of the two swings, by row of the tried."""
    if len(tried) == 0 or len(resting) == 0:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    sine = np.sin(np.deg2rad(swing_deg))
    longest = max(float(tried.lengths.max()), float(resting.lengths.max()))
    around = float(tried.radii.max() + resting.radii.max())
    one, other = _boxed(tried.eyes, resting.eyes, sine * longest + around, longest + around)
    offset = resting.eyes[other] - tried.eyes[one]
    gap = tried.radii[one] + resting.radii[other]
    beside = np.hypot(offset[:, 0], offset[:, 1])
    close = beside < sine * np.maximum(tried.lengths[one], resting.lengths[other]) + gap
    close &= (offset[:, 2] < resting.lengths[other] + gap) & (-offset[:, 2] < tried.lengths[one] + gap)
    return one[close], other[close]


def steel_struck(tried: Rods, steel: Steel, swing_deg: float) -> Bools:
    """Return in which poses each tried leaf meets steel: (Q, P)."""
    ways = poses(swing_deg)
    struck = np.zeros((len(tried), len(ways)), dtype=bool)
    for start in range(0, len(tried), _BATCH):
        part = slice(start, start + _BATCH)
        _strike_steel(struck[part], tried.taken(np.arange(len(tried))[part]), ways, steel, swing_deg)
    return struck


def _strike_steel(struck: Bools, tried: Rods, ways: Floats, steel: Steel, swing_deg: float) -> None:
    places, index = np.unique(tried.eyes, axis=0, return_inverse=True)
    for one, piece in _near_steel(tried, places, index.reshape(-1), steel, swing_deg):
        own = steel.members[piece] == tried.twigs[one]
        lengths, gaps = tried.lengths[one], tried.radii[one] + steel.radii[piece]
        offsets = tried.eyes[one] - steel.starts[piece]
        firsts = np.where(own, STALK * lengths, 0.0)
        met = rods_met(offsets, lengths, gaps, steel.axes[piece], steel.runs[piece], ways, firsts)
        poses_joined(struck, one, met)


def _near_steel(
    tried: Rods, places: Floats, index: Ints, steel: Steel, swing_deg: float
) -> Iterator[tuple[Ints, Ints]]:
    """Pairs (tried, piece) that could meet. Leaves tried at one place, `index` (Q,) of `places`, look around once."""
    sine = np.sin(np.deg2rad(swing_deg))
    longest, widest = float(tried.lengths.max()), float(tried.radii.max())
    order = np.argsort(index, kind="stable")
    firsts = np.searchsorted(index[order], np.arange(len(places) + 1))
    low = places - [0.0, 0.0, longest / 2]
    around = cKDTree(low)
    for rows, reach, middles in steel.classes:
        place, piece = _within(around, middles, max(sine, 0.5) * longest + reach + widest)
        piece = rows[piece]
        size = steel.radii[piece] + steel.runs[piece] / 2
        # Measured for the longest leaf, and so for every shorter one on the safe side.
        far = outside_swing(steel.middles[piece] - places[place], np.full(len(place), longest), swing_deg) - size
        close = far < widest
        place, piece, far = place[close], piece[close], far[close]
        each = firsts[place + 1] - firsts[place]
        one = order[spread(firsts[place], each)]
        kept = np.repeat(far, each) < tried.radii[one]
        yield one[kept], np.repeat(piece, each)[kept]


def spread(starts: Ints, counts: Ints) -> Ints:
    """Return the numbers from each start on, as many as its count, one after another.

    >>> spread(np.array([5, 0]), np.array([2, 3])).tolist()
    [5, 6, 0, 1, 2]
    """
    ends = np.cumsum(counts)
    return np.asarray(np.arange(int(counts.sum())) + np.repeat(starts - (ends - counts), counts))


def _boxed(ones: Floats, others: Floats, wide: float, tall: float) -> tuple[Ints, Ints]:
    """Pairs of points (N, 3) and (M, 3) no farther apart than `wide` in x and y and `tall` in z, in order."""
    scale = np.array([1.0, 1.0, wide / tall])
    one, other = _within(cKDTree(ones * scale), cKDTree(others * scale), wide)
    order = np.lexsort((other, one))
    return one[order], other[order]


def _within(ones: cKDTree, others: cKDTree, wide: float) -> tuple[Ints, Ints]:
    """Pairs of points of two trees whose coordinates all lie within `wide` of each other."""
    pairs = ones.sparse_distance_matrix(others, wide, p=np.inf, output_type="ndarray")
    return pairs["i"].astype(np.int64), pairs["j"].astype(np.int64)
