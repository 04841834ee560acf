"""Sections: what travels as one piece, parted from the tree so that it fits truck, door and hook.

A section begins at a splice on a member, or at a member's own joint, and holds all that this member carries beyond it,
less the sections that begin further out.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from armature.edge import System, format_mass, format_side
from armature.metals import BasePlate
from armature.shop.boxes import Box, Limits, fits, smallest_box
from armature.shop.parting import parted
from armature.shop.seats import Seat, seat
from armature.shop.slices import DeadStress, Slices, sliced, with_plate
from armature.tree import Ints, Tree

COARSE = (250.0, 15.0)
# Room kept while searching on a coarse tree, more where a finished section then misses the limits.
_MARGINS = (0.98, 0.95, 0.91, 0.85)


@dataclass(frozen=True)
class Splice:
    """Where a section meets the one it stands on: member, station, the bar there, and the stress of its own weight.

    At station 0 the member is left off at its own joint and welded there on site; else its bar is sawn and spliced.
    bore_mm: of a pipe, 0 for solid bar. limit: what the two would break as one piece, "hook", "truck length" and the
    like, with their sides (3,) mm, longest first, and mass, kg. seat: what a sleeve or spigot would lie on, where sawn.
    """

    row: int
    station_mm: float
    diameter_mm: float
    stress_mpa: float
    bore_mm: float = 0.0
    limit: str = ""
    whole_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    whole_kg: float = 0.0
    seat: Seat | None = None

    @property
    def at_joint(self) -> bool:
        """Whether the member is whole, and welded on site at its own joint."""
        return self.station_mm == 0.0


@dataclass(frozen=True, eq=False)
class Section:
    """One piece that travels: its splice (none for the first), the section it stands on or -1, its slices and box."""

    splice: Splice | None
    parent: int
    slices: Slices
    box: Box
    fits: bool

    @property
    def mass(self) -> float:
        """Mass, kg."""
        return float(self.slices.masses.sum())

    @property
    def sail_mm3(self) -> float:
        """Area of bar that faces a wind times its height over the ground, all bars taken across it: mm3."""
        own = self.slices
        return float((2.0 * own.radii * own.lengths) @ np.maximum(own.points[:, 2], 0.0))


@dataclass(frozen=True, eq=False)
class SectionPlan:
    """Sections, each after its parent, the section of each member's start (M,), and what cannot be met, in words."""

    sections: tuple[Section, ...]
    of_member: Ints
    faults: tuple[str, ...] = field(default=())


def section_plan(
    tree: Tree,
    limits: Limits,
    density_kg_m3: float,
    least_splice: float,
    plate: BasePlate | None = None,
    units: System = "mm",
) -> SectionPlan:
    """Return the sections of a tree for a truck, a door and a hook; `faults` says what nothing can meet.

    Splices sit on members of at least `least_splice` mm, two and a half diameters clear of any joint; members as thick
    may be left off at their own joint, to be welded on site. plate: what travels under the trunk.
    units: in which faults are told.
    """
    fine = with_plate(sliced(tree, density_kg_m3, 50.0), plate, density_kg_m3)
    coarse = with_plate(sliced(tree, density_kg_m3, *COARSE), plate, density_kg_m3)
    stress = DeadStress(tree, coarse)
    plan = None
    for margin in _MARGINS:
        parting = parted(tree, coarse, limits.narrowed(margin), least_splice, stress)
        plan = _finished(tree, fine, _merged(tree, fine, list(parting.cuts), limits), limits, stress)
        if parting.stuck or all(section.fits for section in plan.sections):
            break
    assert plan is not None
    faults = [
        f"section {number} {_why(section, limits, units)}"
        for number, section in enumerate(plan.sections, start=1)
        if not section.fits
    ]
    return replace(plan, faults=tuple(faults))


