"""Sections: what travels as one piece, cut from the tree where few forces pass.

A section begins at a splice on a member and holds all that this member carries beyond it, less the sections that begin
further out. Greedy: the section that sticks out most is cut where that takes most away, until all fit.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from armature.centreline import Ints
from armature.shop.boxes import Box, Limits, fits, outside, smallest_box
from armature.shop.slices import DeadStress, Slices, sliced
from armature.tree import Tree

_MOST_SECTIONS = 60
_FROM_JOINT = 2.5
_SPACING = 400.0
_COARSE = (300.0, 15.0)
_COARSE_TURNS = 3
# Room kept while searching on a coarse tree, more where a finished section then misses the limits.
_MARGINS = (0.97, 0.94, 0.9)
# A member that carries less than this share of its section is no place to cut it.
_WORTH = 0.03
# A stress of 100 MPa at the splice weighs as much as a fifth of the misfit.
_STRESS = 0.002
# A cut into halves is worth this much of the misfit against a crumb: crumbs make many sections.
_CRUMB = 0.3


@dataclass(frozen=True)
class Splice:
    """A joint between sections: member, station, the bar there, and the dead-load stress that it carries."""

    row: int
    station_mm: float
    diameter_mm: float
    stress_mpa: float


@dataclass(frozen=True, eq=False)
class Section:
    """One piece that travels: its splice (none for the first), the section it stands on or -1, its slices and box."""

    splice: Splice | None
    host: int
    slices: Slices
    box: Box
    fits: bool

    @property
    def mass(self) -> float:
        """Mass, kg."""
        return float(self.slices.masses.sum())


@dataclass(frozen=True, eq=False)
class SectionPlan:
    """Sections, each after its host, the section of each member's start (M,), and what cannot be met, in words."""

    sections: tuple[Section, ...]
    of_member: Ints
    faults: tuple[str, ...] = field(default=())


def section_plan(tree: Tree, limits: Limits, density_kg_m3: float, least_splice: float) -> SectionPlan:
    """Return the sections of a tree for a truck, a door and a hook; `faults` says what nothing can meet.

    Splices sit on members of at least `least_splice` mm, two and a half diameters clear of any joint.
    """
    plan = _planned(tree, limits, density_kg_m3, least_splice, _MARGINS[0])
    for margin in _MARGINS[1:]:
        if plan.faults or all(section.fits for section in plan.sections):
            break
        plan = _planned(tree, limits, density_kg_m3, least_splice, margin)
    return plan


def _planned(tree: Tree, limits: Limits, density_kg_m3: float, least_splice: float, margin: float) -> SectionPlan:
    door = limits.door_mm
    tight = Limits(
        (limits.truck_mm[0] * margin, limits.truck_mm[1] * margin, limits.truck_mm[2] * margin),
        limits.lift_kg * margin,
        None if door is None else (door[0] * margin, door[1] * margin),
    )
    slices = sliced(tree, density_kg_m3, *_COARSE)
    stress = DeadStress(tree, slices)
    search = _Search(tree, slices, tight, least_splice, stress)
    cuts: list[tuple[int, float]] = []
    parts = np.zeros(len(slices.members), dtype=np.int64)
    stuck: dict[int, str] = {}
    misfits = {0: search.misfit(np.arange(len(parts)))}
    while len(cuts) < _MOST_SECTIONS:
        worst = max((n for n in misfits if n not in stuck), key=lambda n: (misfits[n], -n), default=0)
        if worst in stuck or misfits[worst] <= 0.0:
            break
        own = np.flatnonzero(parts == worst)
        found = search.best_cut(own)
        if found is None:
            stuck[worst] = f"section {worst + 1} {_why(slices.taken(own), limits)}"
            continue
        row, station, far = found
        cuts.append((row, station))
        parts[far] = len(cuts)
        misfits |= {n: search.misfit(np.flatnonzero(parts == n)) for n in (worst, len(cuts))}
    return _finished(tree, cuts, limits, density_kg_m3, stress, tuple(stuck[n] for n in sorted(stuck)))


