"""Side shoots: how children sit and run on their parents, by which a real tree is told from one that was thought out.

Size letters: M members, C children. A parent here bears five children or more, unless told otherwise. Definitions and
quartiles: eleven measured trees, bare, thinned to their 450 thickest members, stubs under 1 % of the height left out.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.look.reading import Reading
from armature.look.skeleton import Skeleton
from armature.tree import Floats, Ints, row_norms

LEAST_CHILDREN = 5
_SPUR = 0.12
_LEVEL = 49.0
_CHILD_RUN, _PARENT_RUN = 0.03, 0.04
_HANGS = -10.0


def thinned(tree: Skeleton, most: int = 450, stub: float = 0.01) -> Skeleton:
    """Return the bare tree without stubs and all that they carry, thinned to its `most` thickest members of ranks 0 to
    3."""
    kept = (tree.lengths >= stub * tree.height) & (tree.ranks <= max(3, int(tree.ranks.max()) if tree.designed else 3))
    thick = tree.radii[tree.offsets[:-1]]
    order = np.argsort(-np.where(kept, thick, -1.0), kind="stable")[:most]
    chosen = np.zeros(len(tree), dtype=bool)
    chosen[order] = kept[order]
    for level in tree.levels[1:]:
        chosen[level] &= chosen[tree.parents[level]]
    rows = np.flatnonzero(chosen)
    new = np.full(len(tree) + 1, -1, dtype=np.int64)
    new[rows] = np.arange(len(rows))
    counts = np.diff(tree.offsets)
    points = np.repeat(chosen, counts)
    return replace(
        tree,
        tags=tree.tags[rows],
        ranks=tree.ranks[rows],
        parents=new[tree.parents[rows]],
        stations=tree.stations[rows],
        offsets=np.concatenate([[0], np.cumsum(counts[rows])]).astype(np.int64),
        points=tree.points[points],
        radii=tree.radii[points],
        leaves=np.zeros((0, 3)),
        hung=np.zeros(0, dtype=np.int64),
    )


def _bearing(tree: Skeleton, least: int = LEAST_CHILDREN, from_depth: int = 0) -> list[Ints]:
    """Return the children of each parent that bears at least so many, in the order of their stations."""
    children = tree.children
    parents, first = np.unique(tree.parents[children], return_index=True)
    groups = np.split(children, first[1:]) if len(children) else []
    return [
        group
        for parent, group in zip(parents.tolist(), groups, strict=True)
        if len(group) >= least and (from_depth == 0 or tree.parents[parent] >= 0)
    ]


def sibling_lengths(tree: Skeleton) -> Reading:
    """Return the standard deviation of the log of children's lengths on one parent, mean over parents."""
    groups = _bearing(tree)
    each = np.array([np.log(np.maximum(tree.lengths[group], 1e-9)).std() for group in groups])
    return Reading(_mean(each), len(each), low_rows=_parents(tree, groups, each))


def spur_share(tree: Skeleton) -> Reading:
    """Return the share of members shorter than 0.12 of their parent."""
    grows = np.flatnonzero(tree.parents >= 0)
    short = tree.lengths[grows] < _SPUR * tree.lengths[tree.parents[grows]]
    return Reading(_mean(short.astype(np.float64)), len(grows), high_rows=grows[short])


def child_share(tree: Skeleton) -> Reading:
    """Return the length of children of the second rank over that of their parent, median."""
    rows = tree.levels[2] if len(tree.levels) > 2 else np.zeros(0, dtype=np.int64)
    share = tree.lengths[rows] / np.maximum(tree.lengths[tree.parents[rows]], 1e-9)
    value = float(np.median(share)) if len(share) else np.nan
    return Reading(value, len(share), high_rows=rows[np.argsort(-share, kind="stable")])


def length_by_place(tree: Skeleton) -> Reading:
    """Return the rank correlation of a child's length with its place along the parent, mean over parents."""
    groups = _bearing(tree)
    each = np.array([_rank_correlation(tree.stations[group], tree.lengths[group]) for group in groups])
    return Reading(_mean(each), len(each), low_rows=_parents(tree, groups, each))


def bare_start(tree: Skeleton) -> Reading:
    """Return the share of a parent's length before its first child, mean over parents of the first rank and up."""
    groups = _bearing(tree, from_depth=1)
    each = np.array([tree.stations[g].min() / tree.lengths[tree.parents[g[0]]] for g in groups])
    return Reading(_mean(each), len(each), high_rows=_parents(tree, groups, -each))


def first_places(tree: Skeleton) -> Reading:
    """Return the spread of the bare starts: their standard deviation over their mean; a constant gives 0."""
    groups = _bearing(tree, 3, from_depth=1)
    each = np.array([tree.stations[g].min() / tree.lengths[tree.parents[g[0]]] for g in groups])
    value = float(each.std() / max(each.mean(), 1e-9)) if len(each) > 2 else np.nan
    return Reading(
        value,
        len(each),
        low_rows=_parents(tree, groups, np.abs(each - np.median(each or [0.0]))) if len(each) else _none(),
    )


