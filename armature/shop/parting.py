"""Where a tree is parted so that each piece fits truck, door and hook: few pieces, at natural joints where may be.

Size letters: M members, N slices, K slices of one piece. Lengths are mm, masses kg.

Strategy: from the tips down, a member keeps all that its children bring as long as the whole fits. Where it does not,
either some children are left off at their own joints, to be welded on site, or the member is cut between joints; along
each member the cheapest run of pieces is found exactly over the places where it may be cut. Whatever fits, so does any
part of it, so that keeping as much as can be never costs a piece further down.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.shop.boxes import Limits, outside, smallest_box
from armature.shop.seats import seat, straight_places
from armature.shop.slices import DeadStress, Slices
from armature.tree import Floats, Ints, Tree, locate

FROM_JOINT = 2.5
_SPACING = 400.0
_MOST_PLACES = 10
_TURNS = 3
# A sawn member costs half a piece more than a joint left open: a splice has to be made, where a joint is welded anyway.
_SAWN = 1.5
# A stress of 100 MPa at a splice weighs as much as a fifth of a piece.
_STRESS = 0.002
# A cut where no sleeve or spigot can be pushed on weighs more than any stress, and less than half a piece.
_NO_SEAT = 0.4
_SEATS_APART = 200.0
_NO_WAY = 1000.0


@dataclass(frozen=True, eq=False)
class Parting:
    """Cuts as (row, station), station 0 at the row's own joint; and rows whose pieces nothing can make fit."""

    cuts: tuple[tuple[int, float], ...]
    stuck: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class _Run:
    """Part of a member with what stays on it: cost in pieces, rows of children left off, slices (K,) that stay."""

    cost: float
    left_off: tuple[int, ...]
    own: Ints


def parted(tree: Tree, slices: Slices, limits: Limits, least: float, stress: DeadStress) -> Parting:
    """Return where to part a tree; only members of at least `least` mm are cut or left off."""
    return _Parting(tree, slices, limits, least, stress).parted()


