"""Leaves taken to other twigs: what finds no room on its own twig hangs where a neighbour has some to spare."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.leaves.hanging.crowd import Crowd, Tries
from armature.leaves.hanging.meeting import Ints
from armature.leaves.hanging.trying import Claims, Stage, free_places, touch

# Places that a leaf is offered at most, nearest first: others may take them in the same round.
_OFFERED = 40


def transferred(crowd: Crowd, movers: Ints, twigs: Ints, stage: Stage) -> Ints:
    """Hang leaves on other twigs, each as near as there is a place that costs nothing; the rows that went.

    movers: leaves beyond their share, which keep their design. twigs: (T,) rows of the members that may bear leaves.
    """
    found = _open_places(crowd, np.unique(crowd.kinds[movers]), twigs, stage)
    claims, rows, picked = Claims(crowd), [], []
    now = crowd.costs()
    for row in movers[np.argsort(-now[movers], kind="stable")].tolist():
        fitting = np.flatnonzero(found.kinds == crowd.kinds[row])
        away = np.sqrt(((found.rods.eyes[fitting] - crowd.rods.eyes[row]) ** 2).sum(axis=1))
        for number in fitting[np.argsort(np.round(away, 3), kind="stable")][:_OFFERED].tolist():
            mine = touch(crowd, found, number, row)
            if claims.free(mine):
                claims.take(mine)
                rows.append(row)
                picked.append(number)
                break
    gone, places = np.array(rows, dtype=np.int64), np.array(picked, dtype=np.int64)
    if len(gone):
        crowd.move(replace(found, rows=_put(found.rows, places, gone)), places)
    return gone


def _put(rows: Ints, places: Ints, values: Ints) -> Ints:
    rows = rows.copy()
    rows[places] = values
    return rows


def _open_places(crowd: Crowd, kinds: Ints, twigs: Ints, stage: Stage) -> Tries:
    """Places on the twigs where one more leaf of these kinds (K,) would cost nothing; as tries of no leaf, row -1."""
    which, stations = free_places(crowd, twigs, stage)
    which, stations, each = np.repeat(which, len(kinds)), np.repeat(stations, len(kinds)), np.tile(kinds, len(which))
    nobody = np.full(len(which), -1, dtype=np.int64)
    found = crowd.tries(nobody, stations, each, np.zeros(len(which), dtype=np.int64), which)
    return found.taken(np.flatnonzero(found.costs <= 0))
