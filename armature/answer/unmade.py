"""Members that are not made yet, on parents that came out otherwise: they keep their places in the crown.

Each is tried three ways: its card as it stands, on the real parent; the bar as it is planned, its joint moved along the
parent and aimed again; bent anew, longer or shorter. The first that brings the tip to its place is taken.

Size letters: Q members of one level, C stations tried for each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.answer.standing import Standing, joint_axes, leans_of
from armature.grow import LEAST_LEAN, MOST_LEANS, seats
from armature.tree import BendList, Chains, Floats, Ints, Joints, Tree, bent, carry, locate, row_norms

STANDS, AIMED, BENT = 0, 1, 2
# Stations tried along the real parent, and how far from the planned one, mm at least and in diameters of the child.
_TRIED, _REACH, _REACH_D = 25, 60.0, 6.0


@dataclass(frozen=True, eq=False)
class Placed:
    """Q members placed: chains, chalks (Q, 3), stations, setbacks (Q,) mm, longer (Q,) length over that planned, ways
    (Q,): STANDS, AIMED or BENT."""

    chains: Chains
    chalks: Floats
    stations: Floats
    setbacks: Floats
    longer: Floats
    ways: Ints


def as_carded(standing: Standing, rows: Ints, planned: Joints, bends: BendList) -> Placed:
    """Return members (Q,) made and welded by the cards that they have, on their parents as these are."""
    tree = standing.tree
    length = np.where(tree.parents[rows] >= 0, tree.lengths[np.maximum(tree.parents[rows], 0)], np.inf)
    stations = np.minimum(planned.stations[rows], length - 1.0)
    place, tangent, line = standing.frames(rows, stations)
    axes, chalks = joint_axes(tangent, line, planned.clocks[rows], planned.leans[rows], planned.rolls[rows])
    setbacks, _ = seats(tree, tree.parents[rows], stations, place, axes)
    chains = bent(bends.taken(rows), place + setbacks[:, None] * axes, axes, chalks)
    return Placed(chains, chalks, stations, setbacks, np.ones(len(rows)), np.full(len(rows), STANDS))


def aimed_again(standing: Standing, plan: Tree, rows: Ints, planned: Joints, fit: float, least: float) -> Placed:
    """Return members (Q,) with their joints moved along their parents and aimed at the planned tips.

    fit: mm by which a tip may miss its place before the bar is bent anew. least: the least bend radius in diameters.
    """
    stations, place, _ = _best_stations(standing, plan, rows, planned)
    old = plan.starts[rows] - plan.setbacks[rows, None] * plan.axes[rows]
    was, now = plan.tips[rows] - old, plan.tips[rows] - place
    share = row_norms(now) / row_norms(was)
    bent_anew = np.abs(share - 1.0) * row_norms(was) > fit
    share = np.where(bent_anew, share, 1.0)
    before, after = was / row_norms(was)[:, None], now / row_norms(now)[:, None]
    axes, chalks = carry(plan.axes[rows], before, after), carry(planned.chalks[rows], before, after)
    setbacks, _ = seats(standing.tree, standing.tree.parents[rows], stations, place, axes)
    own = plan.chains.taken(rows)
    each = np.repeat(np.arange(len(rows)), np.diff(own.offsets))
    vertices = own.vertices - old[each]
    vertices = place[each] + share[each, None] * carry(vertices, before[each], after[each])
    vertices[own.offsets[:-1]] = place + setbacks[:, None] * axes
    # A bar that gets shorter keeps its bends at the least radius where they are at it.
    thick = plan.start_diameters[rows][each]
    radii = np.where(share[each] < 1.0, np.maximum(share[each] * own.radii, np.minimum(own.radii, least * thick)), 0.0)
    radii = np.where(share[each] < 1.0, radii, share[each] * own.radii)
    chains = Chains(own.offsets, vertices, radii)
    longer = chains.lengths / own.lengths
    return Placed(chains, chalks, stations, setbacks, longer, np.where(bent_anew, BENT, AIMED))


def _best_stations(standing: Standing, plan: Tree, rows: Ints, planned: Joints) -> tuple[Floats, Floats, Floats]:
    """Return where along the real parents the joints best go: stations (Q,) mm, P (Q, 3), leans (Q,) deg."""
    tree, count = standing.tree, len(rows)
    reach = np.maximum(_REACH, _REACH_D * plan.start_diameters[rows])
    lengths = tree.lengths[tree.parents[rows]]
    tried = plan.stations[rows, None] + np.linspace(-1.0, 1.0, _TRIED) * reach[:, None]
    tried = np.clip(tried, 0.02 * lengths[:, None], 0.99 * lengths[:, None])
    flat = np.repeat(rows, _TRIED)
    place, tangent, _ = standing.frames(flat, tried.ravel())
    old = plan.starts[rows] - plan.setbacks[rows, None] * plan.axes[rows]
    was, now = np.repeat(plan.tips[rows] - old, _TRIED, 0), plan.tips[flat] - place
    share = row_norms(now) / row_norms(was)
    before, after = was / row_norms(was)[:, None], now / np.maximum(row_norms(now), 1e-9)[:, None]
    lean = leans_of(tangent, carry(plan.axes[flat], before, after))
    most = np.array([MOST_LEANS.get(int(rank), 115.0) for rank in plan.ranks[flat]])
    outside = np.maximum(LEAST_LEAN - lean, 0.0) + np.maximum(lean - most, 0.0)
    # A foot off the end of its parent costs as a lean out of reach does: it cannot be.
    thick = tree.diameters_at(tree.parents[flat], tried.ravel())
    reached = tried.ravel() + thick / 2.0 / np.tan(np.radians(np.clip(lean, 5.0, 175.0)))
    outside += np.maximum(reached - np.repeat(lengths, _TRIED) + 1.0, 0.0)
    away = row_norms(place - np.repeat(old, _TRIED, 0)) / np.repeat(reach, _TRIED)
    cost = 10.0 * outside + ((lean - planned.leans[flat]) / 8.0) ** 2 + (np.log(share) / 0.03) ** 2 + 2.0 * away**2
    best = np.argmin(np.round(cost, 9).reshape(count, _TRIED), axis=1)
    at = np.arange(count) * _TRIED + best
    return tried.ravel()[at], place[at], lean[at]


def unsound(placed: Placed, tree: Tree, rows: Ints) -> np.ndarray:
    """Return which of the members placed (Q,) cannot be bent or welded so: bends that overlap, a lean that no weld
    reaches, a foot off the parent's end."""
    _, tangent, _ = locate(tree.chains, tree.parents[rows], placed.stations)
    axes = placed.chains.directions[placed.chains.firsts[:-1]]
    lean = leans_of(tangent, axes)
    most = np.array([MOST_LEANS.get(int(rank), 115.0) for rank in tree.ranks[rows]])
    foot = placed.stations + placed.setbacks * np.cos(np.radians(lean))
    bad = (lean < LEAST_LEAN - 1e-6) | (lean > most + 1e-6) | (foot > tree.lengths[tree.parents[rows]])
    bad[placed.chains.members[placed.chains.feeds < 0.0]] = True
    return np.asarray(bad)
