"""How many sections other trucks would take, as advice.

Lengths are mm, masses kg.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from armature.metals import BasePlate
from armature.shop.boxes import Limits
from armature.shop.parting import parted
from armature.shop.sections import COARSE, SectionPlan
from armature.shop.slices import DeadStress, sliced, with_plate
from armature.tree import Tree

# Inside or on the deck: length, width, height (common practice, no source; a wide load needs a permit).
_TRUCKS = (
    ("semi-trailer", (13_600.0, 2450.0, 2700.0)),
    ("low loader, as a wide load", (12_000.0, 3500.0, 3500.0)),
)


@dataclass(frozen=True)
class Truckload:
    """A truck by name, what it takes (length, width, height) mm, and the sections it would need, with the same hook."""

    name: str
    truck_mm: tuple[float, float, float]
    sections: int


def other_trucks(
    tree: Tree,
    plan: SectionPlan,
    limits: Limits,
    density_kg_m3: float,
    least_splice: float,
    plate: BasePlate | None = None,
) -> tuple[Truckload, ...]:
    """Return the larger trucks that would need fewer sections than planned; none where it travels in one piece."""
    if len(plan.sections) < 2:
        return ()
    coarse = with_plate(sliced(tree, density_kg_m3, *COARSE), plate, density_kg_m3)
    stress = DeadStress(tree, coarse)
    loads = []
    for name, size in _TRUCKS:
        if all(ours >= theirs for ours, theirs in zip(limits.truck_mm, size, strict=True)):
            continue
        tried = replace(limits, truck_mm=size).narrowed(0.98)
        count = len(parted(tree, coarse, tried, least_splice, stress).cuts) + 1
        if count < len(plan.sections):
            loads.append(Truckload(name, size, count))
    return tuple(loads)
