"""Moving: hang points moved along twigs and designs exchanged until few leaves strike beyond their share.

All is done in rounds. In each, every leaf in trouble (over its share, or striking one that is) tries the places of
its own twig; the moves that mend most are made, none of which touches a leaf that another has touched. A move counts
by what it does to all leaves, so that no leaf is helped at another's cost. What moves cannot mend, an exchange may: a
long or broad leaf goes to a leaf's place that has room for it, and a smaller one comes back. What is left may go to
another twig, the nearest that has a place at which it and all others hang free.
"""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree

from armature.leaves.hanging.crowd import Crowd
from armature.leaves.hanging.exchanging import exchanged
from armature.leaves.hanging.loops import Room
from armature.leaves.hanging.meeting import Bools, Floats, Ints
from armature.leaves.hanging.transferring import transferred
from armature.leaves.hanging.trying import Claims, Stage, cheapest, places, touch
from armature.tree import TWIG, Leaves

_ROUNDS = 40
# Stages: step between the places tried over a leaf's length, share of the twig next its foot left free, and whether
# designs are exchanged. The inner part of a twig, which reads better bare, is used only where the outer does not serve.
_STAGES = (
    (0.25, 0.3, False),
    (0.25, 0.05, False),
    (0.25, 0.05, True),
    (0.125, 0.05, False),
    (0.125, 0.05, True),
    (0.0625, 0.03, False),
)
# Where leaves may go to other twigs, and the stages after each such round; it is left once nothing goes.
_TRANSFERS = 4
_TRANSFER = (0.125, 0.05)
_AFTER = ((0.125, 0.05, False), (0.125, 0.05, True))


def settled(
    room: Room, leaves: Leaves, kinds: Ints, strike: float, spacing: float, locked: Bools, transfer: bool = False
) -> tuple[Ints, Floats, Ints]:
    """Return twigs (L,), stations (L,) mm and kinds (L,) of the leaves once settled.

    kinds: (L,) rows of the designs as drawn; as many of each come back. locked: (L,) leaves that keep their design.
    transfer: whether leaves that find no room on their own twig may go to another.
    """
    crowd = Crowd(room, leaves.twigs, leaves.stations, kinds, strike)
    length = float(room.sizes[:, 0].mean())
    home = leaves.stations.copy()
    for step, inner, exchange in _STAGES:
        _rounds(crowd, Stage(step * length, inner, spacing, home), locked, exchange)
    bearers = room.tree.of_rank(TWIG)
    for _ in range(_TRANSFERS if transfer and len(bearers) else 0):
        over = np.flatnonzero(crowd.over)
        step, inner = _TRANSFER
        gone = transferred(crowd, over, bearers, Stage(step * length, inner, spacing, home)) if len(over) else over
        if len(gone) == 0:
            break
        home[gone] = crowd.stations[gone]
        for step, inner, exchange in _AFTER:
            _rounds(crowd, Stage(step * length, inner, spacing, home), locked, exchange)
    return crowd.twigs, crowd.stations, crowd.kinds


def _rounds(crowd: Crowd, stage: Stage, locked: Bools, exchange: bool) -> None:
    """Move leaves, or exchange designs, until no move mends anything."""
    fresh = ~locked if exchange else np.ones(len(crowd), dtype=bool)
    open_ = fresh.copy()
    for _ in range(_ROUNDS):
        movers = np.flatnonzero(crowd.troubled & fresh)
        if len(movers) == 0:
            return
        before = crowd.counts
        moved = exchanged(crowd, movers, stage, open_) if exchange else _moved(crowd, movers, stage)
        if len(moved) == 0:
            return
        fresh[movers] = False
        fresh |= open_ & _stirred(crowd, moved, before)


def _stirred(crowd: Crowd, moved: Ints, before: Ints) -> Bools:
    """Leaves near enough to a change that trying them again may pay: (L,)."""
    changed = crowd.counts != before
    changed[moved] = True
    away, _ = cKDTree(crowd.rods.eyes[changed]).query(crowd.rods.eyes)
    return np.asarray(away < 3.0 * crowd.room.sizes[:, 0].max())


def _moved(crowd: Crowd, movers: Ints, stage: Stage) -> Ints:
    """Make the moves that mend most; the rows that moved."""
    now = crowd.costs()
    rows, stations = places(crowd, movers, stage)
    tries = crowd.tries(rows, stations, crowd.kinds[rows], now[rows] - 1)
    best = cheapest(tries, tries.rows, stage)
    gains = now[tries.rows[best]] - tries.costs[best]
    best = best[np.lexsort((tries.rows[best], -gains))][: int((gains > 0).sum())]
    claims = Claims(crowd)
    picked = []
    for number in best.tolist():
        mine = touch(crowd, tries, number)
        if claims.free(mine):
            claims.take(mine)
            picked.append(number)
    crowd.move(tries, np.array(picked, dtype=np.int64))
    return tries.rows[picked]
