"""How a section hangs from the hook, and the order of erection with its balance at each stage.

Lengths are mm, masses kg, forces kN, moments kN m, angles degrees from level.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from armature.centreline import Floats
from armature.shop.sections import Section, SectionPlan

_G = 9.80665e-3
_CANDIDATES = 80
# The righting moment has to be half as large again as the one that overturns (common practice, no source).
_SURE = 1.5


@dataclass(frozen=True, eq=False)
class Lift:
    """Two lifting points (2, 3) mm, the share of the weight on each and the force in its sling leg (2,) kN.

    The forces are those where two legs carry it all, to choose the sling by; `even_kn` is the force in each leg where
    all that are there carried alike, which a stiff load never grants.
    """

    points: Floats
    members: tuple[int, int]
    stations: tuple[float, float]
    shares: Floats
    forces: Floats
    even_kn: float


@dataclass(frozen=True)
class Stage:
    """One step of erection: the section set, the mass standing then, and how far its balance is from the foot's middle.

    `stands` says whether it stands on its base plate alone, half as sure again; else anchors or props carry `moment`.
    """

    section: int
    mass_kg: float
    offset_mm: float
    moment_kn_m: float
    stands: bool


def sling_force(mass_kg: float, legs: int, angle_deg: float) -> float:
    """Return the force in each of the `legs` of a sling that carry, kN: W / (n sin a), the angle a from level.

    Rigging handbooks; ASME B30.9 keeps the angle at 30 degrees or more (from memory). On a stiff load count on two of
    three or four legs: the others may hang slack.

    >>> round(sling_force(1000.0, 2, 60.0) / (1000.0 * 9.80665e-3 / 2.0), 3)
    1.155
    """
    return float(mass_kg * _G / (legs * np.sin(np.radians(angle_deg))))


def lift(section: Section, angle_deg: float, legs: int = 2) -> Lift:
    """Return two lifting points on thick bars of a section, either side of its centre of gravity and high if may be.

    Two legs carry, each its share of the weight by the lever, never counted as under half; `legs` are in the sling.
    """
    own = section.slices
    centre = own.centre
    thick = np.lexsort((np.arange(len(own.radii)), -np.round(own.radii, 3)))[: max(len(own.radii) // 3, 2)]
    rows = np.sort(thick[:: max(len(thick) // _CANDIDATES, 1)])
    first, second = np.triu_indices(len(rows), 1)
    a, b = own.points[rows[first]], own.points[rows[second]]
    span = b[:, :2] - a[:, :2]
    length = np.linalg.norm(span, axis=1)
    share = np.einsum("qi,qi->q", centre[:2] - a[:, :2], span) / np.maximum(length, 1e-9) ** 2
    foot = a[:, :2] + np.clip(share, 0.0, 1.0)[:, None] * span
    aside = np.linalg.norm(foot - centre[:2], axis=1)
    below = np.maximum(centre[2] - np.minimum(a[:, 2], b[:, 2]), 0.0)
    uneven = np.abs(np.clip(share, 0.0, 1.0) - 0.5) * np.maximum(length, 1.0)
    at = int(np.argmin(np.round(aside + 0.5 * below + 0.3 * uneven - 0.05 * length, 3)))
    on_second = float(np.clip(share[at], 0.0, 1.0))
    shares = np.array([1.0 - on_second, on_second])
    ends = rows[[first[at], second[at]]]
    forces = 2.0 * np.maximum(shares, 0.5) * sling_force(section.mass, 2, angle_deg)
    members, stations = own.members[ends], own.stations[ends]
    return Lift(
        points=own.points[ends],
        members=(int(members[0]), int(members[1])),
        stations=(float(stations[0]), float(stations[1])),
        shares=shares,
        forces=forces,
        even_kn=sling_force(section.mass, legs, angle_deg),
    )


def erected(plan: SectionPlan, foot_width: float) -> tuple[SectionPlan, tuple[Stage, ...]]:
    """Return the sections renumbered in their order of erection, and the stages in that order."""
    stages = erection(plan, foot_width)
    order = [stage.section for stage in stages]
    new = {old: number for number, old in enumerate(order)}
    sections = tuple(replace(plan.sections[old], host=new.get(plan.sections[old].host, -1)) for old in order)
    of_member = np.array([new[old] for old in plan.of_member.tolist()], dtype=np.int64)
    return SectionPlan(sections, of_member, plan.faults), tuple(
        replace(stage, section=number) for number, stage in enumerate(stages)
    )


def erection(plan: SectionPlan, foot_width: float) -> tuple[Stage, ...]:
    """Return the order of erection: each section after its host, next always the one that keeps the best balance.

    The trunk's section stands first. A stage stands by itself where the overturning lever is within the half width of
    the foot, half as sure again.
    """
    left = list(range(1, len(plan.sections)))
    standing, stages = [0], [_stage(plan, [0], foot_width)]
    while left:
        ready = [n for n in left if plan.sections[n].host in standing]
        trial = [_stage(plan, [*standing, n], foot_width) for n in ready]
        chosen = min(zip(trial, ready, strict=True), key=lambda pair: (round(pair[0].offset_mm, 3), pair[1]))
        stages.append(chosen[0])
        standing.append(chosen[1])
        left.remove(chosen[1])
    return tuple(stages)


def _stage(plan: SectionPlan, standing: list[int], foot_width: float) -> Stage:
    masses = np.array([plan.sections[n].mass for n in standing])
    centres = np.stack([plan.sections[n].slices.centre for n in standing])
    centre = masses @ centres / masses.sum()
    offset = float(np.linalg.norm(centre[:2]))
    return Stage(
        standing[-1],
        float(masses.sum()),
        offset,
        float(masses.sum()) * _G * offset / 1000.0,
        offset * _SURE <= foot_width / 2.0,
    )