class _Search:
    """Cuts of one tree: what each would take away, and how far both halves then are from fitting."""

    def __init__(self, tree: Tree, slices: Slices, limits: Limits, least: float, stress: DeadStress) -> None:
        self._tree, self._slices, self._limits, self._least, self._stress = tree, slices, limits, least, stress
        # Rows renumbered so that a member and all it carries are one run of numbers.
        sizes = tree.summed_to_root(np.ones(len(tree))).astype(np.int64)
        self._entry = np.zeros(len(tree), dtype=np.int64)
        follow = np.zeros(len(tree), dtype=np.int64)
        for row in range(1, len(tree)):
            parent = int(tree.parents[row])
            self._entry[row] = self._entry[parent] + 1 + follow[parent]
            follow[parent] += sizes[row]
        self._sizes = sizes

    def misfit(self, own: Ints) -> float:
        """Return how far the slices (K,) are from fitting as one section, 0 when they fit."""
        part = self._slices.taken(own)
        box = smallest_box(part.points, part.radii, self._limits.sides, _COARSE_TURNS)
        return outside(part.points, part.masses, box, self._limits.sides, self._limits.lift_kg)

    def best_cut(self, own: Ints) -> tuple[int, float, Ints] | None:
        """Return row, station and the slices beyond for the cut that leaves the least misfit at the least stress."""
        before = self.misfit(own)
        best: tuple[float, int, float, Ints] | None = None
        for row, station in self._places(own):
            far, near = self._split(own, row, station)
            if min(len(far), len(near)) < 2:
                continue
            both = self.misfit(far), self.misfit(near)
            left = sum(both)
            share = float(self._slices.masses[far].sum() / self._slices.masses[own].sum())
            cost = left / before + _STRESS * self._stress(row, station) + _CRUMB * abs(1.0 - 2.0 * share)
            if max(both) < before - 1e-9 and (best is None or cost < best[0] - 1e-9):
                best = (cost, row, station, far)
        return None if best is None else best[1:]

    def _split(self, own: Ints, row: int, station: float) -> tuple[Ints, Ints]:
        members = self._slices.members[own]
        place = self._entry[members]
        beyond = (members == row) & (self._slices.stations[own] >= station)
        for child in np.flatnonzero((self._tree.parents == row) & (self._tree.stations >= station)):
            beyond |= (place >= self._entry[child]) & (place < self._entry[child] + self._sizes[child])
        return own[beyond], own[~beyond]

    def _places(self, own: Ints) -> list[tuple[int, float]]:
        """Return places for a splice in a section: near the start of each thick member, and along the long ones."""
        tree, slices = self._tree, self._slices
        masses = np.bincount(slices.members[own], weights=slices.masses[own], minlength=len(tree)).astype(np.float64)
        worth = _WORTH * float(slices.masses[own].sum())
        carried = tree.summed_to_root(masses)
        found = []
        for row in np.unique(slices.members[own]).tolist():
            if tree.start_diameters[row] < self._least or carried[row] < worth:
                continue
            mine = slices.stations[own[slices.members[own] == row]]
            clear = _FROM_JOINT * float(tree.start_diameters[row])
            low, high = float(mine.min()) + clear, float(mine.max()) - clear
            if high <= low:
                continue
            joints = tree.stations[tree.parents == row]
            stations = np.round(np.linspace(low, high, max(int((high - low) / _SPACING), 1) + 1), 3)
            diameters = tree.diameters_at(np.full(len(stations), row), stations)
            gaps = np.abs(joints[:, None] - stations).min(axis=0, initial=np.inf)
            clear_of = (diameters >= self._least) & (gaps > _FROM_JOINT * diameters)
            found += [(row, float(station)) for station in stations[clear_of]]
        return found


def _parts(tree: Tree, slices: Slices, cuts: list[tuple[int, float]]) -> tuple[Ints, Ints]:
    """Return the section of each slice (N,) and of each member's start (M,): 0 from the ground, n + 1 from cut n."""
    by_row: dict[int, list[tuple[float, int]]] = {}
    for number, (row, station) in enumerate(cuts):
        by_row.setdefault(row, []).append((station, number + 1))
    starts = np.zeros(len(tree), dtype=np.int64)
    parts = starts[slices.members]
    for level in tree.levels:
        hosts = tree.parents[level]
        starts[level] = np.where(hosts >= 0, starts[np.maximum(hosts, 0)], 0)
        for row in level.tolist():
            for station, number in sorted(by_row.get(int(tree.parents[row]), [])):
                if tree.stations[row] >= station:
                    starts[row] = number
    parts = starts[slices.members]
    for row, own in by_row.items():
        mine = slices.members == row
        for station, number in sorted(own):
            parts[mine & (slices.stations >= station)] = number
    return parts, starts


def _why(own: Slices, limits: Limits) -> str:
    box = smallest_box(own.points, own.radii, limits.sides)
    mass = float(own.masses.sum())
    if mass > limits.lift_kg:
        too_heavy = f"weighs {mass:.0f} kg of {limits.lift_kg:.0f} allowed"
        return f"{too_heavy} and has no place for a splice: raise shop.transport.lift"
    sides = " x ".join(f"{side:.0f}" for side in box.sides[::-1])
    allowed = " x ".join(f"{side:.0f}" for side in limits.sides[::-1])
    return (
        f"needs {sides} mm of {allowed} allowed and has no place for a splice: "
        "widen shop.transport or lower shop.transport.least_splice"
    )


def _finished(
    tree: Tree,
    cuts: list[tuple[int, float]],
    limits: Limits,
    density: float,
    stress: DeadStress,
    faults: tuple[str, ...],
) -> SectionPlan:
    fine = sliced(tree, density, 50.0)
    parts, starts = _parts(tree, fine, cuts)
    sections = []
    for number in range(len(cuts) + 1):
        own = fine.taken(np.flatnonzero(parts == number))
        box = smallest_box(own.points, own.radii, limits.sides)
        splice, host = None, -1
        if number:
            row, station = cuts[number - 1]
            before = [n for n in range(len(cuts)) if n != number - 1 and cuts[n][0] == row and cuts[n][1] < station]
            host = max(before, key=lambda n: cuts[n][1]) + 1 if before else int(starts[row])
            diameter = float(tree.diameters_at([row], [station])[0])
            splice = Splice(row, station, diameter, stress(row, station))
        sections.append(Section(splice, host, own, box, fits(box, float(own.masses.sum()), limits)))
    return SectionPlan(tuple(sections), starts, faults)
