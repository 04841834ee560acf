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
    owner, stations = _stepped(crowd.room.tree.lengths[crowd.twigs[movers]], stage)
    rows = movers[owner]
    free = _off_sisters(crowd, rows, crowd.twigs[rows], stations, stage.spacing)
    return rows[free], stations[free]


def free_places(crowd: Crowd, twigs: Ints, stage: Stage) -> tuple[Ints, Floats]:
    """Return places on twigs (T,) for one more leaf, off all that hang there: twigs (Q,) and stations (Q,) mm."""
    owner, stations = _stepped(crowd.room.tree.lengths[twigs], stage)
    which = twigs[owner]
    free = _off_sisters(crowd, np.full(len(which), -1, dtype=np.int64), which, stations, stage.spacing)
    return which[free], stations[free]


def _stepped(lengths: Floats, stage: Stage) -> tuple[Ints, Floats]:
    """Places in even steps along bars of these lengths: the bar (Q,) and the station (Q,) of each."""
    low = stage.inner * lengths
    high = np.maximum(lengths - _TIP, low)
    gaps = np.maximum(np.ceil((high - low) / stage.step - 1e-9), 1.0).astype(np.int64)
    owner = np.repeat(np.arange(len(lengths)), gaps + 1)
    place = spread(np.zeros(len(lengths), dtype=np.int64), gaps + 1)
    return owner, low[owner] + (high - low)[owner] * (place / gaps[owner])


def _off_sisters(crowd: Crowd, rows: Ints, bearers: Ints, stations: Floats, spacing: float) -> Ints:
    """Numbers of the places on twigs `bearers` (Q,) that no leaf but the one of `rows` hangs nearer to than the
    spacing."""
    order = np.argsort(crowd.twigs, kind="stable")
    twigs = crowd.twigs[order]
    first = np.searchsorted(twigs, bearers)
    each = np.searchsorted(twigs, bearers, side="right") - first
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


def touch(crowd: Crowd, tries: Tries, number: int, row: int | None = None) -> Touch:
    """Return what moving a leaf to one of the tries touches; row: of the leaf, where the try does not say."""
    leaf = int(tries.rows[number]) if row is None else row
    leaves = frozenset(crowd.partners(leaf)).union(tries.neighbours(number))
    return Touch(int(tries.rods.twigs[number]), leaves, tries.rods.eyes[number])


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
