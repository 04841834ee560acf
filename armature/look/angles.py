"""How members leave their parents and how they run: insertion angles, divergence, spacing, path over chord, kinks.

Lengths in the definitions scale with the tree: the natural ranges were measured over a child's first 0.3 m on trees of
about 15 m, hence 2 % of the height here.
"""

from __future__ import annotations

import numpy as np

from armature.look.figures import Reading, nothing
from armature.look.skeleton import Skeleton
from armature.tree import Floats, Ints, row_norms

REACH = 0.02
LONG = 0.06
KINK = 65.0


def insertion_angles(skeleton: Skeleton) -> Floats:
    """Return the angle between each member's first 2 % of the height and its parent's axis there: (M,) deg, NaN for a
    trunk.

    >>> from tests.trees import gallows
    >>> from armature.look.skeleton import skeleton_of
    >>> insertion_angles(skeleton_of(gallows()))[1].round(6)
    np.float64(90.0)
    """
    reach = REACH * skeleton.height
    rows = np.flatnonzero(skeleton.parents >= 0)
    angles = np.full(len(skeleton), np.nan)
    own = skeleton.located(rows, np.minimum(reach, skeleton.lengths[rows]))[0] - skeleton.starts[rows]
    angles[rows] = _between(own, axes_at(skeleton, skeleton.parents[rows], skeleton.stations[rows], reach))
    return angles


def axes_at(skeleton: Skeleton, rows: Ints, stations: Floats, reach: float) -> Floats:
    """Return the direction of the members (Q,) about the stations (Q,) mm, taken over `reach` mm to both sides: (Q,
    3)."""
    ahead = skeleton.located(rows, np.minimum(stations + reach, skeleton.lengths[rows]))[0]
    behind = skeleton.located(rows, np.maximum(stations - reach, 0.0))[0]
    span = ahead - behind
    return span / np.maximum(row_norms(span), 1e-12)[:, None]


