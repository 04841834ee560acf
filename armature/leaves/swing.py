"""Room to swing: how much of its swing each leaf has clear of other leaves and of steel.

A leaf hangs from its eye and swings to any side, up to an angle from plumb. It is taken as a rod from the eye to
the apex with a quarter of the blade's width around it: a flat leaf that turns freely about its loop meets others with
its edge or its face, and the quarter is the mean of the two. It is tried at rest, and at the half and the full swing
in eight directions, against its neighbours at rest and against all steel but the twig right at its loop.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
DIRECTIONS = 8
BODY = 0.25
_STEP = 20.0


@dataclass(frozen=True, eq=False)
class Rods:
    """L leaves as rods: eyes (L, 3), lengths (L,), radii (L,), mm; twigs (L,) and stations (L,) of their loops."""

    eyes: Floats
    lengths: Floats
    radii: Floats
    twigs: Ints
    stations: Floats

    def taken(self, rows: Ints) -> Rods:
        """Return some of the leaves."""
        return Rods(self.eyes[rows], self.lengths[rows], self.radii[rows], self.twigs[rows], self.stations[rows])


@dataclass(frozen=True, eq=False)
class Steel:
    """All steel as P balls along the centrelines: points (P, 3), radii (P,), members (P,), stations (P,), mm."""

    points: Floats
    radii: Floats
    members: Ints
    stations: Floats


def poses(swing_deg: float) -> Floats:
    """Return the directions in which a leaf is tried, from eye to apex: (2 * 8 + 1, 3), rest first."""
    turn = 2 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    found = [np.array([[0.0, 0.0, -1.0]])]
    for angle in np.deg2rad([swing_deg / 2, swing_deg]):
        s, c = np.sin(angle), np.cos(angle)
        found.append(np.stack([s * np.cos(turn), s * np.sin(turn), np.full(DIRECTIONS, -c)], axis=1))
    return np.concatenate(found)


def strike_shares(tried: Rods, tried_rows: Ints, resting: Rods, steel: Steel, swing_deg: float) -> Floats:
    """Return the share of its poses in which each tried leaf meets a leaf at rest or steel: (Q,).

    tried_rows: (Q,) row of each tried leaf among those at rest; a leaf never meets itself.
    """
    ways = poses(swing_deg)
    struck = np.zeros((len(tried.eyes), len(ways)), dtype=bool)
    if len(tried.eyes):
        _strike_leaves(struck, ways, tried, tried_rows, resting)
        _strike_steel(struck, ways, tried, steel)
    return np.asarray(struck.mean(axis=1))


def _strike_leaves(struck: NDArray[np.bool_], ways: Floats, tried: Rods, rows: Ints, resting: Rods) -> None:
    half = resting.lengths / 2
    middles = resting.eyes - np.stack([0 * half, 0 * half, half], axis=1)
    one, other = _close(tried, cKDTree(middles), float(half.max()) + float(resting.radii.max()))
    keep = rows[one] != other
    one, other = one[keep], other[keep]
    down = np.array([0.0, 0.0, -1.0])
    b = resting.lengths[other, None] * down
    for k, way in enumerate(ways):
        a = tried.lengths[one, None] * way
        gap = rod_distances(tried.eyes[one], a, resting.eyes[other], b)
        np.logical_or.at(struck[:, k], one, gap < tried.radii[one] + resting.radii[other])


def _strike_steel(struck: NDArray[np.bool_], ways: Floats, tried: Rods, steel: Steel) -> None:
    one, ball = _close(tried, cKDTree(steel.points), float(steel.radii.max()))
    # The twig at the loop itself is what the leaf hangs from.
    home = (steel.members[ball] == tried.twigs[one]) & (
        np.abs(steel.stations[ball] - tried.stations[one]) < 2.0 * _STEP + tried.radii[one]
    )
    one, ball = one[~home], ball[~home]
    offset = steel.points[ball] - tried.eyes[one]
    for k, way in enumerate(ways):
        along = np.clip(offset @ way, 0.0, tried.lengths[one])
        gap = np.sqrt(np.sum((offset - along[:, None] * way) ** 2, axis=1))
        np.logical_or.at(struck[:, k], one, gap < tried.radii[one] + steel.radii[ball])


def _close(tried: Rods, tree: cKDTree, reach: float) -> tuple[Ints, Ints]:
    """Pairs (tried, found) that could meet: points within the leaf's length, its radius and `reach` of the eye."""
    lists = tree.query_ball_point(tried.eyes, tried.lengths + tried.radii + reach, return_sorted=True)
    counts = np.fromiter((len(found) for found in lists), dtype=np.int64, count=len(lists))
    one = np.repeat(np.arange(len(lists)), counts)
    other = np.concatenate([np.asarray(found, dtype=np.int64) for found in lists]) if counts.sum() else one
    return one, other


def rod_distances(p: Floats, a: Floats, q: Floats, b: Floats) -> Floats:
    """Return the least distance in mm between rods p to p + a and q to q + b: (N,), all (N, 3).

    The nearest points of two segments (Ericson, Real-Time Collision Detection, 2005, section 5.1.9, from memory).

    >>> z = np.zeros((1, 3))
    >>> float(rod_distances(z, z + [1, 0, 0], z + [0, 2, 0], z + [0, 0, 1])[0])
    2.0
    """
    r = p - q
    aa, bb, ab = _dot(a, a), _dot(b, b), _dot(a, b)
    ar, br = _dot(a, r), _dot(b, r)
    wide = aa * bb - ab * ab
    s = np.where(wide > 1e-9 * aa * bb, np.clip((ab * br - ar * bb) / np.where(wide > 0, wide, 1.0), 0.0, 1.0), 0.0)
    t = (ab * s + br) / bb
    s = np.where(t < 0, np.clip(-ar / aa, 0, 1), np.where(t > 1, np.clip((ab - ar) / aa, 0, 1), s))
    t = np.clip(t, 0.0, 1.0)
    gap = r + s[:, None] * a - t[:, None] * b
    return np.asarray(np.sqrt(_dot(gap, gap)))


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(np.einsum("ij,ij->i", a, b))
