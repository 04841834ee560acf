"""How tips and leaves share the crown: nearest neighbours, the largest empty ball, crowds.

Random points of density p in space have a nearest neighbour at Gamma(4/3) (4 pi p / 3)^(-1/3) = 0.55396 p^(-1/3) on
average (Clark and Evans, Ecology 35, 1954, carried to three dimensions).
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import ConvexHull, QhullError, cKDTree

from armature.look.figures import Reading, nothing
from armature.look.skeleton import Skeleton
from armature.tree import Floats, row_norms

_CORNERS = 2000
_RANDOM = 0.5539602785
# A point near a wall finds its neighbours on one side only. Integrated over the distance to a flat wall this adds
# 0.03036 p^(-2/3) of mean distance per wall area and volume: the double integral over wall distance h and r of
# exp(-p V(r, h)) - exp(-p V(r)), V the ball of radius r less its cap behind the wall.
_WALL = 0.0303638


def crown_hull(tips: Floats) -> ConvexHull | None:
    """Return the convex hull of tips (T, 3), or none where they are too few or lie in a plane."""
    if len(tips) < 6:
        return None
    try:
        hull = ConvexHull(tips)
    except QhullError:
        return None
    extent = np.ptp(tips, axis=0)
    return hull if hull.volume > 1e-3 * float(extent.max()) ** 3 * 0.02 else None


def neighbour_index(points: Floats, hull: ConvexHull | None) -> float:
    """Return the mean nearest-neighbour distance of points (T, 3) over that of random points in their hull, walls
    allowed for.

    1 at random, below clumped, above spread evenly; NaN without a hull. A cubic lattice without walls has 1.805. The
    points' own hull is smaller than the room they were thrown into, which lifts the index of random points to 1.25 at
    60 points and 1.06 at 1,000: the natural range was measured with own hulls too.
    """
    if hull is None:
        return float("nan")
    volume = float(hull.volume) / len(points)
    expected = _RANDOM * volume ** (1 / 3) + _WALL * volume ** (2 / 3) * float(hull.area) / float(hull.volume)
    return float(nearest(points).mean() / expected)


def nearest(points: Floats) -> Floats:
    """Return the distance of each point (T, 3) to its nearest other: (T,)."""
    return np.asarray(cKDTree(points).query(points, k=2)[0])[:, 1]


def tip_neighbours(skeleton: Skeleton, hull: ConvexHull | None) -> Reading:
    """Return the nearest-neighbour index of the tips; spoilt by the members whose tips are closest or loneliest."""
    if hull is None:
        return nothing(len(skeleton))
    order = np.argsort(nearest(skeleton.tips), kind="stable")
    few = max(len(skeleton) // 5, 2)
    return Reading(
        neighbour_index(skeleton.tips, hull), len(skeleton), low_rows=order[:few], high_rows=order[::-1][: 2 * few]
    )


def leaf_neighbours(skeleton: Skeleton) -> Reading:
    """Return the nearest-neighbour index of the leaves; spoilt by the members whose leaves crowd."""
    hull = crown_hull(skeleton.leaves)
    if hull is None:
        return nothing(len(skeleton.leaves))
    distance = nearest(skeleton.leaves)
    crowded = np.argsort(distance, kind="stable")[: max(len(distance) // 10, 1)]
    rows = skeleton.hung[crowded]
    keep = np.sort(np.unique(rows, return_index=True)[1])
    return Reading(
        neighbour_index(skeleton.leaves, hull), len(distance), low_rows=rows[keep], low_places=skeleton.leaves[crowded]
    )


def empty_ball(skeleton: Skeleton, hull: ConvexHull | None) -> Reading:
    """Return the radius of the largest ball among the tips that holds no wood, over the radius of the ball as big as
    the crown.

    Its centre lies in the hull of the tips, and at most a quarter of it outside: centres are tried on a lattice of
    about 4,000 and then moved in halving steps. The crown's ball is that of the hull's volume. The place is the ball's
    centre.
    """
    if hull is None:
        return nothing(len(skeleton))
    crown = (3.0 * float(hull.volume) / (4.0 * np.pi)) ** (1 / 3)
    wood = cKDTree(_wood(skeleton, crown / 12.0))
    side = (float(hull.volume) / 4000.0) ** (1 / 3)
    centres = _lattice(skeleton.tips, side)
    deep = _depth(hull, centres)
    centres, deep = centres[deep > 0.0], deep[deep > 0.0]
    if len(centres) == 0:
        return nothing(len(skeleton))
    room = np.minimum(wood.query(centres)[0], 1.35 * deep)
    best = np.argsort(-room, kind="stable")[:1]
    centre, radius = centres[best[0]], float(room[best[0]])
    for _ in range(5):
        side /= 2.0
        tries = centre + side * _AROUND
        reach = np.minimum(wood.query(tries)[0], 1.35 * _depth(hull, tries))
        if reach.max() > radius:
            centre, radius = tries[int(reach.argmax())], float(reach.max())
    about = np.argsort(row_norms(skeleton.tips - centre), kind="stable")[:8]
    return Reading(
        radius / crown, len(skeleton), high_rows=about, high_places=centre[None], azimuth=azimuth_of(skeleton, centre)
    )


def skin_hole(skeleton: Skeleton) -> Reading:
    """Return the half angle, deg, of the widest cone from the crown's middle that meets no wood past half the crown's
    radius.

    The crown is first scaled to be as wide as high, and only directions above 30 deg under the level count, for a
    crown is open below. The place is on the cone's axis at four fifths of the crown's radius.
    """
    wood = skeleton.points[skeleton.parents[skeleton.members] >= 0]
    if len(skeleton) < 24 or len(wood) < 50:
        return nothing(len(skeleton))
    low, high = np.quantile(skeleton.tips, 0.02, axis=0), np.quantile(skeleton.tips, 0.98, axis=0)
    middle, half = (low + high) / 2.0, np.maximum((high - low) / 2.0, 0.05 * skeleton.height)
    out = (wood - middle) / half
    far = row_norms(out)
    outer = far > 0.5
    seen = out[outer] / far[outer, None]
    turn = np.arange(600) * np.pi * (3.0 - np.sqrt(5.0))
    rise = 1.0 - (np.arange(600) + 0.5) / 300.0
    ways = np.column_stack([np.sqrt(1.0 - rise**2) * np.cos(turn), np.sqrt(1.0 - rise**2) * np.sin(turn), rise])
    ways = ways[ways[:, 2] > -0.5]
    open_to = np.degrees(2.0 * np.arcsin(np.minimum(cKDTree(seen).query(ways)[0] / 2.0, 1.0)))
    widest = int(open_to.argmax())
    place = middle + 0.8 * half * ways[widest]
    about = np.argsort(row_norms((skeleton.tips - place) / half), kind="stable")[:8]
    return Reading(
        float(open_to[widest]),
        len(skeleton),
        high_rows=about,
        high_places=place[None],
        azimuth=azimuth_of(skeleton, place),
    )


def thin_spot(skeleton: Skeleton) -> Reading:
    """Return how far the thinnest spot of the crown falls short of others at its height and distance from the middle.

    Tips are counted in balls of half the crown's radius (the crown scaled to be as wide as high), and each ball is
    held against the mean of 24 around: (mean - count) over the root of mean + mean^2 / 50, in standard deviations of a
    count whose spots differ by a seventh. The place is the ball's middle.
    """
    if len(skeleton) < 40:
        return nothing(len(skeleton))
    low, high = np.quantile(skeleton.tips, 0.02, axis=0), np.quantile(skeleton.tips, 0.98, axis=0)
    middle, half = (low + high) / 2.0, np.maximum((high - low) / 2.0, 0.05 * skeleton.height)
    turn = np.arange(24) * np.pi / 12.0
    out, up, around = np.meshgrid([0.3, 0.5, 0.7, 0.9], np.linspace(-0.8, 0.8, 7), turn, indexing="ij")
    centres = np.stack([out * np.cos(around), out * np.sin(around), up], axis=-1)
    finder = cKDTree((skeleton.tips - middle) / half)
    counts = finder.query_ball_point(centres.reshape(-1, 3), 0.5, return_length=True).reshape(out.shape)
    due = counts.mean(axis=2, keepdims=True)
    short = (due - counts) / np.sqrt(np.maximum(due, 1.0) + due**2 / 50.0)
    thinnest = np.unravel_index(int(short.argmax()), short.shape)
    place = middle + half * centres[thinnest]
    about = np.argsort(row_norms((skeleton.tips - place) / half), kind="stable")[:8]
    return Reading(
        float(short.max()), len(skeleton), high_rows=about, high_places=place[None], azimuth=azimuth_of(skeleton, place)
    )


def crowding(skeleton: Skeleton, hull: ConvexHull | None) -> Reading:
    """Return how many times as many tips as at an even spread the fullest ball holds, a ball due to hold one tip in
    sixty.

    At least 4 tips: in small trees the ball grows. The place is the fullest ball's centre.
    """
    due = max(len(skeleton) / 60.0, 4.0)
    if hull is None or len(skeleton) < 24:
        return nothing(len(skeleton))
    radius = (3.0 * due * float(hull.volume) / (4.0 * np.pi * len(skeleton))) ** (1 / 3)
    finder = cKDTree(skeleton.tips)
    about = skeleton.tips if len(skeleton) <= 4000 else skeleton.tips[:: len(skeleton) // 4000 + 1]
    counts = finder.query_ball_point(about, radius, return_length=True)
    fullest = int(np.argmax(counts))
    rows = np.array(sorted(finder.query_ball_point(about[fullest], radius)), dtype=np.int64)
    rows = rows[np.argsort(row_norms(skeleton.tips[rows] - about[fullest]), kind="stable")]
    return Reading(
        float(counts[fullest]) / due,
        len(skeleton),
        high_rows=rows,
        high_places=skeleton.tips[rows].mean(axis=0)[None],
        azimuth=azimuth_of(skeleton, about[fullest]),
    )


def azimuth_of(skeleton: Skeleton, place: Floats) -> float:
    """Return the direction, deg from +x toward +y, in which to stand from the foot so that the place faces the
    viewer."""
    out = place - skeleton.foot
    return float(np.degrees(np.arctan2(out[1], out[0])) % 360.0)


def _wood(skeleton: Skeleton, step: float) -> Floats:
    """Return points along all members no farther apart than about `step`."""
    parts = np.maximum(np.ceil(skeleton.spans / step), 1.0).astype(np.int64)
    at = np.repeat(np.arange(len(parts)), parts)
    share = (np.arange(len(at)) - np.repeat(np.cumsum(parts) - parts, parts) + 1.0) / parts[at]
    return skeleton.points[skeleton.heads][at] + share[:, None] * skeleton.steps[at]


def _lattice(points: Floats, side: float) -> Floats:
    low, high = points.min(axis=0), points.max(axis=0)
    axes = [np.arange(a + side / 2.0, b, side) for a, b in zip(low, high, strict=True)]
    return np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)


def _depth(hull: ConvexHull, points: Floats) -> Floats:
    """Return how deep each point lies under the nearest face: (Q,) mm.

    Of a hull of very many corners, two thousand of them are taken: it then lies within a thousandth of itself.
    """
    if len(hull.vertices) > 2 * _CORNERS:
        hull = ConvexHull(hull.points[hull.vertices[:: len(hull.vertices) // _CORNERS]])
    deep = np.full(len(points), np.inf)
    for block in np.array_split(hull.equations, max(len(hull.equations) // 64, 1)):
        deep = np.minimum(deep, -(points @ block[:, :3].T + block[:, 3]).max(axis=1))
    return deep


_AROUND: Floats = np.array(
    [[i, j, k] for i in (-1, 0, 1) for j in (-1, 0, 1) for k in (-1, 0, 1) if i or j or k], dtype=float
)
