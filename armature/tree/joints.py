"""Joints: where each member leaves its parent, and the tree put together again from them.

Size letters: M members. P is the point at the station on the parent's centreline, t its direction there, c the chalk
direction, u = cos(clock) c + sin(clock) (t x c). The child's axis leaves P along d = cos(lean) t + sin(lean) u; the bar
begins the setback further along d, at the parent's surface. The child's chalk direction is n = cos(lean) u -
sin(lean) t, turned about d by the roll. A member without a parent stands on the base: its P is a point of its own, the
origin for the trunk, t up (+z) and c along +x.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.tree.centreline import (
    BendList,
    Chains,
    Floats,
    Ints,
    bent,
    carry,
    chalk_lines,
    joined,
    locate,
    row_norms,
    turned,
)
from armature.tree.tree import Tree, depths, levels

_UP, _EAST = np.array([[0.0, 0.0, 1.0]]), np.array([[1.0, 0.0, 0.0]])


@dataclass(frozen=True, eq=False)
class Joints:
    """One joint a member, in the tree's order.

    points: (M, 3) mm, P. stations: (M,) mm. clocks, leans, rolls: (M,) deg; clock and roll within +-180, lean 0 to 180.
    setbacks: (M,) mm. feet: (M,) mm, station at which the child visibly meets the parent's skin.
    parent_diameters: (M,) mm at P, 0 on the base. chalks: (M, 3) chalk direction where each member begins.
    """

    points: Floats
    stations: Floats
    clocks: Floats
    leans: Floats
    rolls: Floats
    setbacks: Floats
    feet: Floats
    parent_diameters: Floats
    chalks: Floats


def joints(tree: Tree) -> Joints:
    """Return the joints of a tree; a member without bends has its chalk line at roll 0, any other toward its first
    bend."""
    count = len(tree)
    points, clocks, leans, rolls = np.zeros((count, 3)), np.zeros(count), np.zeros(count), np.zeros(count)
    chalks = tree.chains.inward[tree.chains.firsts[:-1]].copy()
    straight = np.diff(tree.chains.offsets) == 2
    lines = np.zeros_like(tree.chains.directions)
    for level in tree.levels:
        parents = tree.parents[level]
        p, t, c = parent_frames(tree.chains, lines, parents, tree.stations[level], tree.bases[level])
        d = tree.axes[level]
        lean = np.arctan2(row_norms(np.cross(t, d)), dot(t, d))
        side = d - dot(t, d)[:, None] * t
        # A child in line with its parent has no side to lean to: its clock is 0 by convention.
        u = np.where(lean[:, None] > 1e-9, side / np.maximum(row_norms(side), 1e-300)[:, None], c)
        n = np.cos(lean)[:, None] * u - np.sin(lean)[:, None] * t
        chalks[level] = np.where(straight[level, None], n, chalks[level])
        points[level], leans[level] = p, np.degrees(lean)
        clocks[level] = np.degrees(np.arctan2(dot(np.cross(t, c), u), dot(c, u)))
        roll = np.degrees(np.arctan2(dot(np.cross(d, n), chalks[level]), dot(n, chalks[level])))
        rolls[level] = np.where(straight[level], 0.0, roll)
        _draw(tree.chains, lines, level, chalks[level])
    parents, grows = np.maximum(tree.parents, 0), tree.parents >= 0
    feet = tree.stations + tree.setbacks * np.cos(np.radians(leans))
    return Joints(
        points=points,
        stations=tree.stations,
        clocks=clocks,
        leans=leans,
        rolls=rolls,
        setbacks=tree.setbacks,
        feet=np.where(grows, np.clip(feet, 0.0, tree.lengths[parents]), 0.0),
        parent_diameters=np.where(grows, tree.diameters_at(parents, tree.stations), 0.0),
        chalks=chalks,
    )


def assembled(parents: Ints, listed: Joints, bends: BendList, tips: Floats | None = None) -> Chains:
    """Return the centrelines that follow from joints and bends alone, root to tips, level by level.

    parents: (M,) rows, -1 on the base. Only stations, clocks, leans, rolls and setbacks of `listed` are read, and the
    points of members on the base. tips: (M, 3) mm, places at which each member is aimed about its start, by the least
    turn, before anything is set on it; how much too long or too short it is stays.
    """
    place = np.zeros(len(parents), dtype=np.int64)
    order = levels(depths(parents))
    built: list[Chains] = []
    lines = np.zeros((0, 3))
    for level in order:
        placed_parents = np.where(parents[level] >= 0, place[parents[level]], -1)
        p, t, c = parent_frames(
            built[-1] if built else None, lines, placed_parents, listed.stations[level], listed.points[level]
        )
        clock, lean = np.radians(listed.clocks[level])[:, None], np.radians(listed.leans[level])[:, None]
        u = np.cos(clock) * c + np.sin(clock) * np.cross(t, c)
        d = np.cos(lean) * t + np.sin(lean) * u
        chalk = turned(np.cos(lean) * u - np.sin(lean) * t, d, np.radians(listed.rolls[level]))
        own, starts = bends.taken(level), p + d * listed.setbacks[level, None]
        built.append(bent(own, starts, d, chalk))
        if tips is not None:
            d, chalk = _aimed(built[-1], tips[level], d, chalk)
            built[-1] = bent(own, starts, d, chalk)
        lines = chalk_lines(built[-1], chalk)
        place[level] = np.arange(len(level))
    return joined(built).taken(np.argsort(np.concatenate(order), kind="stable"))


def _aimed(chains: Chains, tips: Floats, axes: Floats, chalks: Floats) -> tuple[Floats, Floats]:
    """Return axes and chalk directions (Q, 3) turned so that the chord of each member points at its place in tips."""
    starts = chains.vertices[chains.offsets[:-1]]
    made, wanted = chains.vertices[chains.offsets[1:] - 1] - starts, tips - starts
    before, after = (each / np.maximum(row_norms(each), 1e-9)[:, None] for each in (made, wanted))
    return carry(axes, before, after), carry(chalks, before, after)


def parent_frames(
    chains: Chains | None, lines: Floats, parents: Ints, stations: Floats, bases: Floats | None = None
) -> tuple[Floats, Floats, Floats]:
    """Return P, direction and chalk direction, each (Q, 3), at stations (Q,) of the parents (Q,); a parent of -1 is the
    base, with P in `bases` (Q, 3), else at the origin.

    lines: (S, 3) chalk direction on each straight of the chains.
    """
    points = np.zeros((len(parents), 3)) if bases is None else np.where(parents[:, None] < 0, bases, 0.0)
    tangents, chalk = np.repeat(_UP, len(parents), axis=0), np.repeat(_EAST, len(parents), axis=0)
    grows = np.flatnonzero(parents >= 0)
    if chains is not None and len(grows):
        points[grows], tangents[grows], straights = locate(chains, parents[grows], stations[grows])
        chalk[grows] = carry(lines[straights], chains.directions[straights], tangents[grows])
    return points, tangents, chalk


def dot(left: Floats, right: Floats) -> Floats:
    """Return the dot product of each pair of rows: (Q,)."""
    return np.asarray(np.einsum("ij,ij->i", left, right))


def _draw(chains: Chains, lines: Floats, level: Ints, first: Floats) -> None:
    own = chains.taken(level)
    at = np.repeat(chains.firsts[level] - own.firsts[:-1], np.diff(own.firsts)) + np.arange(own.firsts[-1])
    lines[at] = chalk_lines(own, first)