class _Parting:
    """The search on one tree; `_kept` holds what each thick member brings to its parent, slices (K,)."""

    def __init__(self, tree: Tree, slices: Slices, limits: Limits, least: float, stress: DeadStress) -> None:
        self._tree, self._slices, self._limits, self._least, self._stress = tree, slices, limits, least, stress
        self._thick = (tree.start_diameters >= least) | (tree.parents < 0)
        bearers = np.arange(len(tree))
        places = np.zeros(len(tree))
        for row in range(1, len(tree)):
            parent = int(tree.parents[row])
            if not self._thick[row]:
                bearers[row] = bearers[parent]
                places[row] = tree.stations[row] if self._thick[parent] else places[parent]
        self._bearers = bearers[slices.members]
        self._at = np.where(self._thick[slices.members], slices.stations, places[slices.members])
        # The far end of a slice, so that tips count in boxes.
        self._ends = locate(tree.chains, slices.members, slices.stations + slices.lengths / 2.0)[0]
        self._kept: dict[int, Ints] = {}
        self._sides, self._misfits = limits.sides, dict[bytes, float]()

    def parted(self) -> Parting:
        """Return the cuts, members from the trunk up."""
        tree = self._tree
        cuts: list[tuple[int, float]] = []
        stuck: list[int] = []
        for row in np.flatnonzero(self._thick)[::-1].tolist():
            own = np.flatnonzero(self._bearers == row)
            children = [int(c) for c in np.flatnonzero((tree.parents == row) & self._thick)]
            whole = np.concatenate([own, *(self._kept[child] for child in children)])
            if self._misfit(whole) <= 0.0:
                self._kept[row] = whole
                continue
            runs = self._runs(row, own, children)
            self._kept[row] = runs[0][1].own
            cuts += [(row, low) for low, _ in runs[1:]]
            cuts += [(child, 0.0) for _, run in runs for child in run.left_off]
            stuck += [row] * any(run.cost >= _NO_WAY for _, run in runs)
        return Parting(tuple(sorted(cuts)), tuple(sorted(stuck)))

    def _runs(self, row: int, own: Ints, children: list[int]) -> list[tuple[float, _Run]]:
        """Return the cheapest runs along a member as (station where it begins, run): a shortest path over places."""
        marks = [0.0, *self._places(row), np.inf]
        best: list[tuple[float, int, _Run | None]] = [(0.0, -1, None)]
        for end in range(1, len(marks)):
            cheapest: tuple[float, int, _Run | None] = (np.inf, -1, None)
            for start in range(end - 1, -1, -1):
                before = best[start][0] + (self._sawn(row, marks[start]) if start else 0.0)
                # The longer a run, the more it leaves off: no use in finishing one that already costs too much.
                run = self._run(row, own, children, (marks[start], marks[end]), cheapest[0] - before)
                if run is not None and before + run.cost < cheapest[0] - 1e-9:
                    cheapest = (before + run.cost, start, run)
            best.append(cheapest)
        runs: list[tuple[float, _Run]] = []
        at = len(marks) - 1
        while at > 0:
            _, start, run = best[at]
            assert run is not None  # every place but the first is reached by some run
            runs.append((marks[start], run))
            at = start
        return runs[::-1]

    def _sawn(self, row: int, station: float) -> float:
        """Return what it costs to saw and join a member at a station, in pieces."""
        seated = seat(self._tree, row, station).holds
        return _SAWN + _STRESS * self._stress(row, station) + (0.0 if seated else _NO_SEAT)

    def _run(self, row: int, own: Ints, children: list[int], part: tuple[float, float], most: float) -> _Run | None:
        """Return what stays on one part of a member: children are left off until the rest fits, as few as can be.

        None where that costs `most` or more.
        """
        low, high = part
        bare = own[(self._at[own] >= low) & (self._at[own] < high)]
        inside = [child for child in children if low <= self._tree.stations[child] < high]
        if len(bare) < 2 or self._misfit(bare) > 0.0:
            return _Run(_NO_WAY + len(inside), tuple(inside), bare)
        left_off: list[int] = []
        now = self._misfit(self._joined(bare, inside, left_off))
        while now > 0.0:
            # One may come back at the end, hence the one to spare.
            if len(left_off) - 1 >= most:
                return None
            rest = [child for child in inside if child not in left_off]
            trials = [self._misfit(self._joined(bare, inside, [*left_off, child])) for child in rest]
            best = int(np.argmax(np.round(now - np.array(trials), 9)))
            left_off.append(rest[best])
            now = trials[best]
        for child in left_off[:-1]:
            fewer = [other for other in left_off if other != child]
            if self._misfit(self._joined(bare, inside, fewer)) <= 0.0:
                left_off = fewer
        return _Run(float(len(left_off)), tuple(sorted(left_off)), self._joined(bare, inside, left_off))

    def _joined(self, bare: Ints, inside: list[int], left_off: list[int]) -> Ints:
        return np.concatenate([bare, *(self._kept[child] for child in inside if child not in left_off)])

    def _misfit(self, own: Ints) -> float:
        # The same pieces come back in many runs.
        key = own.tobytes()
        if (known := self._misfits.get(key)) is None:
            points, limits = self._ends[own], self._limits
            box = smallest_box(points, self._slices.radii[own], self._sides, _TURNS)
            known = outside(points, self._slices.masses[own], box, self._sides, limits.lift_kg)
            self._misfits[key] = known
        return known

    def _places(self, row: int) -> list[float]:
        """Return stations at which a member may be cut: thick enough, clear of its joints, on straight runs or not."""
        tree = self._tree
        clear = FROM_JOINT * float(tree.start_diameters[row])
        low, high = clear, float(tree.lengths[row]) - clear
        if high <= low:
            return []
        anywhere = np.round(np.linspace(low, high, max(int((high - low) / _SPACING), 1) * 4 + 1), 3)
        straight = straight_places(tree, row)
        good = self._clear(row, anywhere)
        seats = _thinned(self._clear(row, straight[(straight >= low) & (straight <= high)]), _SEATS_APART, _MOST_PLACES)
        gaps = np.abs(np.array(seats)[:, None] - good).min(axis=0, initial=np.inf)
        return sorted([*seats, *_thinned(good[gaps >= _SEATS_APART], _SPACING, _MOST_PLACES)])

    def _clear(self, row: int, stations: Floats) -> Floats:
        """Return those of some stations that are thick enough and clear of joints."""
        tree = self._tree
        joints = tree.stations[tree.parents == row]
        diameters = tree.diameters_at(np.full(len(stations), row), stations)
        gaps = np.abs(joints[:, None] - stations).min(axis=0, initial=np.inf)
        return np.asarray(stations[(diameters >= self._least) & (gaps > FROM_JOINT * diameters)])


def _thinned(stations: Floats, apart: float, most: int) -> list[float]:
    """Return stations at least so far apart, at most so many of them."""
    kept: list[float] = []
    for station in stations.tolist():
        if not kept or station - kept[-1] >= apart:
            kept.append(station)
    return kept[:: -(-len(kept) // most)] if kept else []
