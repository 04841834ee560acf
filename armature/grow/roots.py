"""Roots: forged bars from the trunk's foot down and out onto the ground, each with its own turn of line.

Size letters: K roots. Lengths are mm. A root leaves the trunk's skin a little above the plate, comes down to lie with
its underside on the ground, and thins to its tip. By the pipe rule the roots together are as thick as the trunk.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from armature.edge import GrowthError
from armature.grow.drawing import Growing, seats
from armature.grow.sizes import SEAT, stocked
from armature.seeds import keys, uniform
from armature.tree import CHORD_ERROR, ROOT, Chains, Floats, Index, Tree, capsules, cones, locate, no_leaves

if TYPE_CHECKING:
    from armature.commission import Commission

# In trunk diameters: how high roots leave the trunk, and how far they reach from its axis.
_HEIGHTS, _REACHES = (0.95, 1.45), (3.6, 5.2)
# How steeply a root leaves, degrees below level; how far its line turns aside on the ground.
_DIPS, _TURNS = (24.0, 38.0), (9.0, 24.0)
_TIP, _HOLDS, _TRIES = 0.3, 0.3, 24


def with_roots(tree: Tree, commission: Commission, growing: Growing, kept: Tree | None = None) -> Tree:
    """Return the tree with `growth.roots` roots at its trunk's foot, `R1` and on, clear of each other and of keep-outs.

    Roots that `kept` holds come back as they are. Raises GrowthError where keep-outs leave no room for them.
    """
    count = commission.growth.roots
    if not count:
        return tree
    for attempt in range(_TRIES):
        made = _drawn(tree, commission, growing, count, attempt)
        if kept is not None:
            made = _with_kept(made, kept)
        if _clear(tree, made, growing):
            return tree.grafted(made)
    raise GrowthError(
        f"growth.roots: {count} roots find no room at the trunk's foot: fewer roots or smaller keep-outs would help"
    )


def root_diameter(trunk: float, count: int, exponent: float) -> float:
    """Return the diameter of each of `count` roots, mm: by the pipe rule as thick as the trunk together, and with room
    for their welds side by side round it.

    >>> round(root_diameter(100.0, 4, 2.0), 3), round(root_diameter(100.0, 9, 2.0), 3)
    (50.0, 23.271)
    """
    piped = trunk * count ** (-1.0 / exponent)
    return float(min(piped, trunk / SEAT / 1.35, np.pi * trunk / count / 1.5))


def _drawn(tree: Tree, commission: Commission, growing: Growing, count: int, attempt: int) -> Tree:
    trunk = float(tree.tapers.bars[0])
    thick = root_diameter(trunk, count, commission.growth.pipe_exponent)
    tags = np.array([f"R{number + 1}" for number in range(count)])
    luck = uniform(keys(growing.seed, tags, f"root {attempt}"), 8)
    turn = 2.0 * np.pi * float(uniform(keys(growing.seed, ["roots"], f"turn {attempt}"), 1)[0, 0])
    around = turn + 2.0 * np.pi * (np.arange(count) + 0.35 * (luck[:, 0] - 0.5)) / count
    dip = np.radians(_between(_DIPS, luck[:, 1]))
    heights = trunk * _between(_HEIGHTS, luck[:, 2])
    outward = np.column_stack([np.cos(around), np.sin(around), np.zeros(count)])
    axes = outward * np.cos(dip)[:, None] - np.sin(dip)[:, None] * [0.0, 0.0, 1.0]
    parents = np.zeros(count, dtype=np.int64)
    points, _, _ = locate(tree.chains, parents, heights)
    setbacks, _ = seats(tree, parents, heights, points, axes)
    starts = points + setbacks[:, None] * axes
    chains = _lines(starts, axes, around, thick, trunk * _between(_REACHES, luck[:, 3]), luck[:, 4:], growing)
    sizes = np.full(count, thick)
    return Tree(
        tags=tags,
        ranks=np.full(count, ROOT),
        parents=parents,
        chains=chains,
        tapers=cones(sizes, _TIP * sizes, _HOLDS * chains.lengths),
        stations=heights,
        setbacks=setbacks,
        stock_diameters=stocked(sizes, commission.steel.bars, "roots"),
        walls=np.zeros(count),
        departures=np.zeros(count),
        leaves=no_leaves(),
    )


def _lines(
    starts: Floats, axes: Floats, around: Floats, thick: float, reaches: Floats, luck: Floats, growing: Growing
) -> Chains:
    """Return the roots' centrelines: down to the ground, then along it in three runs that turn aside and back."""
    corners, radii = [], []
    sides = np.where(luck[:, 0] < 0.5, -1.0, 1.0)
    turns = np.radians(np.maximum(_between(_TURNS, luck[:, 1:3]), growing.least_bend))
    for row in range(len(starts)):
        lowest = 0.5 * thick
        down = starts[row] + axes[row] * max((starts[row, 2] - lowest) / -axes[row, 2], 1.2 * thick)
        left = max(float(reaches[row] - np.hypot(*down[:2])), 4.0 * thick)
        line, heading = [starts[row], down], around[row]
        for number, (share, drop) in enumerate(zip((0.3, 0.32, 0.38), (0.80, 0.55, _TIP), strict=True)):
            if number:
                heading += sides[row] * (-1.0) ** number * turns[row, number - 1]
            step = share * left * np.array([np.cos(heading), np.sin(heading)])
            line.append(np.append(line[-1][:2] + step, drop * lowest))
        corners.append(np.array(line))
        radii.append(_radii(corners[-1], growing.least_radius * thick))
    offsets = np.concatenate([[0], np.cumsum([len(each) for each in corners])]).astype(np.int64)
    return Chains(offsets, np.concatenate(corners), np.concatenate(radii))


def _radii(corners: Floats, least: float) -> Floats:
    """Return bend radii at corners: as round as the sides allow, within reason, never under the least."""
    sharp = Chains(np.array([0, len(corners)]), corners, np.zeros(len(corners)))
    half = np.maximum(np.tan(sharp.bends[:-1] / 2.0), 1e-9)
    wide = 0.42 * np.minimum(sharp.sides[:-1], sharp.sides[1:]) / half
    return np.concatenate([[0.0], np.clip(wide, least, 6.0 * least), [0.0]])


def _clear(tree: Tree, made: Tree, growing: Growing) -> bool:
    """Return whether roots keep out of boxes, off each other's lines, and can be bent as drawn."""
    if (made.chains.feeds < 1.0).any():
        return False
    pieces = capsules(made, growing.step, CHORD_ERROR)
    if growing.canopy.crosses_boxes(pieces.heads, pieces.tails, pieces.radii).any():
        return False
    own = Index(pieces)
    left, right = own.near(own, growing.clearance, same=True)
    # Side by side at the trunk's skin they may come near: there they are welded to one bar.
    near_trunk = np.hypot(*pieces.heads[:, :2].T) < float(tree.tapers.bars[0])
    return bool((near_trunk[left] | near_trunk[right]).all())


def _with_kept(made: Tree, kept: Tree) -> Tree:
    rows = [row for row in kept.of_rank(ROOT).tolist() if kept.tags[row] in made.rows]
    own = np.flatnonzero(~np.isin(made.tags, kept.tags[rows]))
    both = made.alone(own).grafted(replace(kept.alone(rows), parents=np.zeros(len(rows), dtype=np.int64)))
    return both.alone(np.argsort([int(tag[1:]) for tag in both.tags.tolist()], kind="stable"))


def _between(ends: tuple[float, float], share: Floats) -> Floats:
    return np.asarray(ends[0] + (ends[1] - ends[0]) * share)
