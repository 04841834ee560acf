"""The foot of the tree: what it hands to the ground, anchors and plate, and a footing that does not tip.

A first pass: whoever signs sizes the plate, the anchors in their concrete (ACI 318 chapter 17, EN 1992-4) and the soil.
Forces N and N mm, lengths mm, stresses MPa.
Clauses from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.centreline import Floats
from armature.strength.tables import table


@dataclass(frozen=True)
class BaseForces:
    """What the ground must hold in one combination's worst direction: N, N mm; vertical is downward."""

    name: str
    vertical: float
    shear: float
    overturning: float
    torsion: float
    direction_deg: float


@dataclass(frozen=True)
class Anchors:
    """Anchors as a first pass; ratio over 1 where no listed size is enough."""

    count: int
    diameter_mm: float
    circle_mm: float
    tension_n: float
    shear_n: float
    ratio: float
    plate_side_mm: float
    plate_thickness_mm: float


@dataclass(frozen=True)
class Footing:
    """A square footing as a first pass; sides mm, pressures MPa."""

    side_mm: float
    depth_mm: float
    safety: float
    pressure_mpa: float


def base_forces(name: str, foot: Floats) -> BaseForces:
    """Return the worst of a combination's forces at the foot, (6, C), by overturning moment."""
    moments = np.hypot(foot[3], foot[4])
    worst = int(np.argmax(moments))
    x, y, z, mx, my, mz = foot[:, worst]
    toward = float(np.degrees(np.arctan2(y, x))) % 360.0 if np.hypot(x, y) > 1e-9 else 0.0
    return BaseForces(name, -float(z), float(np.hypot(x, y)), float(np.hypot(mx, my)), abs(float(mz)), toward)


def anchor_tension(forces: BaseForces, count: int, circle: float) -> float:
    """Return the tension in the worst anchor of a ring, N: 4 M / (n D) - P / n, not under 0.

    From the ring as a line of steel, the concrete's help left out: the usual first pass for pole bases.

    >>> anchor_tension(BaseForces("", 0.0, 0.0, 1e6, 0.0, 0.0), 4, 200.0)
    5000.0
    """
    return max(4.0 * forces.overturning / (count * circle) - forces.vertical / count, 0.0)


def anchor_ratio(tension: float, shear: float, diameter: float) -> float:
    """Return the use of one rod: linear in tension and shear on its thread. AISC 360-16 J3.6, J3.7, phi 0.75.

    Nominal stresses 0.75 Fu and 0.450 Fu on the nominal area, Fu of ASTM F1554 grade 36; the linear sum is on the
    safe side of J3.7.
    """
    tensile = table("details")["anchors"]["tensile_mpa"]
    area = np.pi / 4.0 * diameter**2
    return float(tension / (0.75 * 0.75 * tensile * area) + shear / (0.75 * 0.45 * tensile * area))


def anchors(combos: list[BaseForces], trunk_mm: float, yields: float) -> Anchors:
    """Return the fewest, thinnest listed anchors that hold all combinations, on a circle round the trunk's foot."""
    rows = table("details")["anchors"]
    best: Anchors | None = None
    for count in rows["counts"]:
        for size in rows["sizes_mm"]:
            circle = trunk_mm + 6.0 * size
            pull = max(anchor_tension(each, count, circle) for each in combos)
            side = max(each.shear / count + 2.0 * each.torsion / (count * circle) for each in combos)
            ratio = max(
                anchor_ratio(
                    anchor_tension(each, count, circle),
                    each.shear / count + 2.0 * each.torsion / (count * circle),
                    size,
                )
                for each in combos
            )
            best = Anchors(count, size, circle, pull, side, ratio, circle + 4.0 * size, _plate(pull, size, yields))
            if ratio <= 1.0:
                return best
    assert best is not None
    return best


def _plate(tension: float, size: float, yields: float) -> float:
    """Return the plate's thickness, mm, from one anchor bending it: t = sqrt(4 M / (0.9 Fy b)). AISC Design Guide 1.

    The anchor's pull acts 2.5 sizes from the trunk's weld, on a strip 4 sizes wide.
    """
    return float(np.sqrt(4.0 * tension * 2.5 * size / (0.9 * yields * 4.0 * size)))


def footing(combos: list[BaseForces], soil: float) -> Footing:
    """Return the least square footing that does not tip and keeps the soil's pressure, for unfactored combinations.

    Safety 1.5 against tipping about its edge; pressure of a rigid footing, with its tension side lifted where it must.
    """
    rules = table("details")["footing"]
    depth = rules["depth_m"] * 1000.0
    for side in np.arange(600.0, 12_001.0, 50.0):
        own = side**2 * depth * 1e-9 * rules["concrete_kg_m3"] * 9.80665
        found = [_stands(each, own, float(side), depth) for each in combos]
        safety, pressure = min(each[0] for each in found), max(each[1] for each in found)
        if safety >= rules["safety"] and pressure <= soil:
            break
    return Footing(float(side), depth, safety, pressure)


def _stands(forces: BaseForces, own: float, side: float, depth: float) -> tuple[float, float]:
    weight = forces.vertical + own
    moment = forces.overturning + forces.shear * depth
    safety = weight * side / 2.0 / max(moment, 1e-9)
    off = moment / weight
    if off >= side / 2.0:
        return safety, float("inf")
    # Inside the middle sixth the whole foot bears; outside it a triangle three times its distance from the edge does.
    if off <= side / 6.0:
        return safety, weight / side**2 * (1.0 + 6.0 * off / side)
    return safety, 2.0 * weight / (3.0 * side * (side / 2.0 - off))