def _merged(tree: Tree, slices: Slices, cuts: list[tuple[int, float]], limits: Limits) -> list[tuple[int, float]]:
    """Return the cuts without those whose two pieces fit as one after all."""
    at = 0
    while at < len(cuts):
        parts, starts = _parts(tree, slices, cuts)
        box, mass = _boxed(slices, np.isin(parts, [at + 1, _parent(starts, cuts, at)]), limits)
        if fits(box, mass, limits):
            del cuts[at]
        else:
            at += 1
    return cuts


def _boxed(slices: Slices, chosen: NDArray[np.bool_], limits: Limits) -> tuple[Box, float]:
    own = slices.taken(np.flatnonzero(chosen))
    return smallest_box(own.points, own.radii, limits.sides), float(own.masses.sum())


def _parent(starts: Ints, cuts: list[tuple[int, float]], at: int) -> int:
    """Return the section that the one of a cut stands on."""
    row, station = cuts[at]
    before = [n for n in range(len(cuts)) if n != at and cuts[n][0] == row and cuts[n][1] < station]
    return max(before, key=lambda n: cuts[n][1]) + 1 if before else int(starts[row])


def _parts(tree: Tree, slices: Slices, cuts: list[tuple[int, float]]) -> tuple[Ints, Ints]:
    """Return the section of each slice (N,) and of each member's start (M,): 0 from the ground, n + 1 from cut n."""
    by_row: dict[int, list[tuple[float, int]]] = {}
    for number, (row, station) in enumerate(cuts):
        by_row.setdefault(row, []).append((station, number + 1))
    starts = np.zeros(len(tree), dtype=np.int64)
    parts = starts[slices.members]
    for level in tree.levels:
        parents = tree.parents[level]
        starts[level] = np.where(parents >= 0, starts[np.maximum(parents, 0)], 0)
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


def _why(section: Section, limits: Limits, units: System) -> str:
    if section.mass > limits.lift_kg:
        too_heavy = f"weighs {format_mass(section.mass, units)} of {format_mass(limits.lift_kg, units)} allowed"
        return f"{too_heavy} and has no place for a splice: raise shop.transport.lift"
    sides = " x ".join(format_side(float(side), units) for side in section.box.sides[::-1])
    allowed = " x ".join(format_side(float(side), units) for side in limits.sides[::-1])
    return (
        f"needs {sides} of {allowed} allowed and has no place for a splice: "
        "widen shop.transport or lower shop.transport.least_splice"
    )


def _finished(
    tree: Tree, slices: Slices, cuts: list[tuple[int, float]], limits: Limits, stress: DeadStress
) -> SectionPlan:
    parts, starts = _parts(tree, slices, cuts)
    sections = []
    for number in range(len(cuts) + 1):
        own = slices.taken(np.flatnonzero(parts == number))
        box = smallest_box(own.points, own.radii, limits.sides)
        parent = _parent(starts, cuts, number - 1) if number else -1
        splice = None
        if number:
            whole, mass = _boxed(slices, np.isin(parts, [number, parent]), limits)
            splice = _splice(tree, *cuts[number - 1], stress, limits, whole, mass)
        sections.append(Section(splice, parent, own, box, fits(box, float(own.masses.sum()), limits)))
    of_member = starts.copy()
    for number, (row, station) in enumerate(cuts, start=1):
        if station == 0.0:
            of_member[row] = number
    return SectionPlan(tuple(sections), of_member)


def _splice(
    tree: Tree, row: int, station: float, stress: DeadStress, limits: Limits, whole: Box, mass: float
) -> Splice:
    d, wall = float(tree.diameters_at([row], [station])[0]), float(tree.walls[row])
    a, b, c = whole.sides[::-1].tolist()
    return Splice(
        row,
        station,
        d,
        stress(row, station),
        max(d - 2.0 * wall, 0.0) if wall else 0.0,
        limits.broken_by(whole, mass),
        (a, b, c),
        mass,
        seat(tree, row, station) if station else None,
    )
