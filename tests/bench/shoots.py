"""Side shoots: how children sit and run on their parents, by which a real tree is told from one that was thought out.

Size letters: M members, C children. A parent here bears five children or more, unless told otherwise. Definitions and
quartiles: eleven measured trees, bare, thinned to their 450 thickest members, stubs under 1 % of the height left out.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.look.figures import Reading
from armature.look.skeleton import Skeleton
from armature.tree import Floats, Ints, row_norms

LEAST_CHILDREN = 5
_SPUR = 0.12
_LEVEL = 49.0
_CHILD_RUN, _PARENT_RUN = 0.03, 0.04
_HANGS = -10.0


def thinned(skeleton: Skeleton, most: int = 450, stub: float = 0.01) -> Skeleton:
    """Return the bare tree without stubs and all that they carry, thinned to its `most` thickest members of ranks 0 to
    3."""
    kept = (skeleton.lengths >= stub * skeleton.height) & (
        skeleton.ranks <= max(3, int(skeleton.ranks.max()) if skeleton.designed else 3)
    )
    thick = skeleton.radii[skeleton.offsets[:-1]]
    order = np.argsort(-np.where(kept, thick, -1.0), kind="stable")[:most]
    chosen = np.zeros(len(skeleton), dtype=bool)
    chosen[order] = kept[order]
    for level in skeleton.levels[1:]:
        chosen[level] &= chosen[skeleton.parents[level]]
    rows = np.flatnonzero(chosen)
    new = np.full(len(skeleton) + 1, -1, dtype=np.int64)
    new[rows] = np.arange(len(rows))
    counts = np.diff(skeleton.offsets)
    points = np.repeat(chosen, counts)
    return replace(
        skeleton,
        tags=skeleton.tags[rows],
        ranks=skeleton.ranks[rows],
        parents=new[skeleton.parents[rows]],
        stations=skeleton.stations[rows],
        offsets=np.concatenate([[0], np.cumsum(counts[rows])]).astype(np.int64),
        points=skeleton.points[points],
        radii=skeleton.radii[points],
        leaves=np.zeros((0, 3)),
        hung=np.zeros(0, dtype=np.int64),
    )


def _bearing(skeleton: Skeleton, least: int = LEAST_CHILDREN, from_depth: int = 0) -> list[Ints]:
    """Return the children of each parent that bears at least so many, in the order of their stations."""
    children = skeleton.children
    parents, first = np.unique(skeleton.parents[children], return_index=True)
    groups = np.split(children, first[1:]) if len(children) else []
    return [
        group
        for parent, group in zip(parents.tolist(), groups, strict=True)
        if len(group) >= least and (from_depth == 0 or skeleton.parents[parent] >= 0)
    ]


def sibling_lengths(skeleton: Skeleton) -> Reading:
    """Return the standard deviation of the log of children's lengths on one parent, mean over parents."""
    groups = _bearing(skeleton)
    each = np.array([np.log(np.maximum(skeleton.lengths[group], 1e-9)).std() for group in groups])
    return Reading(_mean(each), len(each), low_rows=_parents(skeleton, groups, each))


def spur_share(skeleton: Skeleton) -> Reading:
    """Return the share of members shorter than 0.12 of their parent."""
    grows = np.flatnonzero(skeleton.parents >= 0)
    short = skeleton.lengths[grows] < _SPUR * skeleton.lengths[skeleton.parents[grows]]
    return Reading(_mean(short.astype(np.float64)), len(grows), high_rows=grows[short])


def child_share(skeleton: Skeleton) -> Reading:
    """Return the length of children of the second rank over that of their parent, median."""
    rows = skeleton.levels[2] if len(skeleton.levels) > 2 else np.zeros(0, dtype=np.int64)
    share = skeleton.lengths[rows] / np.maximum(skeleton.lengths[skeleton.parents[rows]], 1e-9)
    value = float(np.median(share)) if len(share) else np.nan
    return Reading(value, len(share), high_rows=rows[np.argsort(-share, kind="stable")])


def length_by_place(skeleton: Skeleton) -> Reading:
    """Return the rank correlation of a child's length with its place along the parent, mean over parents."""
    groups = _bearing(skeleton)
    each = np.array([_rank_correlation(skeleton.stations[group], skeleton.lengths[group]) for group in groups])
    return Reading(_mean(each), len(each), low_rows=_parents(skeleton, groups, each))


def bare_start(skeleton: Skeleton) -> Reading:
    """Return the share of a parent's length before its first child, mean over parents of the first rank and up."""
    groups = _bearing(skeleton, from_depth=1)
    each = np.array([skeleton.stations[g].min() / skeleton.lengths[skeleton.parents[g[0]]] for g in groups])
    return Reading(_mean(each), len(each), high_rows=_parents(skeleton, groups, -each))


def first_places(skeleton: Skeleton) -> Reading:
    """Return the spread of the bare starts: their standard deviation over their mean; a constant gives 0."""
    groups = _bearing(skeleton, 3, from_depth=1)
    each = np.array([skeleton.stations[g].min() / skeleton.lengths[skeleton.parents[g[0]]] for g in groups])
    value = float(each.std() / max(each.mean(), 1e-9)) if len(each) > 2 else np.nan
    return Reading(
        value,
        len(each),
        low_rows=_parents(skeleton, groups, np.abs(each - np.median(each or [0.0]))) if len(each) else _none(),
    )


