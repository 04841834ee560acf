"""The leaves as they hang, who strikes whom in which pose, and what it would cost to hang one elsewhere."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.leaves.hanging.loops import Room
from armature.leaves.hanging.meeting import Bools, Floats, Ints, poses_joined
from armature.leaves.hanging.swing import Rods, leaves_met, near_leaves, poses, spread, steel_struck

# A leaf over its share counts as much as twenty poses too many: fewer leaves over come before smaller shares. The two
# counts just under the share cost a little, so that leaves do not come to hang there by the luck of the poses.
_OVER, _CLOSE = 20, 2


@dataclass(frozen=True, eq=False)
class Tries:
    """Q places where leaves might hang: rows (Q,) of the leaves, -1 for one more leaf than there is, stations (Q,) mm,
    kinds (Q,) of design; the twigs are those of the rods.

    steel: (Q, P) poses in which they would meet steel. costs: (Q,), as Crowd.costs. near: rows of the leaves within
    reach, of try q from firsts[q] to firsts[q + 1].
    """

    rows: Ints
    stations: Floats
    kinds: Ints
    rods: Rods
    steel: Bools
    costs: Ints
    near: Ints
    firsts: Ints

    def __len__(self) -> int:
        return len(self.rows)

    def neighbours(self, number: int) -> list[int]:
        """Rows of the leaves within reach of one try."""
        near: list[int] = self.near[self.firsts[number] : self.firsts[number + 1]].tolist()
        return near

    def taken(self, some: Ints) -> Tries:
        """Return some of the tries, in their order."""
        each = self.firsts[some + 1] - self.firsts[some]
        near = self.near[spread(self.firsts[some], each)]
        firsts = np.concatenate([[0], np.cumsum(each)])
        rods, steel, costs = self.rods.taken(some), self.steel[some], self.costs[some]
        return Tries(self.rows[some], self.stations[some], self.kinds[some], rods, steel, costs, near, firsts)


class Crowd:
    """L leaves as they hang now.

    twigs, stations, kinds: (L,). counts: (L,) poses of P in which each strikes. most: poses a leaf may strike in.
    """

    def __init__(self, room: Room, twigs: Ints, stations: Floats, kinds: Ints, strike: float) -> None:
        self.room, self.twigs = room, twigs.copy()
        self.stations, self.kinds = stations.copy(), kinds.copy()
        self.poses = len(poses(room.swing))
        self.most = int(np.floor(strike * self.poses + 1e-9))
        excess = np.arange(self.poses + 1) - self.most
        self._price = np.where(excess > 0, _OVER + excess, np.maximum(excess + _CLOSE, 0))
        self.rods = room.rods(twigs, stations, kinds)
        self._steel = steel_struck(self.rods, room.steel, room.swing)
        one, other = near_leaves(self.rods, self.rods, room.swing)
        apart = one != other
        nobody = np.zeros(0, dtype=np.int64)
        self._ones, self._others, self._met = nobody, nobody, np.zeros((0, self.poses), dtype=bool)
        self._meet(one[apart], other[apart], nobody)

    def __len__(self) -> int:
        return len(self.twigs)

    @property
    def over(self) -> Bools:
        """Leaves that strike beyond their share: (L,)."""
        return np.asarray(self.counts > self.most)

    @property
    def troubled(self) -> Bools:
        """Leaves beyond their share and those that strike them: (L,)."""
        over = self.over
        troubled = over.copy()
        troubled[self._others[over[self._ones]]] = True
        return troubled

    def partners(self, row: int) -> list[int]:
        """Rows of the leaves that one strikes or is struck by, itself first."""
        struck = self._others[self._starts[row] : self._starts[row + 1]]
        by = self._ones[self._turned[self._ends[row] : self._ends[row + 1]]]
        return [row, *struck.tolist(), *by.tolist()]

    def costs(self) -> Ints:
        """Return what each leaf costs where it hangs: its own excess, and what it adds to that of others: (L,)."""
        left = self._counts[self._ones] - self._met
        without = ((left > 0) | self._steel[self._ones]).sum(axis=1)
        added = self._price[self.counts[self._ones]] - self._price[without]
        return np.asarray(self._price[self.counts] + _summed(self._others, added, len(self)))

    def tries(self, rows: Ints, stations: Floats, kinds: Ints, limits: Ints, twigs: Ints | None = None) -> Tries:
        """Return places for leaves with their costs; those where steel alone costs over limits (Q,) are left out.

        twigs: (Q,) that they would hang from, their own where not given.
        """
        rods = self.room.rods(self.twigs[rows] if twigs is None else twigs, stations, kinds)
        steel = steel_struck(rods, self.room.steel, self.room.swing)
        able = np.flatnonzero(self._price[steel.sum(axis=1)] <= limits)
        rows, stations, kinds, rods, steel = rows[able], stations[able], kinds[able], rods.taken(able), steel[able]
        number, near = near_leaves(rods, self.rods, self.room.swing)
        apart = near != rows[number]
        number, near = number[apart], near[apart]
        costs = self._costs_of(rows, rods, steel, number, near)
        return Tries(rows, stations, kinds, rods, steel, costs, near, _firsts(number, len(rows)))

    def move(self, tries: Tries, picked: Ints) -> None:
        """Hang leaves at the picked tries."""
        rows = tries.rows[picked]
        self.stations[rows], self.kinds[rows] = tries.stations[picked], tries.kinds[picked]
        self.twigs[rows] = tries.rods.twigs[picked]
        self.rods = self.rods.put(rows, tries.rods.taken(picked))
        self._steel[rows] = tries.steel[picked]
        gone = np.zeros(len(self), dtype=bool)
        gone[rows] = True
        number, near = near_leaves(self.rods.taken(rows), self.rods, self.room.swing)
        one = rows[number]
        apart = one != near
        one, near = one[apart], near[apart]
        back = ~gone[near]
        stay = np.flatnonzero(~(gone[self._ones] | gone[self._others]))
        self._meet(np.concatenate([one, near[back]]), np.concatenate([near, one[back]]), stay)

    def _meet(self, ones: Ints, others: Ints, stay: Ints) -> None:
        """Take in which poses leaves meet others, beside the pairs known already that stay."""
        met = leaves_met(self.rods.taken(ones), self.rods.taken(others), self.room.swing)
        some = np.flatnonzero(met.any(axis=1))
        ones = np.concatenate([self._ones[stay], ones[some]])
        others = np.concatenate([self._others[stay], others[some]])
        met = np.concatenate([self._met[stay], met[some]])
        order = np.lexsort((others, ones))
        self._ones, self._others, self._met = ones[order], others[order], met[order]
        self._keys = self._ones * len(self) + self._others
        self._starts = _firsts(self._ones, len(self))
        self._turned = np.argsort(self._others, kind="stable")
        self._ends = _firsts(self._others[self._turned], len(self))
        self._counts = np.zeros((len(self), self.poses), dtype=np.int64)
        np.add.at(self._counts, self._ones, self._met)
        self.counts = ((self._counts > 0) | self._steel).sum(axis=1)

    def _costs_of(self, rows: Ints, rods: Rods, steel: Bools, number: Ints, near: Ints) -> Ints:
        """Costs of leaves at Q tries among those at rest; number, near (K,): tries and leaves within reach."""
        struck = steel.copy()
        tried, resting = rods.taken(number), self.rods.taken(near)
        poses_joined(struck, number, leaves_met(tried, resting, self.room.swing))
        met = leaves_met(resting, tried, self.room.swing)
        some = np.flatnonzero(met.any(axis=1))
        number, near, met = number[some], near[some], met[some]
        base = (self._without(near, rows[number]) > 0) | self._steel[near]
        added = self._price[(base | met).sum(axis=1)] - self._price[base.sum(axis=1)]
        return np.asarray(self._price[struck.sum(axis=1)] + _summed(number, added, len(rows)))

    def _without(self, ones: Ints, others: Ints) -> Ints:
        """How many leaves other than `others` (K,) each of `ones` (K,) meets in each pose: (K, P)."""
        counts = self._counts[ones]
        if len(self._keys):
            keys = ones * len(self) + others
            place = np.minimum(np.searchsorted(self._keys, keys), len(self._keys) - 1)
            known = np.flatnonzero(self._keys[place] == keys)
            counts[known] -= self._met[place[known]]
        return counts


def _summed(rows: Ints, values: Ints, count: int) -> Ints:
    return np.bincount(rows, values, count).astype(np.int64)


def _firsts(rows: Ints, count: int) -> Ints:
    """Where each row begins in a sorted list of rows: (count + 1,)."""
    return np.asarray(np.searchsorted(rows, np.arange(count + 1)))