def gap_evenness(tree: Skeleton) -> Reading:
    """Return the standard deviation over the mean of the gaps between children along a parent, mean over parents."""
    groups = _bearing(tree)
    each = np.array([_variation(np.diff(tree.stations[group])) for group in groups])
    return Reading(_mean(each), len(each), low_rows=_parents(tree, groups, each))


def upper_side(tree: Skeleton) -> Reading:
    """Return the mean part of a child's chord, square to a parent under 49 deg from level, that points up (1 up, -1
    down)."""
    chords = _chords(tree)
    rise = np.degrees(np.arcsin(np.clip(chords[:, 2], -1.0, 1.0)))
    rows = np.flatnonzero(tree.parents >= 0)
    rows = rows[np.abs(rise[tree.parents[rows]]) < _LEVEL]
    tangents = _directions(tree, tree.parents[rows], tree.stations[rows], _PARENT_RUN * tree.height)
    up = np.array([0.0, 0.0, 1.0]) - tangents * tangents[:, 2:]
    up /= np.maximum(row_norms(up), 1e-9)[:, None]
    square = chords[rows] - tangents * np.einsum("ij,ij->i", chords[rows], tangents)[:, None]
    square /= np.maximum(row_norms(square), 1e-9)[:, None]
    each = np.einsum("ij,ij->i", square, up)
    return Reading(_mean(each), len(rows), low_rows=rows[np.argsort(each, kind="stable")])


def angle_spread(tree: Skeleton) -> Reading:
    """Return the spread, deg, of the angle between children of the second rank over their first 3 % of the height and
    their parent over 4 %."""
    rows = tree.levels[2] if len(tree.levels) > 2 else np.zeros(0, dtype=np.int64)
    run = np.minimum(_CHILD_RUN * tree.height, tree.lengths[rows])
    ends, _ = tree.located(rows, run)
    own = ends - tree.starts[rows]
    own /= np.maximum(row_norms(own), 1e-9)[:, None]
    tangents = _directions(tree, tree.parents[rows], tree.stations[rows], _PARENT_RUN * tree.height)
    angles = np.degrees(np.arccos(np.clip(np.einsum("ij,ij->i", own, tangents), -1.0, 1.0)))
    return Reading(float(angles.std()) if len(rows) > 2 else np.nan, len(rows))


def tips_down(tree: Skeleton) -> Reading:
    """Return the share of end members whose chord falls by more than 10 deg."""
    ends = np.flatnonzero(np.bincount(tree.parents[tree.parents >= 0], minlength=len(tree)) == 0)
    rise = np.degrees(np.arcsin(np.clip(_chords(tree)[ends, 2], -1.0, 1.0)))
    return Reading(_mean((rise < _HANGS).astype(np.float64)), len(ends), high_rows=ends[rise < _HANGS])


def stem_lean(tree: Skeleton) -> Reading:
    """Return the horizontal distance of the stem at 0.4 of its length over that length."""
    stem = int(np.argmax(tree.parents < 0))
    reach = 0.4 * float(tree.lengths[stem])
    point = tree.located([stem], [reach])[0][0] - tree.foot
    return Reading(float(np.hypot(point[0], point[1])) / max(reach, 1e-9), 1)


def path_over_chord(tree: Skeleton) -> Reading:
    """Return path over chord of members longer than a tenth of the height, resampled at 2 % of it, median."""
    rows = np.flatnonzero(tree.lengths > 0.1 * tree.height)
    values = []
    for row in rows.tolist():
        count = max(int(tree.lengths[row] / (0.02 * tree.height)), 1)
        points, _ = tree.located(np.full(count + 1, row), np.linspace(0.0, tree.lengths[row], count + 1))
        values.append(row_norms(np.diff(points, axis=0)).sum() / max(np.linalg.norm(points[-1] - points[0]), 1e-9))
    return Reading(float(np.median(values)) if values else np.nan, len(values))


def _parents(tree: Skeleton, groups: list[Ints], each: Floats) -> Ints:
    """Return the parents of the groups, those of the least value first."""
    rows = np.array([tree.parents[group[0]] for group in groups], dtype=np.int64)
    return np.asarray(rows[np.argsort(each, kind="stable")])


def _chords(tree: Skeleton) -> Floats:
    chords = tree.tips - tree.starts
    return np.asarray(chords / np.maximum(row_norms(chords), 1e-9)[:, None])


def _directions(tree: Skeleton, rows: Ints, stations: Floats, run: float) -> Floats:
    """Return the direction (Q, 3) of members over a run, mm, about the stations (Q,)."""
    before, _ = tree.located(rows, stations - run / 2.0)
    after, _ = tree.located(rows, stations + run / 2.0)
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
