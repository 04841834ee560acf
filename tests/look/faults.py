"""Faults put into good trees on purpose, at three strengths each, with what must be found: members, a place or a
side."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from armature.look.angles import axes_at, insertion_angles
from armature.look.skeleton import Skeleton


@dataclass(frozen=True, eq=False)
class Fault:
    """A spoilt tree, and the culprit: member tags, or a place (mm) with its reach, or an azimuth (deg, either end of a
    plane)."""

    tree: Skeleton
    tags: frozenset[str] = frozenset()
    place: np.ndarray | None = None
    reach: float = 0.0
    azimuth: float | None = None
    measures: tuple[str, ...] = field(default=())


def subtree(tree: Skeleton, row: int) -> np.ndarray:
    inside = np.zeros(len(tree), dtype=bool)
    inside[row] = True
    for level in tree.levels[1:]:
        inside[level] |= inside[tree.parents[level]]
    return inside


def rigid(
    tree: Skeleton, rows: np.ndarray, turn: np.ndarray, centre: np.ndarray, shift: np.ndarray | float = 0.0
) -> Skeleton:
    points = tree.points.copy()
    at = rows[tree.members]
    points[at] = (points[at] - centre) @ turn.T + centre + shift
    leaves = tree.leaves.copy()
    if len(leaves):
        hung = rows[tree.hung]
        leaves[hung] = (leaves[hung] - centre) @ turn.T + centre + shift
    return replace(tree, points=points, leaves=leaves)


def without(tree: Skeleton, gone: np.ndarray) -> Skeleton:
    gone = gone.copy()
    for level in tree.levels[1:]:
        gone[level] |= gone[tree.parents[level]]
    kept = np.flatnonzero(~gone)
    new = np.full(len(tree) + 1, -1)
    new[kept] = np.arange(len(kept))
    points = ~gone[tree.members]
    leaves = ~gone[tree.hung]
    return Skeleton(
        tags=tree.tags[kept],
        ranks=tree.ranks[kept],
        parents=new[tree.parents[kept]],
        stations=tree.stations[kept],
        offsets=np.concatenate([[0], np.cumsum(np.diff(tree.offsets)[kept])]),
        points=tree.points[points],
        radii=tree.radii[points],
        leaves=tree.leaves[leaves],
        hung=new[tree.hung[leaves]],
        designed=tree.designed,
    )


def turn_about(axis: np.ndarray, angle: float) -> np.ndarray:
    axis = axis / max(float(np.linalg.norm(axis)), 1e-12)
    cross = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    return np.asarray(np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross)


def turn_to(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    one, other = one / np.linalg.norm(one), other / np.linalg.norm(other)
    axis = np.cross(one, other)
    if np.linalg.norm(axis) < 1e-9:
        axis = np.array([1.0, 0.0, 0.0]) if abs(one[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    return turn_about(axis, float(np.arccos(np.clip(one @ other, -1.0, 1.0))))


def childless(tree: Skeleton) -> np.ndarray:
    return np.flatnonzero(
        (np.bincount(tree.parents[tree.parents >= 0], minlength=len(tree)) == 0) & (tree.parents >= 0)
    )


def crown_radius(tree: Skeleton) -> float:
    return float(np.cbrt(np.prod(np.ptp(tree.tips, axis=0)) / 8.0))


def _tags(tree: Skeleton, rows: np.ndarray) -> frozenset[str]:
    return frozenset(str(tag) for tag in tree.tags[rows])


def hole(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """All twigs and branch ends inside a ball are gone."""
    radius = (0.38, 0.48, 0.60)[strength] * crown_radius(tree)
    middle = np.median(tree.tips, axis=0)
    tips = childless(tree)
    far = np.linalg.norm((tree.tips[tips] - middle) / np.ptp(tree.tips, axis=0), axis=1)
    fit = tips[
        (far > np.quantile(far, 0.4))
        & (far < np.quantile(far, 0.8))
        & (tree.tips[tips, 2] > middle[2] - 0.1 * tree.height)
    ]
    centre = tree.tips[rng.choice(fit if len(fit) else tips)]
    touched = np.zeros(len(tree), dtype=bool)
    near = np.linalg.norm(tree.points - centre, axis=1) < radius
    touched[np.unique(tree.members[near])] = True
    touched[tree.levels[0]] = False
    touched[tree.levels[1]] = False
    grown = without(tree, touched)
    gone = tree.tips[~np.isin(tree.tags, grown.tags)]
    if len(gone) == 0:
        return Fault(grown, place=centre, reach=radius)
    middle = gone.mean(axis=0)
    reach = max(radius, float(np.sqrt(((gone - middle) ** 2).sum(axis=1).mean())))
    return Fault(
        grown, place=middle, reach=reach, measures=("thin_spot", "skin_hole", "empty_ball", "sky_hole", "bare_side")
    )


def clump(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """The nearest twigs are drawn together at one spot."""
    tips = childless(tree)
    centre = tree.tips[rng.choice(tips)]
    count = max(int(len(tips) * (0.07, 0.11, 0.17)[strength]), 6)
    rows = tips[np.argsort(np.linalg.norm(tree.tips[tips] - centre, axis=1))[:count]]
    points, spread = tree.points.copy(), 0.035 * tree.height
    for row in rows.tolist():
        own = slice(tree.offsets[row], tree.offsets[row + 1])
        start, tip = tree.starts[row], tree.tips[row]
        goal = centre + rng.normal(0.0, spread / 2.0, 3)
        scale = float(np.linalg.norm(goal - start)) / max(float(np.linalg.norm(tip - start)), 1e-9)
        points[own] = (points[own] - start) @ turn_to(tip - start, goal - start).T * scale + start
    return Fault(replace(tree, points=points), _tags(tree, rows), measures=("crowding", "tip_neighbours"))


def half_mirrored(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """One side of the crown is replaced by the mirror image of the other, or a good part of it."""
    angle = rng.uniform(0.0, np.pi)
    normal = np.array([np.cos(angle), np.sin(angle), 0.0])
    return _repeated(tree, normal, (0.6, 0.8, 1.0)[strength], rng)


def _repeated(tree: Skeleton, normal: np.ndarray, share: float, rng: np.random.Generator) -> Fault:
    """Members of the second rank and their loads on the far side of the plane give way to mirror images of those on
    this side."""
    flip = np.eye(3) - 2.0 * np.outer(normal, normal)
    roots = np.concatenate(tree.levels[1:3])
    side = np.array([float(tree.tips[subtree(tree, row)].mean(axis=0) @ normal - tree.foot @ normal) for row in roots])
    deep = tree.levels[1] if len(tree.levels[1]) > 7 else tree.levels[2] if len(tree.levels) > 2 else tree.levels[1]
    here = [row for row, at in zip(roots.tolist(), side.tolist(), strict=True) if row in deep and at > 0.0]
    there = np.zeros(len(tree), dtype=bool)
    there[[row for row, at in zip(roots.tolist(), side.tolist(), strict=True) if row in deep and at <= 0.0]] = True
    grown = without(tree, there)
    chosen = [row for row in here if rng.random() < share] or here[:1]
    culprits: list[str] = []
    for row in chosen:
        part = subtree(tree, row)
        culprits += tree.tags[part].tolist()
        grown = _grafted(grown, tree, part, flip, tree.foot)
    azimuth = float(np.degrees(np.arctan2(normal[1], normal[0])) + 90.0)
    tags = frozenset([*culprits, *(f"{tag}'" for tag in culprits)])
    return Fault(grown, tags, azimuth=azimuth, measures=("mirror_strongest", "mirror_mean", "twins"))


def _grafted(
    tree: Skeleton, source: Skeleton, part: np.ndarray, turn: np.ndarray, centre: np.ndarray, mark: str = "'"
) -> Skeleton:
    """The members of `part` of the source, turned about the centre, as further members of the tree; their parents are
    looked up by
    tag where the parent is not in the part."""
    rows = np.flatnonzero(part)
    names = {str(tag): row for row, tag in enumerate(tree.tags)}
    place = {row: len(tree) + at for at, row in enumerate(rows.tolist())}
    parents = [
        place.get(int(source.parents[row]), names.get(str(source.tags[int(source.parents[row])]), 0))
        for row in rows.tolist()
    ]
    points = part[source.members]
    leaves = part[source.hung]
    moved = (source.points[points] - centre) @ turn.T + centre
    hung = (source.leaves[leaves] - centre) @ turn.T + centre
    return replace(
        tree,
        tags=np.concatenate([tree.tags, np.array([f"{tag}{mark}" for tag in source.tags[rows]])]),
        ranks=np.concatenate([tree.ranks, source.ranks[rows]]),
        parents=np.concatenate([tree.parents, np.array(parents, dtype=np.int64)]),
        stations=np.concatenate([tree.stations, source.stations[rows]]),
        offsets=np.concatenate([tree.offsets, tree.offsets[-1] + np.cumsum(np.diff(source.offsets)[rows])]),
        points=np.concatenate([tree.points, moved]),
        radii=np.concatenate([tree.radii, source.radii[points]]),
        leaves=np.concatenate([tree.leaves, hung]),
        hung=np.concatenate([tree.hung, np.array([place[int(row)] for row in source.hung[leaves]], dtype=np.int64)]),
    )


def equal_angles(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """Every member's angle to its parent is drawn to the mean of its rank: by 6, 8, 10 tenths."""
    del rng
    share = (0.6, 0.8, 1.0)[strength]
    angles = insertion_angles(tree)
    grown, changed = tree, []
    for level in tree.levels[1:]:
        mean = float(np.nanmean(angles[level]))
        for row in level.tolist():
            axis = axes_at(grown, grown.parents[[row]], grown.stations[[row]], 0.02 * tree.height)[0]
            own = grown.located([row], [min(0.02 * tree.height, float(grown.lengths[row]))])[0][0] - grown.starts[row]
            turn = turn_about(np.cross(axis, own), np.radians(share * (mean - angles[row])))
            grown = rigid(grown, subtree(grown, row), turn, grown.starts[row])
            changed.append(row)
    return Fault(grown, _tags(tree, np.array(changed)), measures=("angle_spread_1", "angle_spread_2", "angle_spread_3"))