def angle_mean(skeleton: Skeleton, angles: Floats, rank: int) -> Reading:
    """Return the mean insertion angle, deg, of the members of one rank; spoilt by those farthest to that side."""
    rows = _of_rank(skeleton, angles, rank)
    if len(rows) < 3:
        return nothing(len(rows))
    order = rows[np.argsort(angles[rows], kind="stable")]
    few = max(len(rows) // 3, 1)
    return Reading(float(angles[rows].mean()), len(rows), low_rows=order[:few], high_rows=order[::-1][:few])


def angle_spread(skeleton: Skeleton, angles: Floats, rank: int) -> Reading:
    """Return the standard deviation, deg, of the insertion angles of one rank.

    Too little: spoilt by those nearest to the mean. Too much: by those farthest from it.
    """
    rows = _of_rank(skeleton, angles, rank)
    if len(rows) < 4:
        return nothing(len(rows))
    away = np.abs(angles[rows] - angles[rows].mean())
    order = rows[np.argsort(away, kind="stable")]
    return Reading(
        float(angles[rows].std(ddof=1)),
        len(rows),
        low_rows=order[: max(2 * len(rows) // 3, 2)],
        high_rows=order[::-1][: max(len(rows) // 10, 1)],
    )


def backward(angles: Floats) -> Reading:
    """Return the share of members, in per cent, that leave their parent at over 105 deg, against its growth."""
    rows = np.flatnonzero(np.isfinite(angles))
    if len(rows) < 4:
        return nothing(len(rows))
    back = rows[angles[rows] > 105.0]
    value = 100.0 * len(back) / len(rows)
    return Reading(value, len(rows), high_rows=back[np.argsort(-angles[back], kind="stable")])


def divergences(skeleton: Skeleton) -> tuple[Ints, Floats]:
    """Return the members that follow a sibling on the same parent, and the azimuth between the two: (K,), (K,) deg in
    0-180.

    The azimuth is taken about the parent's axis halfway between the two.
    """
    order = skeleton.children
    after = np.flatnonzero(skeleton.parents[order[1:]] == skeleton.parents[order[:-1]]) + 1
    here, before = order[after], order[after - 1]
    reach = REACH * skeleton.height
    axis = axes_at(
        skeleton, skeleton.parents[here], (skeleton.stations[here] + skeleton.stations[before]) / 2.0, 2.0 * reach
    )
    sides = []
    for rows in (here, before):
        own = skeleton.located(rows, np.minimum(reach, skeleton.lengths[rows]))[0] - skeleton.starts[rows]
        sides.append(own - np.einsum("ij,ij->i", own, axis)[:, None] * axis)
    return here, _between(sides[0], sides[1])


def divergence_median(skeleton: Skeleton, steps: tuple[Ints, Floats]) -> Reading:
    """Return the median azimuth, deg, between successive members on the trunk."""
    rows, turns = steps
    on_trunk = skeleton.parents[skeleton.parents[rows]] < 0
    if on_trunk.sum() < 3:
        return nothing(int(on_trunk.sum()))
    rows, turns = rows[on_trunk], turns[on_trunk]
    order = rows[np.argsort(turns, kind="stable")]
    half = max(len(rows) // 3, 1)
    return Reading(float(np.median(turns)), len(rows), low_rows=order[:half], high_rows=order[::-1][:half])


def divergence_spread(steps: tuple[Ints, Floats]) -> Reading:
    """Return the standard deviation, deg, of the azimuths between successive members on the same parent, all ranks."""
    rows, turns = steps
    if len(rows) < 5:
        return nothing(len(rows))
    away = np.abs(turns - np.median(turns))
    near = rows[np.argsort(away, kind="stable")]
    return Reading(float(turns.std(ddof=1)), len(rows), low_rows=near[: 2 * len(rows) // 3])


def spacing_evenness(skeleton: Skeleton) -> Reading:
    """Return the spread of the gaps between successive members over their mean, averaged over parents with 4 and more.

    Gaps thrown at random have 1, equal ones 0 (exponential spacings; Cox and Lewis, The Statistical Analysis of Series
    of Events, 1966, from memory). The sample value of n gaps is freed of its bias by sqrt((n + 1) / (n - 1)).
    Parents whose members all leave at one point, as in a whorl, have no gaps and are left out.
    """
    order = skeleton.children
    parents, counts = np.unique(skeleton.parents[order], return_counts=True)
    ends = np.cumsum(counts)
    ratios, weights, owners = [], [], []
    for parent, first, last in zip(parents.tolist(), (ends - counts).tolist(), ends.tolist(), strict=True):
        gaps = np.diff(skeleton.stations[order[first:last]])
        if len(gaps) < 3 or gaps.sum() < 0.02 * skeleton.height:
            continue
        ratio = float(gaps.std() / gaps.mean()) * np.sqrt((len(gaps) + 1.0) / (len(gaps) - 1.0))
        ratios.append(ratio)
        weights.append(len(gaps))
        owners.append(parent)
    if not ratios:
        return nothing()
    each, owner = np.array(ratios), np.array(owners, dtype=np.int64)
    regular = owner[np.argsort(each, kind="stable")][: int((each < 0.35).sum()) or 1]
    carried = order[np.isin(skeleton.parents[order], regular)]
    value = float(np.average(each, weights=weights))
    return Reading(value, int(sum(weights)), low_rows=np.concatenate([regular, carried]))


def path_over_chord(skeleton: Skeleton, rank: int) -> Reading:
    """Return the mean path length over chord of the members of a rank that are longer than 6 % of the height."""
    chords = row_norms(skeleton.tips - skeleton.starts)
    rows = np.flatnonzero((skeleton.ranks == rank) & (skeleton.lengths > LONG * skeleton.height) & (chords > 1e-6))
    if len(rows) < (1 if rank == 0 else 3):
        return nothing(len(rows))
    ratios = np.minimum(skeleton.lengths[rows] / chords[rows], 3.0)
    order = rows[np.argsort(ratios, kind="stable")]
    few = max(len(rows) // 5, 1)
    return Reading(float(ratios.mean()), len(rows), low_rows=order[: 3 * few], high_rows=order[::-1][:few])


def kink_share(skeleton: Skeleton, kinks: tuple[Ints, Floats]) -> Reading:
    """Return the share of members with a kink, in per cent of those longer than 4 % of the height."""
    long = int((skeleton.lengths > 2.0 * REACH * skeleton.height).sum())
    if long < 3:
        return nothing(long)
    return Reading(100.0 * len(kinks[0]) / long, long, high_rows=kinks[0], high_places=kinks[1])


def kink_count(skeleton: Skeleton, kinks: tuple[Ints, Floats]) -> Reading:
    """Return the number of members with a kink."""
    return Reading(float(len(kinks[0])), len(skeleton), high_rows=kinks[0], high_places=kinks[1])


def kinks(skeleton: Skeleton) -> tuple[Ints, Floats]:
    """Return the members that turn by more than 65 deg within 4 % of the height, sharpest first, and where: (K,), (<=
    50, 3).

    The turn is taken between chords of 2 % of the height before and after each point, past a member's first 3 %, so
    that neither a scan's jitter nor the way it leaves its parent is a kink.
    """
    reach = REACH * skeleton.height
    rows, runs = skeleton.members, skeleton.runs
    inside = (runs > 1.5 * reach) & (runs < skeleton.lengths[rows] - 0.5 * reach)
    rows, runs = rows[inside], runs[inside]
    here = skeleton.points[inside]
    ahead = skeleton.located(rows, np.minimum(runs + reach, skeleton.lengths[rows]))[0] - here
    behind = here - skeleton.located(rows, np.maximum(runs - reach, 0.0))[0]
    turns = _between(ahead, behind)
    worst = np.zeros(len(skeleton))
    np.maximum.at(worst, rows, turns)
    bad = np.argsort(-worst, kind="stable")[: int((worst > KINK).sum())]
    places = [here[rows == row][np.argmax(turns[rows == row])] for row in bad[:50].tolist()]
    return bad, np.array(places).reshape(-1, 3)


def _of_rank(skeleton: Skeleton, angles: Floats, rank: int) -> Ints:
    return np.flatnonzero((skeleton.ranks == rank) & np.isfinite(angles))


def _between(left: Floats, right: Floats) -> Floats:
    left = left / np.maximum(row_norms(left), 1e-12)[:, None]
    right = right / np.maximum(row_norms(right), 1e-12)[:, None]
    return np.degrees(2.0 * np.arctan2(row_norms(left - right), row_norms(left + right)))
