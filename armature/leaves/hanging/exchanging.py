"""Designs exchanged between leaves: a smaller one where it is tight, the larger one where there is room for it."""

from __future__ import annotations

import numpy as np

from armature.leaves.hanging.crowd import Crowd, Tries
from armature.leaves.hanging.meeting import Bools, Ints
from armature.leaves.hanging.trying import Claims, Stage, Touch, cheapest, places, touch

# Leaves of each design asked in a round whether they could take another.
_ASKED = 30


def exchanged(crowd: Crowd, takers: Ints, stage: Stage, open_: Bools) -> Ints:
    """Make the exchanges that mend most; the rows of the leaves that changed, two for each.

    takers: leaves in trouble, which may also move along their twig as they take another design. open_: (L,) leaves
    whose design is not fixed. As many leaves of each design are left as there were.
    """
    now = crowd.costs()
    wanted = _wanted(crowd, takers, stage, now)
    designs = len(crowd.room.sizes)
    best = cheapest(wanted, wanted.rows * designs + wanted.kinds, stage)
    gains = now[wanted.rows[best]] - wanted.costs[best]
    best = best[np.lexsort((wanted.kinds[best], wanted.rows[best], -gains))][: int((gains > 0).sum())]
    if len(best) == 0:
        return np.zeros(0, dtype=np.int64)
    givers = open_.copy()
    givers[takers] = False
    offered = _offered(crowd, wanted, best, np.flatnonzero(givers), now)
    picked = _matched(crowd, wanted, best, offered, now)
    if not picked:
        return np.zeros(0, dtype=np.int64)
    taken, given = (np.array(side, dtype=np.int64) for side in zip(*picked, strict=True))
    crowd.move(wanted, taken)
    crowd.move(offered, given)
    return np.concatenate([wanted.rows[taken], offered.rows[given]])


def _wanted(crowd: Crowd, takers: Ints, stage: Stage, now: Ints) -> Tries:
    """The places of leaves in trouble with every design that is shorter or narrower than their own."""
    rows, stations = places(crowd, takers, stage)
    rows, stations = np.concatenate([rows, takers]), np.concatenate([stations, crowd.stations[takers]])
    sizes, designs = crowd.room.sizes, len(crowd.room.sizes)
    rows, stations, kinds = (
        np.repeat(rows, designs),
        np.repeat(stations, designs),
        np.tile(np.arange(designs), len(rows)),
    )
    smaller = np.flatnonzero((sizes[kinds] < sizes[crowd.kinds[rows]]).any(axis=1))
    rows, stations, kinds = rows[smaller], stations[smaller], kinds[smaller]
    return crowd.tries(rows, stations, kinds, now[rows] - 1)


def _offered(crowd: Crowd, wanted: Tries, best: Ints, givers: Ints, now: Ints) -> Tries:
    """Leaves that hold a wanted design, where they hang, with the designs that would come back for it."""
    easiest = givers[np.lexsort((givers, now[givers], crowd.counts[givers]))]
    askers = [easiest[crowd.kinds[easiest] == kind][:_ASKED] for kind in np.unique(wanted.kinds[best])]
    asked = np.concatenate(askers)
    back = np.unique(crowd.kinds[wanted.rows[best]])
    rows, kinds = np.repeat(asked, len(back)), np.tile(back, len(asked))
    other = np.flatnonzero(kinds != crowd.kinds[rows])
    rows, kinds = rows[other], kinds[other]
    return crowd.tries(rows, crowd.stations[rows], kinds, now[rows])


def _matched(crowd: Crowd, wanted: Tries, best: Ints, offered: Tries, now: Ints) -> list[tuple[int, int]]:
    """Pairs of tries, one of each side, that mend most together; no two touch the same leaves."""
    losses = offered.costs - now[offered.rows]
    open_deals: dict[tuple[int, int], list[int]] = {}
    for number in np.lexsort((offered.rows, losses)).tolist():
        deal = (int(crowd.kinds[offered.rows[number]]), int(offered.kinds[number]))
        open_deals.setdefault(deal, []).append(number)
    claims, picked = Claims(crowd), []
    touches: dict[int, Touch] = {}
    for taker in best.tolist():
        row = int(wanted.rows[taker])
        mine = touch(crowd, wanted, taker)
        if not claims.free(mine):
            continue
        givers = open_deals.get((int(wanted.kinds[taker]), int(crowd.kinds[row])), [])
        gain = int(now[row] - wanted.costs[taker])
        for giver in list(givers):
            if losses[giver] >= gain:
                break
            if giver not in touches:
                touches[giver] = touch(crowd, offered, giver)
            if not claims.free(touches[giver]):
                givers.remove(giver)
            elif claims.apart(mine, touches[giver]):
                claims.take(mine, touches[giver])
                picked.append((taker, giver))
                break
    return picked