def gap_evenness(skeleton: Skeleton) -> Reading:
    """Return the standard deviation over the mean of the gaps between children along a parent, mean over parents."""
    groups = _bearing(skeleton)
    each = np.array([_variation(np.diff(skeleton.stations[group])) for group in groups])
    return Reading(_mean(each), len(each), low_rows=_parents(skeleton, groups, each))


def upper_side(skeleton: Skeleton) -> Reading:
    """Return the mean part of a child's chord, square to a parent under 49 deg from level, that points up (1 up, -1
    down)."""
    chords = _chords(skeleton)
    rise = np.degrees(np.arcsin(np.clip(chords[:, 2], -1.0, 1.0)))
    rows = np.flatnonzero(skeleton.parents >= 0)
    rows = rows[np.abs(rise[skeleton.parents[rows]]) < _LEVEL]
    tangents = _directions(skeleton, skeleton.parents[rows], skeleton.stations[rows], _PARENT_RUN * skeleton.height)
    up = np.array([0.0, 0.0, 1.0]) - tangents * tangents[:, 2:]
    up /= np.maximum(row_norms(up), 1e-9)[:, None]
    square = chords[rows] - tangents * np.einsum("ij,ij->i", chords[rows], tangents)[:, None]
    square /= np.maximum(row_norms(square), 1e-9)[:, None]
    each = np.einsum("ij,ij->i", square, up)
    return Reading(_mean(each), len(rows), low_rows=rows[np.argsort(each, kind="stable")])


def angle_spread(skeleton: Skeleton) -> Reading:
    """Return the spread, deg, of the angle between children of the second rank over their first 3 % of the height and
    their parent over 4 %."""
    rows = skeleton.levels[2] if len(skeleton.levels) > 2 else np.zeros(0, dtype=np.int64)
    run = np.minimum(_CHILD_RUN * skeleton.height, skeleton.lengths[rows])
    ends, _ = skeleton.located(rows, run)
    own = ends - skeleton.starts[rows]
    own /= np.maximum(row_norms(own), 1e-9)[:, None]
    tangents = _directions(skeleton, skeleton.parents[rows], skeleton.stations[rows], _PARENT_RUN * skeleton.height)
    angles = np.degrees(np.arccos(np.clip(np.einsum("ij,ij->i", own, tangents), -1.0, 1.0)))
    return Reading(float(angles.std()) if len(rows) > 2 else np.nan, len(rows))


def tips_down(skeleton: Skeleton) -> Reading:
    """Return the share of end members whose chord falls by more than 10 deg."""
    ends = np.flatnonzero(np.bincount(skeleton.parents[skeleton.parents >= 0], minlength=len(skeleton)) == 0)
    rise = np.degrees(np.arcsin(np.clip(_chords(skeleton)[ends, 2], -1.0, 1.0)))
    return Reading(_mean((rise < _HANGS).astype(np.float64)), len(ends), high_rows=ends[rise < _HANGS])


def stem_lean(skeleton: Skeleton) -> Reading:
    """Return the horizontal distance of the stem at 0.4 of its length over that length."""
    stem = int(np.argmax(skeleton.parents < 0))
    reach = 0.4 * float(skeleton.lengths[stem])
    point = skeleton.located([stem], [reach])[0][0] - skeleton.foot
    return Reading(float(np.hypot(point[0], point[1])) / max(reach, 1e-9), 1)


def path_over_chord(skeleton: Skeleton) -> Reading:
    """Return path over chord of members longer than a tenth of the height, resampled at 2 % of it, median."""
    rows = np.flatnonzero(skeleton.lengths > 0.1 * skeleton.height)
    values = []
    for row in rows.tolist():
        count = max(int(skeleton.lengths[row] / (0.02 * skeleton.height)), 1)
        points, _ = skeleton.located(np.full(count + 1, row), np.linspace(0.0, skeleton.lengths[row], count + 1))
        values.append(row_norms(np.diff(points, axis=0)).sum() / max(np.linalg.norm(points[-1] - points[0]), 1e-9))
    return Reading(float(np.median(values)) if values else np.nan, len(values))


def _parents(skeleton: Skeleton, groups: list[Ints], each: Floats) -> Ints:
    """Return the parents of the groups, those of the least value first."""
    rows = np.array([skeleton.parents[group[0]] for group in groups], dtype=np.int64)
    return np.asarray(rows[np.argsort(each, kind="stable")])


def _chords(skeleton: Skeleton) -> Floats:
    chords = skeleton.tips - skeleton.starts
    return np.asarray(chords / np.maximum(row_norms(chords), 1e-9)[:, None])


def _directions(skeleton: Skeleton, rows: Ints, stations: Floats, run: float) -> Floats:
    """Return the direction (Q, 3) of members over a run, mm, about the stations (Q,)."""
    before, _ = skeleton.located(rows, stations - run / 2.0)
    after, _ = skeleton.located(rows, stations + run / 2.0)
    step = after - before
    return np.asarray(step / np.maximum(row_norms(step), 1e-9)[:, None])


def _variation(gaps: Floats) -> float:
    return float(gaps.std() / max(gaps.mean(), 1e-9))


def _rank_correlation(one: Floats, other: Floats) -> float:
    """Return Spearman's rank correlation of two rows of numbers; ties are rare among lengths and keep their order."""
    first, second = (np.argsort(np.argsort(values, kind="stable")).astype(np.float64) for values in (one, other))
    return float(np.corrcoef(first, second)[0, 1])


def _mean(values: Floats) -> float:
    return float(values.mean()) if len(values) else np.nan


def _none() -> Ints:
    return np.zeros(0, dtype=np.int64)
