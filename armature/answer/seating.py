"""A seat for every twig: bars forged by feel, each given the place in the plan where it serves best.

Size letters: N bars, S seats, K points of a bar that are compared. Who gets which seat is an assignment of least cost
(Kuhn, Naval Research Logistics Quarterly 2, 1955; solved by scipy). What then comes too near changes seats until all is
clear, or as few as can be are not.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from armature.answer.answering import Answer, answered
from armature.made import Felt, Offsets, Steel
from armature.tree import TWIG, Chains, Floats, Ints, Tree, joints, locate

if TYPE_CHECKING:
    from armature.commission import Commission

_SHARES = np.linspace(0.0, 1.0, 9)[1:]
# Costs, mm: of a mm that the tip is too near or too far beside a mm off its line, of a mm by which a bar is too short
# for its leaves, of a mm of thickness, of a seat that was found to clash.
_REACH, _SHORT, _THICK, _CLASH = 0.5, 3.0, 15.0, 400.0
_ROUNDS = 6


@dataclass(frozen=True, eq=False)
class Seating:
    """Who sits where: bars (P,) and seats (P,), rows of the tree, of those that got one; costs (P,) mm; left (Q,) bars
    without a seat; answer: the tree with those bars; steel: what exists of it then."""

    bars: Ints
    seats: Ints
    costs: Floats
    left: Ints
    answer: Answer
    steel: Steel


def free_seats(tree: Tree, exists: NDArray[np.bool_]) -> Ints:
    """Return the twigs that are still to be made and bear none themselves: rows (S,)."""
    bears = np.zeros(len(tree), dtype=bool)
    bears[tree.parents[tree.parents >= 0]] = True
    return np.flatnonzero((tree.ranks == TWIG) & ~exists & ~bears)


def seat_costs(tree: Tree, seats: Ints, felt: Felt) -> Floats:
    """Return how badly each bar serves in each seat: (N, S) mm.

    The bar is laid with its base line along that of the planned twig and rolled its best way; what is left between the
    two lines, how much too near or far its tip is, room for the leaves and thickness make the cost.
    """
    own = np.array([_on_line(chains) for chains in felt.chains])
    planned = np.array([_on_line(tree.chains.taken([row])) for row in seats.tolist()])
    # Turned about the base line by the best angle, two lines are as near as this (the planar Procrustes problem).
    a, b = own[:, :, 1] + 1j * own[:, :, 2], planned[:, :, 1] + 1j * planned[:, :, 2]
    across = (np.abs(a) ** 2).sum(1)[:, None] + (np.abs(b) ** 2).sum(1) - 2.0 * np.abs(a @ b.conj().T)
    along = ((own[:, None, :, 0] - planned[None, :, :, 0]) ** 2).sum(axis=2)
    cost = np.sqrt(np.maximum(across + along, 0.0) / len(_SHARES))
    reach = own[:, -1, 0][:, None] - planned[:, -1, 0]
    cost += _REACH * np.abs(reach)
    lengths = np.array([float(chains.lengths[0]) for chains in felt.chains])
    cost += _SHORT * np.maximum(_leafed(tree)[seats] - lengths[:, None], 0.0)
    thin = np.nan_to_num(felt.thick[:, None] - tree.start_diameters[seats])
    return np.asarray(cost + _THICK * np.abs(thin))


def _on_line(chains: Chains) -> Floats:
    """Return points of a bar at shares of its length as it lies to its base line: (K, 3) mm."""
    points = locate(chains, np.zeros(len(_SHARES), dtype=np.int64), _SHARES * chains.lengths[0])[0] - chains.vertices[0]
    base = points[-1] / max(float(np.linalg.norm(points[-1])), 1e-9)
    side = np.eye(3)[int(np.argmin(np.abs(base)))]
    side = side - (side @ base) * base
    side /= np.linalg.norm(side)
    return np.asarray(points @ np.stack([base, side, np.cross(base, side)]).T)


def _leafed(tree: Tree) -> Floats:
    """Return how long each member must be for its outermost leaf: (M,) mm."""
    needed = np.zeros(len(tree))
    np.maximum.at(needed, tree.leaves.twigs, tree.leaves.stations)
    return needed


def seated(
    now: Answer, commission: Commission, felt: Felt, steel_of: Callable[[tuple[Offsets, ...]], Steel]
) -> Seating:
    """Return a seat for every bar, as far as there are any, all clear of each other if that can be had.

    now: the tree as what exists leaves it. steel_of: makes the record of all that exists, these bars too, from what was
    read of them under the tags of their seats.
    """
    from scipy.optimize import linear_sum_assignment

    tree = now.tree
    seats = free_seats(tree, now.exists)
    costs = seat_costs(tree, seats, felt)
    worse = np.zeros_like(costs)
    best: tuple[int, Seating] | None = None
    for _ in range(_ROUNDS):
        bars, places = linear_sum_assignment(np.round(costs + worse, 6))
        named = tuple(
            replace(felt.read[bar], tag=str(tree.tags[seats[place]]))
            for bar, place in zip(bars.tolist(), places.tolist(), strict=True)
        )
        steel = steel_of(named)
        answer = answered(now.plan, commission, steel)
        bad = _spoiled(answer, seats[places])
        left = np.setdiff1d(np.arange(len(felt.names)), bars)
        seating = Seating(bars, seats[places], costs[bars, places], left, answer, steel)
        if best is None or bad.sum() < best[0]:
            best = int(bad.sum()), seating
        if not bad.any():
            break
        worse[bars[bad], places[bad]] += _CLASH
    assert best is not None
    return best[1]


def _spoiled(answer: Answer, rows: Ints) -> NDArray[np.bool_]:
    """Return which of the seated twigs (P,) come too near to something, or lean as no weld reaches."""
    bad = np.zeros(len(answer.tree), dtype=bool)
    for meeting in answer.meetings:
        bad[[meeting.one, meeting.other]] = True
    leans = joints(answer.tree).leans
    bad |= (leans < 20.0 - 1e-6) | (leans > 115.0 + 1e-6)
    return np.asarray(bad[rows])
