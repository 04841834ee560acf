"""The order of erection, with the balance at each stage and the wind in which it still stands without anchors.

Lengths are mm, masses kg, moments kN m, speeds m/s.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from armature.shop.sections import SectionPlan

_G = 9.80665e-3
# The righting moment has to be half as large again as the one that overturns (common practice, no source).
_SURE = 1.5
# Round bars across the wind: EN 1991-1-4, 7.9, force coefficient below the critical Reynolds number; density of air.
_DRAG, _AIR = 1.2, 1.25


@dataclass(frozen=True)
class Stage:
    """One step of erection: the section set, the mass standing then, and how far its balance is from the foot's middle.

    `stands` says whether it stands on its base plate alone, half as sure again; else anchors or props carry `moment`.
    wind_m_s: the gust in which it still does so, 0 where it does not stand; bars without leaves, all across the wind.
    """

    section: int
    mass_kg: float
    offset_mm: float
    moment_kn_m: float
    stands: bool
    wind_m_s: float


def erected(plan: SectionPlan, foot_width: float) -> tuple[SectionPlan, tuple[Stage, ...]]:
    """Return the sections renumbered in their order of erection, and the stages in that order."""
    stages = erection(plan, foot_width)
    order = [stage.section for stage in stages]
    new = {old: number for number, old in enumerate(order)}
    sections = tuple(replace(plan.sections[old], parent=new.get(plan.sections[old].parent, -1)) for old in order)
    of_member = np.array([new[old] for old in plan.of_member.tolist()], dtype=np.int64)
    return SectionPlan(sections, of_member, plan.faults), tuple(
        replace(stage, section=number) for number, stage in enumerate(stages)
    )


def erection(plan: SectionPlan, foot_width: float) -> tuple[Stage, ...]:
    """Return the order of erection: each section after its parent, next always the one that keeps the best balance.

    The trunk's section stands first. A stage stands by itself where the overturning lever is within the half width of
    the foot, half as sure again.
    """
    import networkx

    carried = networkx.DiGraph([(section.parent, n) for n, section in enumerate(plan.sections) if n])
    standing, stages = [0], [_stage(plan, [0], foot_width)]
    # Ready is what hangs on a section that stands, and does not stand itself.
    while ready := sorted(networkx.node_boundary(carried, standing)):
        trial = [_stage(plan, [*standing, n], foot_width) for n in ready]
        chosen = min(zip(trial, ready, strict=True), key=lambda pair: (round(pair[0].offset_mm, 3), pair[1]))
        stages.append(chosen[0])
        standing.append(chosen[1])
    return tuple(stages)


def wind_held(mass_kg: float, offset_mm: float, sail_mm3: float, foot_width: float) -> float:
    """Return the wind, m/s, that a free-standing piece bears: its weight on the near edge, half as sure again.

    sail_mm3: the sum over its bars of the area that faces the wind times its height.

    >>> round(wind_held(100.0, 0.0, 0.5e6 * 1000.0, 600.0), 1)
    22.9
    """
    righting = mass_kg * 9.80665 * (foot_width / 2.0 / _SURE - offset_mm) / 1000.0
    return float(np.sqrt(max(righting, 0.0) / max(0.5 * _AIR * _DRAG * sail_mm3 * 1e-9, 1e-12)))


def _stage(plan: SectionPlan, standing: list[int], foot_width: float) -> Stage:
    parts = [plan.sections[n] for n in standing]
    masses = np.array([part.mass for part in parts])
    centres = np.stack([part.slices.centre for part in parts])
    centre = masses @ centres / masses.sum()
    mass, offset = float(masses.sum()), float(np.linalg.norm(centre[:2]))
    return Stage(
        standing[-1],
        mass,
        offset,
        mass * _G * offset / 1000.0,
        offset * _SURE <= foot_width / 2.0,
        wind_held(mass, offset, sum(part.sail_mm3 for part in parts), foot_width),
    )
