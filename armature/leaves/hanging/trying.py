"""Places to try on a twig, the cheapest of them, and which changes can be made at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.leaves.hanging.crowd import Crowd, Tries
from armature.leaves.hanging.meeting import Floats, Ints
from armature.leaves.hanging.swing import spread

# Loops stay off the twig's very end, mm.
_TIP = 4.0


@dataclass(frozen=True, eq=False)
class Stage:
    """What is tried in a round: step between places, mm; `inner`: share of the twig next its foot left free; least
    spacing of loops, mm; home: (L,) mm, stations as grown: among equal places the nearest is taken."""

    step: float
    inner: float
    spacing: float
    home: Floats


def places(crowd: Crowd, movers: Ints, stage: Stage) -> tuple[Ints, Floats]:
    """Return places on each mover's own twig, off its sisters by the spacing: rows (Q,) and stations (Q,) mm."""
    lengths = crowd.room.tree.lengths[crowd.twigs[movers]]
    low = stage.inner * lengths
    high = np.maximum(lengths - _TIP, low)
    gaps = np.maximum(np.ceil((high - low) / stage.step - 1e-9), 1.0).astype(np.int64)
    owner = np.repeat(np.arange(len(movers)), gaps + 1)
    place = spread(np.zeros(len(movers), dtype=np.int64), gaps + 1)
    stations = low[owner] + (high - low)[owner] * (place / gaps[owner])
    free = _off_sisters(crowd, movers[owner], stations, stage.spacing)
    return movers[owner][free], stations[free]


def _off_sisters(crowd: Crowd, rows: Ints, stations: Floats, spacing: float) -> Ints:
    """Numbers of the places that no other leaf of the twig hangs nearer to than the spacing."""
    order = np.argsort(crowd.twigs, kind="stable")
    twigs = crowd.twigs[order]
    first = np.searchsorted(twigs, crowd.twigs[rows])
    each = np.searchsorted(twigs, crowd.twigs[rows], side="right") - first
    number = np.repeat(np.arange(len(rows)), each)
    sister = order[spread(first, each)]
    close = (sister != rows[number]) & (np.abs(crowd.stations[sister] - stations[number]) < spacing - 1e-6)
    return np.flatnonzero(np.bincount(number[close], minlength=len(rows)) == 0)


def cheapest(tries: Tries, groups: Ints, stage: Stage) -> Ints:
    """Return the number of the cheapest try of each group (Q,), the nearest home among equals."""
    away = np.abs(tries.stations - stage.home[tries.rows])
    order = np.lexsort((away, tries.costs, groups))
    kept = groups[order]
    return np.asarray(order[np.flatnonzero(np.diff(kept, prepend=-1))], dtype=np.int64)


@dataclass(frozen=True, eq=False)
class Touch:
    """What moving a leaf to one place touches: its twig, the leaves that it meets before or after, its new eye."""

    twig: int
    leaves: frozenset[int]
    eye: Floats


def touch(crowd: Crowd, tries: Tries, number: int) -> Touch:
    """Return what moving a leaf to one of the tries touches."""
    row = int(tries.rows[number])
    leaves = frozenset(crowd.partners(row)).union(tries.neighbours(number))
    return Touch(int(crowd.twigs[row]), leaves, tries.rods.eyes[number])


class Claims:
    """What the changes of one round have touched so far: they are made at once, so none may touch another's."""

    def __init__(self, crowd: Crowd) -> None:
        self._leaves: set[int] = set()
        self._twigs: set[int] = set()
        self._eyes = np.zeros((len(crowd), 3))
        self._count = 0
        self._reach = 2.0 * float(crowd.room.sizes.sum(axis=1).max())

    def free(self, wanted: Touch) -> bool:
        """Whether a change touches nothing that is claimed."""
        if wanted.twig in self._twigs or not self._leaves.isdisjoint(wanted.leaves):
            return False
        away = np.abs(self._eyes[: self._count] - wanted.eye).max(axis=1)
        return not bool((away < self._reach).any())

    def apart(self, one: Touch, other: Touch) -> bool:
        """Whether two changes touch nothing in common."""
        near = float(np.abs(one.eye - other.eye).max()) < self._reach
        return one.twig != other.twig and one.leaves.isdisjoint(other.leaves) and not near

    def take(self, *claimed: Touch) -> None:
        """Claim what changes touch."""
        for one in claimed:
            self._leaves |= one.leaves
            self._twigs.add(one.twig)
            self._eyes[self._count] = one.eye
            self._count += 1
