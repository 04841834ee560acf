"""One member of each rank followed by hand: every number from leaf area to ratio, with clause and unit.

Each step is made from steps before it and from sums over what the foot carries; the last is the ratio that the checks
found there. Forces N, moments N m, lengths mm or m, pressures Pa, stresses MPa, as each step says.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from armature.strength.actions import basic_loads, pressure
from armature.strength.asce7 import exposure_coefficient
from armature.strength.assess import Assessment
from armature.strength.combinations import Combination, combined
from armature.strength.forces import forces
from armature.strength.frame import Frame
from armature.strength.loads import GRAVITY, directions
from armature.strength.resistance import use
from armature.tree import RANKS, Floats


@dataclass(frozen=True)
class Step:
    """One number: what it is, how it comes from the steps before, value, unit, clause."""

    what: str
    how: str
    value: float
    unit: str
    clause: str = ""


@dataclass(frozen=True)
class Followed:
    """The foot of one member in one combination and wind direction, step by step; the last step is its ratio."""

    tag: str
    rank: str
    combination: str
    toward_deg: float
    steps: tuple[Step, ...]


def followed(assessment: Assessment) -> tuple[Followed, ...]:
    """Return the member of each rank that works hardest at its foot in full wind, step by step; () without wind."""
    combo = next((each for each in assessment.combos if each.bound == "plates" and each.is_strength), None)
    if combo is None:
        return ()
    frame, count = assessment.frame, len(assessment.tree)
    loads, winds = basic_loads(frame, assessment.conditions, assessment.foliage)
    feet = {name: forces(frame, each).beyond[frame.offsets[:-1]] for name, each in loads.items() if name in _CASES}
    factors = assessment.gusts["plates"].factors
    both = combined(combo, feet, winds, {"plates": factors})
    both[:, 3:] *= assessment.order.factors[:, None, None]
    bending = use(assessment.cross_sections.turned(both, slice(count))).bending / assessment.limit.bending[:count, None]
    feet["bars"] = np.concatenate([feet["bars"], -feet["bars"]], axis=2)
    made = []
    for rank in np.unique(assessment.tree.ranks).tolist():
        rows = assessment.tree.of_rank(rank)
        row = int(rows[np.argmax(bending[rows].max(axis=1))])
        case = int(np.argmax(bending[row]))
        steps = tuple(_steps(assessment, combo, row, case, {name: each[row] for name, each in feet.items()}))
        toward = 360.0 * case / len(winds)
        made.append(Followed(str(assessment.tree.tags[row]), RANKS[rank], combo.name, toward, steps))
    return tuple(made)


_CASES = ("dead", "bars", "leaves")


def _steps(assessment: Assessment, combo: Combination, row: int, case: int, feet: dict[str, Floats]) -> Iterator[Step]:
    wind = directions(36)[case]
    yield from _wind_steps(assessment, combo, row, case, feet, wind)
    yield from _gust_steps(assessment, combo, row)
    yield from _force_steps(assessment, combo, row, case, feet, wind)
    yield from _section_steps(assessment, row)
    yield from _ratio_steps(assessment, row, _forces_at(assessment, combo, row, case, feet, wind))


def _wind_steps(
    assessment: Assessment, combo: Combination, row: int, case: int, feet: dict[str, Floats], wind: Floats
) -> Iterator[Step]:
    conditions, frame = assessment.conditions, assessment.frame
    inside = np.isin(assessment.tree.leaves.twigs, assessment.tree.subtree(row))
    heights, areas = frame.points[frame.hangs[inside], 2], assessment.foliage.areas[inside] * 1e-6
    assert conditions.wind_speed is not None
    yield Step("leaves beyond the foot", "count", float(inside.sum()), "")
    yield Step("their faces", "sum of one face each", float(areas.sum()), "m2")
    if inside.any():
        middle = float(np.sum(heights * areas) / areas.sum())
        yield Step("their middle height", "weighted by face", middle / 1000.0, "m")
        yield Step("basic wind speed", "from the commission", conditions.wind_speed, "m/s")
        if conditions.is_american:
            kz = float(exposure_coefficient(middle / 1000.0, str(conditions.exposure)))
            yield Step("Kz", "2.01 (z / zg)^(2 / alpha), z at least 4.57 m", kz, "", "ASCE 7-16 table 26.10-1")
            how, clause = "0.613 Kz Kzt Kd Ke V^2, Kd = Ke = 1", "ASCE 7-16 eq. 26.10-1"
        else:
            how, clause = "(1 + 7 Iv) half rho vm^2", "EN 1991-1-4 eq. 4.8"
        q = float(pressure(conditions, conditions.wind_speed)(np.array([middle]))[0])
        yield Step("peak pressure at that height", how, q, "Pa", clause)
    push = float(feet["leaves"][0, 0])
    yield Step("push on the leaves at drag 1", "sum of face times pressure", push, "N")
    yield Step("drag of a leaf across the wind", "upper bound", combo.drag, "", "Hoerner, Fluid-Dynamic Drag, ch. 3")
    area, force = _bars(assessment, row, wind), float(feet["bars"][:3, case] @ wind)
    yield Step("bars beyond the foot, seen along the wind", "sum of diameter times length across it", area, "m2")
    clause = "ASCE 7-16 figure 29.4-1" if conditions.is_american else "EN 1991-1-4 7.9"
    yield Step("mean pressure times drag on them", "push over area", force / max(area, 1e-12), "Pa", clause)
    yield Step("push on the bars", "area times that", force, "N")
    yield Step("push in all, before gusts", "drag x leaves + bars", combo.drag * push + force, "N")


def _bars(assessment: Assessment, row: int, wind: Floats) -> float:
    frame = assessment.frame
    inside = np.isin(frame.members, assessment.tree.subtree(row))
    _, tangent, diameter, _ = frame.at(0.5)
    across = np.sqrt(np.maximum(1.0 - (tangent @ wind) ** 2, 0.0))
    return float(np.sum(diameter * frame.spans * across * inside)) * 1e-6


def _gust_steps(assessment: Assessment, combo: Combination, row: int) -> Iterator[Step]:
    gust = assessment.gusts[combo.bound]
    yield Step("the member's part sways at", "with all that it carries, its weld held", gust.frequencies[row], "Hz")
    yield Step("damping of the steel", "site.damping", 100.0 * assessment.conditions.damping, "%")
    yield Step("damping of the air", "sum c u^2 / (2 omega sum m u^2)", 100.0 * gust.air_damping[row], "%")
    yield Step("height of that part", "", gust.tall[row], "m")
    yield Step("its width", "", gust.wide[row], "m")
    yield Step("background squared", "by size", gust.background[row], "", gust.clause)
    yield Step("resonant squared", "its own sway and that of all that carries it", gust.resonant[row], "")
    yield Step("gust factor", "of background, resonance and turbulence", gust.factors[row], "", gust.clause)


def _forces_at(
    assessment: Assessment, combo: Combination, row: int, case: int, feet: dict[str, Floats], wind: Floats
) -> tuple[Floats, Floats]:
    """Return the design force (3,) N and moment (3,) N mm at the foot, second order in the moment."""
    blown = feet["bars"][:, case] + combo.drag * feet["leaves"] @ wind[:2]
    rows = combo.dead * feet["dead"][:, 0] + combo.wind * assessment.gusts[combo.bound].factors[row] * blown
    return rows[:3], rows[3:] * assessment.order.factors[row]


def _force_steps(
    assessment: Assessment, combo: Combination, row: int, case: int, feet: dict[str, Floats], wind: Floats
) -> Iterator[Step]:
    blown = feet["bars"][:, case] + combo.drag * feet["leaves"] @ wind[:2]
    weight, twist = -feet["dead"][2, 0], feet["dead"][3:, 0] / 1000.0
    steel, leaves = _masses(assessment, row)
    yield Step("steel beyond the foot", "volume times density", steel, "kg")
    yield Step("leaves and loops beyond it", "", leaves, "kg")
    yield Step("weight", "9.80665 (steel + leaves)", float(weight), "N")
    for name, axis in zip("xyz", range(3), strict=True):
        yield Step(f"moment of the weight about the foot, {name}", "weight times lever", float(twist[axis]), "N m")
    for name, axis in zip("xyz", range(3), strict=True):
        yield Step(f"moment of the wind before gusts, {name}", "push times lever", float(blown[3 + axis]) / 1e3, "N m")
    yield Step("factor on weight", combo.name, combo.dead, "", combo.clause)
    yield Step("factor on wind", combo.name, combo.wind, "", combo.clause)
    share = float(assessment.order.shares[row])
    yield Step("share of second order", "moment of what has moved over the largest", share, "", assessment.order.clause)
    yield Step(
        "second order",
        "1 / (1 - share), no share over a half",
        assessment.order.factors[row],
        "",
        assessment.order.clause,
    )
    force, moment = _forces_at(assessment, combo, row, case, feet, wind)
    tangent = assessment.cross_sections.tangents[row]
    how = "second order x (factor x weight + factor x gust x wind)"
    for name, axis in zip("xyz", range(3), strict=True):
        yield Step(f"design moment, {name}", how, float(moment[axis]) / 1000.0, "N m")
    for name, axis in zip("xyz", range(3), strict=True):
        yield Step(f"direction of the bar, {name}", "", float(tangent[axis]), "")
    torsion, axial = abs(float(moment @ tangent)), float(force @ tangent)
    bending = float(np.linalg.norm(moment - (moment @ tangent) * tangent))
    yield Step("torsion T", "moment along the bar", torsion / 1000.0, "N m")
    yield Step("bending M", "root of moment squared less T squared", bending / 1000.0, "N m")
    yield Step("axial force N, positive in tension", "force along the bar", axial, "N")
    yield Step("shear V", "force across the bar", float(np.linalg.norm(force - axial * tangent)), "N")


def _masses(assessment: Assessment, row: int) -> tuple[float, float]:
    inside = assessment.tree.subtree(row)
    steel = float(assessment.tree.volumes[inside].sum()) * assessment.conditions.grade.density_kg_m3 * 1e-9
    return steel, float(assessment.foliage.masses[np.isin(assessment.tree.leaves.twigs, inside)].sum())


def _section_steps(assessment: Assessment, row: int) -> Iterator[Step]:
    cross_section, limit, american = (
        assessment.cross_sections.values,
        assessment.limit,
        assessment.conditions.is_american,
    )
    yield Step("diameter at the foot", "from members.csv", float(cross_section.diameter[row]), "mm")
    yield Step("bore", "0 for a bar", float(cross_section.bore[row]), "mm")
    yield Step("area A", "pi / 4 (d^2 - bore^2)", float(cross_section.area[row]), "mm2")
    yield Step("elastic modulus S", "pi / 32 (d^4 - bore^4) / d", float(cross_section.elastic[row]), "mm3")
    yield Step("plastic modulus Z", "(d^3 - bore^3) / 6", float(cross_section.plastic[row]), "mm3")
    yield Step("yield strength Fy", assessment.conditions.grade.standard, float(assessment.yields[row]), "MPa")
    clauses = limit.clauses
    bar = cross_section.bore[row] == 0.0
    how = ("0.90 min(Fy Z, 1.6 Fy S)" if bar else "0.90 by the wall") if american else "Fy Z"
    yield Step("bending resistance", how, float(limit.bending[row]) / 1000.0, "N m", clauses["bending"])
    how = "0.90 x 0.6 Fy x 2 S" if american else "Fy / root 3 x 2 S"
    yield Step(
        "torsion resistance",
        how if bar else "of the ring",
        float(limit.torsion[row]) / 1000.0,
        "N m",
        clauses["torsion"],
    )
    how = "0.90 x 0.6 Fy x 0.75 A" if american else "Fy A / root 3"
    yield Step("shear resistance", how if bar else "of the ring", float(limit.shear[row]), "N", clauses["shear"])
    yield Step(
        "tension resistance", "0.90 Fy A" if american else "Fy A", float(limit.tension[row]), "N", clauses["axial"]
    )
    free = float(assessment.cross_sections.free[row])
    yield Step("length L of the bar beyond", "of its own axis", free, "mm")
    yield Step(
        "slenderness 2 L / r", "r = root(I / A), a quarter of a bar's d", 2.0 * free / cross_section.gyration[row], ""
    )
    how = (
        "0.90 A Fcr; Fe = pi^2 E / slenderness^2; 0.877 Fe where Fy passes 2.25 Fe, else 0.658^(Fy / Fe) Fy"
        if american
        else "chi A Fy, curve c"
    )
    yield Step("compression resistance", how, float(limit.compression[row]), "N", clauses["axial"])


def _ratio_steps(assessment: Assessment, row: int, at: tuple[Floats, Floats]) -> Iterator[Step]:
    force, moment = at
    limit, tangent = assessment.limit, assessment.cross_sections.tangents[row]
    axial = float(force @ tangent)
    n = axial / float(limit.tension[row]) if axial >= 0.0 else -axial / float(limit.compression[row])
    m = float(np.linalg.norm(moment - (moment @ tangent) * tangent)) / float(limit.bending[row])
    v = float(np.linalg.norm(force - axial * tangent)) / float(limit.shear[row])
    t = abs(float(moment @ tangent)) / float(limit.torsion[row])
    for name, what, value in (("axial", "N", n), ("bending", "M", m), ("shear", "V", v), ("torsion", "T", t)):
        yield Step(f"share of {name} resistance", f"{what} over resistance", value, "")
    whole = [np.zeros_like(limit.bending) for _ in range(4)]
    for values, value in zip(whole, (n, m, v, t), strict=True):
        values[row] = value
    how = (
        "k = n + 8/9 m from n = 0.2 on, else n / 2 + m; root(k^2 + t^2) or root(n^2 + (v + t)^2), the larger; a pipe k,"
        " or n + m + (v + t)^2 where t > 0.2"
        if assessment.conditions.is_american
        else "root((n + m)^2 + (v + t)^2)"
    )
    yield Step("ratio", how, float(limit.combined(*whole)[row]), "", limit.clauses["combined"])


def whole_sums(assessment: Assessment) -> tuple[Step, ...]:
    """Return the sums by which the whole is checked: weight, area times pressure, and the forces at the base."""
    cut: Frame = assessment.frame
    steel, leaves = _masses(assessment, 0)
    down = assessment.base[0].vertical / assessment.combos[0].dead
    made = [
        Step("steel", "volume x density", steel, "kg"),
        Step("leaves and loops", "", leaves, "kg"),
        Step("weight in all", "9.80665 (steel + leaves)", (steel + leaves) * GRAVITY, "N"),
        Step("down at the base", f"{assessment.base[0].name}, less its factor", down, "N"),
    ]
    if assessment.gusts:
        loads, _ = basic_loads(cut, assessment.conditions, assessment.foliage, 4)
        foot = {name: forces(cut, each).beyond[0] for name, each in loads.items() if name in _CASES}
        faces = float(assessment.foliage.areas.sum()) * 1e-6
        area = _bars(assessment, 0, directions(4)[0])
        made += [
            Step("faces of all leaves", "", faces, "m2"),
            Step("mean peak pressure on them", "push over faces", float(foot["leaves"][0, 0]) / max(faces, 1e-9), "Pa"),
            Step("push on them at drag 1, toward +x", "faces x pressure", float(foot["leaves"][0, 0]), "N"),
            Step("bars seen along x", "diameter x length across the wind", area, "m2"),
            Step("push on the bars toward +x", "", float(foot["bars"][0, 0]), "N"),
            Step("gust factor of the whole, leaves as plates", "", assessment.gusts["plates"].factors[0], ""),
        ]
    return tuple(made)