def even_spacing(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """Members slide to even distances along their parents: by 6, 8, 10 tenths of the way."""
    del rng
    share = (0.6, 0.8, 1.0)[strength]
    grown, changed = tree, []
    order = tree.children
    for parent in np.unique(tree.parents[order]).tolist():
        rows = order[tree.parents[order] == parent]
        if len(rows) < 4:
            continue
        even = np.linspace(tree.stations[rows].min(), tree.stations[rows].max(), len(rows))
        goal = tree.stations[rows] + share * (even - tree.stations[rows])
        for row, station in zip(rows.tolist(), goal.tolist(), strict=True):
            shift = grown.located([parent], [station])[0][0] - grown.located([parent], [grown.stations[row]])[0][0]
            grown = rigid(grown, subtree(grown, row), np.eye(3), grown.foot, shift)
            stations = grown.stations.copy()
            stations[row] = station
            grown = replace(grown, stations=stations)
            changed.append(row)
    return Fault(grown, _tags(tree, np.array(changed)), measures=("spacing_evenness",))


def copied(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """One bent twig stands for 3, 6, 12 in a hundred of the others, each turned another way."""
    tips = childless(tree)
    chords = np.linalg.norm(tree.tips - tree.starts, axis=1)
    bent = tips[(tree.lengths[tips] > 1.01 * chords[tips]) & (np.diff(tree.offsets)[tips] > 3)]
    source = int(rng.choice(bent if len(bent) else tips))
    count = max(int(len(tips) * (0.02, 0.05, 0.12)[strength]), strength + 1)
    rows = rng.choice(tips[tips != source], min(count, len(tips) - 1), replace=False)
    grown = tree
    own = tree.points[tree.offsets[source] : tree.offsets[source + 1]] - tree.starts[source]
    for row in rows.tolist():
        spin = turn_about(rng.normal(size=3), float(rng.uniform(0.0, 6.0)))
        turn = turn_to(spin @ (tree.tips[source] - tree.starts[source]), tree.tips[row] - tree.starts[row]) @ spin
        grown = _reshaped(
            grown, row, own @ turn.T + tree.starts[row], tree.radii[tree.offsets[source] : tree.offsets[source + 1]]
        )
    return Fault(grown, _tags(tree, np.append(rows, source)), measures=("twins",))


def _reshaped(tree: Skeleton, row: int, points: np.ndarray, radii: np.ndarray) -> Skeleton:
    first, last = int(tree.offsets[row]), int(tree.offsets[row + 1])
    offsets = tree.offsets.copy()
    offsets[row + 1 :] += len(points) - (last - first)
    return replace(
        tree,
        offsets=offsets,
        points=np.concatenate([tree.points[:first], points, tree.points[last:]]),
        radii=np.concatenate([tree.radii[:first], radii, tree.radii[last:]]),
    )


def kink(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """One long member breaks off its line at the middle by 45, 70, 95 deg, with all that it carries beyond."""
    long = np.flatnonzero((tree.parents >= 0) & (tree.lengths > 0.12 * tree.height))
    row = int(rng.choice(long))
    station = 0.5 * float(tree.lengths[row])
    centre, segment = tree.located([row], [station])
    turn = turn_about(np.cross(tree.steps[segment[0]], rng.normal(size=3)), np.radians((45.0, 75.0, 100.0)[strength]))
    beyond = np.flatnonzero((tree.parents == row) & (tree.stations > station))
    grown = tree
    for child in beyond.tolist():
        grown = rigid(grown, subtree(grown, child), turn, centre[0])
    first, last = int(tree.offsets[row]), int(tree.offsets[row + 1])
    cut = int(np.searchsorted(tree.runs[first:last], station)) + first
    own = np.concatenate([tree.points[first:cut], centre, (tree.points[cut:last] - centre[0]) @ turn.T + centre[0]])
    radii = np.insert(tree.radii[first:last], cut - first, tree.radii[max(cut - 1, first)])
    return Fault(_reshaped(grown, row, own, radii), _tags(tree, np.array([row])), measures=("kink_count", "kink_share"))


def wrong_taper(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """2, 4, 8 branches grow thicker toward the tip, to 1.3, 1.6, 2.2 times their start."""
    rows = np.flatnonzero((tree.parents >= 0) & (np.bincount(tree.parents[tree.parents >= 0], minlength=len(tree)) > 1))
    rows = rng.choice(rows, min((1, 3, 6)[strength], len(rows)), replace=False)
    radii = tree.radii.copy()
    for row in rows.tolist():
        own = slice(int(tree.offsets[row]), int(tree.offsets[row + 1]))
        share = tree.runs[own] / max(float(tree.lengths[row]), 1e-9)
        radii[own] = tree.radii[own][0] * (1.0 + ((1.3, 1.6, 2.2)[strength] - 1.0) * share)
    return Fault(replace(tree, radii=radii), _tags(tree, rows), measures=("thickening",))


def run_through(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """1, 3, 6 twigs are swung so that they pass through a neighbour."""
    grown, culprits = tree, list[int]()
    tips = childless(tree)
    for row in rng.permutation(tips).tolist():
        if len(culprits) == (1, 3, 6)[strength]:
            break
        others = tips[(tips != row) & (tree.parents[tips] != tree.parents[row])]
        goal = tree.located(others, tree.lengths[others] / 2.0)[0]
        away = np.linalg.norm(goal - tree.starts[row], axis=1)
        fit = np.flatnonzero((away > 0.3 * tree.lengths[row]) & (away < 0.8 * tree.lengths[row]))
        if len(fit) == 0:
            continue
        own = slice(int(tree.offsets[row]), int(tree.offsets[row + 1]))
        # Aim the member's own point at that distance from its start.
        far = np.linalg.norm(tree.points[own] - tree.starts[row], axis=1)
        station = float(np.interp(away[fit[0]], np.maximum.accumulate(far), tree.runs[own]))
        there = tree.located([row], [station])[0][0]
        turn = turn_to(there - tree.starts[row], goal[fit[0]] - tree.starts[row])
        mask = np.zeros(len(tree), dtype=bool)
        mask[row] = True
        grown = rigid(grown, mask, turn, tree.starts[row])
        culprits.append(row)
    return Fault(grown, _tags(tree, np.array(culprits, dtype=np.int64)), measures=("crossings",))


def bare_side(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """Members above the limbs are gone from a sector of 70, 100, 130 deg."""
    azimuth, half = rng.uniform(0.0, 360.0), (35.0, 50.0, 65.0)[strength]
    out = tree.tips - tree.foot
    turn = (np.degrees(np.arctan2(out[:, 1], out[:, 0])) - azimuth + 180.0) % 360.0 - 180.0
    gone = (np.abs(turn) < half) & (tree.parents >= 0)
    gone[tree.levels[0]] = False
    return Fault(
        without(tree, gone),
        azimuth=float(azimuth),
        measures=("bare_side", "left_right_imbalance", "crown_offset", "skin_hole", "sky_hole", "empty_ball"),
    )


def turned_alike(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """The crown is three times one third of itself, off by up to 25, 12, 0 deg."""
    loose = (25.0, 12.0, 0.0)[strength]
    deep = tree.levels[1] if len(tree.levels[1]) > 7 else tree.levels[2] if len(tree.levels) > 2 else tree.levels[1]
    start = rng.uniform(0.0, 360.0)
    away = np.array([tree.tips[subtree(tree, row)].mean(axis=0) - tree.foot for row in deep])
    turn = (np.degrees(np.arctan2(away[:, 1], away[:, 0])) - start) % 360.0
    here = deep[turn < 120.0] if (turn < 120.0).any() else deep[:1]
    gone = np.zeros(len(tree), dtype=bool)
    gone[deep[turn >= 120.0]] = True
    grown, culprits = without(tree, gone), tree.tags[here].tolist()
    for number in (1, 2):
        for row in here.tolist():
            part = subtree(tree, row)
            angle = np.radians(120.0 * number + rng.uniform(-loose, loose))
            grown = _grafted(grown, tree, part, turn_about(np.array([0.0, 0.0, 1.0]), angle), tree.foot, "'" * number)
            culprits += [f"{tag}{mark}" for tag in tree.tags[part] for mark in ("'", "''")] + tree.tags[part].tolist()
    return Fault(grown, frozenset(culprits), measures=("turn_strongest", "twins"))


def flat_top(tree: Skeleton, strength: int, rng: np.random.Generator) -> Fault:
    """All wood above 93, 87, 80 % of the height is pressed down to that level."""
    del rng
    low = float(tree.points[:, 2].min())
    cut = low + (0.93, 0.88, 0.80)[strength] * float(np.ptp(tree.points[:, 2]))
    points, leaves = tree.points.copy(), tree.leaves.copy()
    rows = np.unique(tree.members[points[:, 2] > cut])
    points[:, 2] = np.minimum(points[:, 2], cut)
    leaves[:, 2] = np.minimum(leaves[:, 2], cut)
    return Fault(replace(tree, points=points, leaves=leaves), _tags(tree, rows), measures=("level_top",))


FAULTS: dict[str, Callable[[Skeleton, int, np.random.Generator], Fault]] = {
    "a hole in the crown": hole,
    "a clump": clump,
    "one half mirrored": half_mirrored,
    "all angles equal": equal_angles,
    "even spacing": even_spacing,
    "a twig copied": copied,
    "a kink": kink,
    "wrong taper": wrong_taper,
    "a member through another": run_through,
    "a bare side": bare_side,
    "rotational symmetry": turned_alike,
    "flat-topping": flat_top,
}
