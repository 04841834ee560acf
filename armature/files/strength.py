"""The assessment as nested plain values, for a JSON file: every figure with its unit in its key, and its clause."""

from __future__ import annotations

from typing import Any

import numpy as np

from armature.files import strength_parts as parts
from armature.strength import (
    ASCE7,
    CAUTION,
    DETAILS,
    EN1991,
    GRAVITY,
    NOT_COVERED,
    SAFETY,
    Assessment,
    Check,
    Gusts,
    checks,
    coupons,
    exposure_coefficient,
    first_worst,
    foot_anchors,
    foot_footing,
    foot_lug,
    foot_plate,
    governing,
    inspection_plan,
    leaf_bounds,
    peak_pressure,
    probability_factor,
    table,
    velocity_pressure,
    verdict,
    wasting,
    worst_ratio,
)
from armature.tree import RANKS

# 2: combinations and coats are rows with a title, no longer keys.
VERSION = 2


def record(assessment: Assessment) -> dict[str, Any]:
    """Return everything the report says, values rounded to six figures so that every machine writes the same bytes."""
    rows = checks(assessment)
    judged = verdict(assessment, rows)
    made = {
        "format": "armature.strength",
        "version": VERSION,
        "caution": CAUTION,
        "verdict": {
            "word": judged.word,
            "ratios": {key: judged.ratios.get(key) for key in ("new", "at_renewal", "at_years")},
            "reasons": list(judged.reasons),
            "gaps": list(judged.gaps),
            "years": wasting(assessment),
        },
        "assumed": [vars(each) for each in assessment.conditions.assumed],
        "not_covered": _left(assessment),
        "site": _site(assessment),
        "loads": _loads(assessment),
        "worst_ratio": worst_ratio(rows),
        "worst_ratio_by_leaves": leaf_bounds(assessment),
        "governing": [{"title": name, "ratio": ratio} for name, ratio in governing(assessment).items()],
        "checks": [_check(row) for row in rows],
        "members": _members(assessment),
        "base": [_base(each) for each in assessment.base],
        "foot": _foot(assessment),
        "movement": parts.movement(assessment),
        "frequencies": parts.frequencies(assessment),
        "second_order": parts.order(assessment),
        "welds": parts.welds(assessment),
        "fatigue": parts.fatigue(assessment),
        "lifetime": parts.lifetime(assessment),
        "contact": parts.contact(assessment),
        "ties": parts.ties(assessment),
        "within_reach": parts.reach(assessment),
        "details": list(DETAILS),
        "safety": list(SAFETY),
        "inspection": inspection_plan(assessment.conditions, assessment.loop_years),
        "coupons": coupons(assessment),
    }
    return {key: rounded(value) for key, value in made.items()}


def rounded(value: Any) -> Any:
    """Return nested values with every float to six figures; infinite ones as None, which JSON can hold."""
    if isinstance(value, dict):
        return {str(key): rounded(item) for key, item in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(item) for item in value]
    if isinstance(value, (float, np.floating)):
        return float(f"{value:.6g}") + 0.0 if np.isfinite(value) else None
    if isinstance(value, np.integer):
        return int(value)
    return value


def _left(assessment: Assessment) -> list[str]:
    """What is not covered, less what the commission gives to be checked."""
    given = {
        "earthquake": assessment.conditions.quake is not None,
        "snow lying on the crown": assessment.conditions.snow is not None,
    }
    return [each for each in NOT_COVERED if not given.get(each, False)]


def _check(row: Check) -> dict[str, Any]:
    return {**vars(row), "over": list(row.over)}


def _site(assessment: Assessment) -> dict[str, Any]:
    conditions = assessment.conditions
    said: dict[str, Any] = {
        "standard": conditions.standard,
        "steel_standard": "AISC 360-16, LRFD" if conditions.is_american else "EN 1993-1-1, 1-8, 1-9",
        "grade": conditions.grade.name,
        "tensile_mpa": conditions.grade.tensile_mpa,
        "young_gpa": conditions.grade.young_gpa,
        "yield_mpa": [float(assessment.yields.min()), float(assessment.yields.max())],
        "wind_speed_m_s": conditions.wind_speed,
        "exposure": conditions.exposure,
        "risk_category": conditions.risk_category if conditions.is_american else None,
        "topography": conditions.topography,
        "ice_mm": conditions.ice,
        "snow_kpa": None if conditions.snow is None else conditions.snow * 1000.0,
        "ice_wind_m_s": conditions.ice_wind,
        "damping_share": conditions.damping,
        "corrosivity": conditions.corrosivity,
        "coat": conditions.coat,
        "years": conditions.years,
    }
    return said | {"chance_of_design_wind": exceedance(assessment)}


def exceedance(assessment: Assessment) -> dict[str, Any] | None:
    """Return the chance that the design wind is passed at least once in the asked years: 1 - (1 - 1/T)^n."""
    conditions = assessment.conditions
    if conditions.wind_speed is None:
        return None
    rows = table("wind")
    period = (
        rows[ASCE7]["recurrence_years"][conditions.risk_category]
        if conditions.is_american
        else rows[EN1991]["recurrence_years"]
    )
    chance = 1.0 - (1.0 - 1.0 / period) ** conditions.years
    said = {"recurrence_years": period, "over_years": conditions.years, "chance": chance}
    if not conditions.is_american and conditions.years > 1:
        said["speed_factor_for_the_years"] = probability_factor(float(conditions.years))
        said["clause"] = "EN 1991-1-4 eq. 4.2; the load factor 1.5 is not in the chance"
    else:
        said["clause"] = "ASCE 7-16 figures 26.5-1"
    return said


def _loads(assessment: Assessment) -> dict[str, Any]:
    tree, conditions = assessment.tree, assessment.conditions
    steel = float(tree.volumes.sum()) * conditions.grade.density_kg_m3 * 1e-9
    said: dict[str, Any] = {
        "steel_kg": steel,
        "leaves_kg": float(assessment.foliage.masses.sum()),
        "weight_kn": (steel + float(assessment.foliage.masses.sum())) * GRAVITY / 1000.0,
        "leaf_face_m2": float(assessment.foliage.areas.sum()) * 1e-6,
        "leaf_drag": table("wind")["leaves"],
        "combinations": [{"name": combo.name, "clause": combo.clause} for combo in assessment.combos],
    }
    if assessment.gusts:
        said["gust"] = {bound: _gust(assessment, each) for bound, each in assessment.gusts.items()}
        said["wind"] = _wind(assessment)
    return said


def _gust(assessment: Assessment, each: Gusts) -> dict[str, Any]:
    """The whole tree's factor and what it comes from, and the span of the factors of each rank."""
    ranks = []
    for rank in np.unique(assessment.tree.ranks).tolist():
        rows = assessment.tree.of_rank(rank)
        span = each.factors[rows]
        ranks.append({"rank": RANKS[rank], "least": span.min(), "middle": np.median(span), "most": span.max()})
    return {
        "factor": each.factors[0],
        "frequency_hz": each.frequencies[0],
        "air_damping_share": each.air_damping[0],
        "damping_share": each.damping[0],
        "background_squared": each.background[0],
        "resonant_squared": each.resonant[0],
        "ranks": ranks,
        "clause": each.clause,
    }


def _wind(assessment: Assessment) -> dict[str, Any]:
    conditions = assessment.conditions
    top = float(assessment.frame.points[:, 2].max()) / 1000.0
    speed, exposure = conditions.wind_speed, conditions.exposure
    assert speed is not None
    assert exposure is not None
    if conditions.is_american:
        kz = float(exposure_coefficient(top, exposure))
        pressure = float(velocity_pressure(kz, conditions.topography, 1.0, 1.0, speed))
        clause = "ASCE 7-16 eq. 26.10-1; bars figure 29.4-1"
    else:
        pressure = float(peak_pressure(top, exposure, speed, conditions.topography))
        clause = "EN 1991-1-4 4.5; bars 7.9.2"
    shears = [
        {"title": each.name, "shear_kn": each.shear / 1000.0}
        for each in assessment.base
        if "leaves" in each.name and each.name.startswith(("D", "G"))
    ]
    return {"pressure_at_top_pa": pressure, "clause": clause, "service_shears": shears}


def _members(assessment: Assessment) -> list[dict[str, Any]]:
    """Each member's worst check; what is not strength of a section is a check of its foot."""
    names, kinds = list(assessment.worst.ratio), list(assessment.parts)
    asked = first_worst(np.stack([assessment.worst.ratio[name] for name in names], axis=1))
    worst = first_worst(np.stack(list(assessment.parts.values()), axis=1))
    clauses = {"weld": assessment.welds.clause, "second order": assessment.order.clause}
    clauses |= {"renewal": "ISO 9223, ISO 9224", "elastic": "EN 1993-1-1 eq. 6.1", "rocking": "ISO 10137"}
    if assessment.fatigue is not None:
        clauses["fatigue"] = clauses["skin"] = assessment.fatigue.clause
    said = []
    for row, at in enumerate(assessment.where.tolist()):
        name = names[int(asked[at])]
        case, station = (
            assessment.worst.labels[int(assessment.worst.place[name][at])],
            assessment.cross_sections.nodes[at],
        )
        kind = kinds[worst[row]]
        is_strength = kind == "strength"
        said.append(
            {
                "tag": str(assessment.tree.tags[row]),
                "ratio": assessment.ratios[row],
                "check": name if is_strength else kind,
                "clause": assessment.limit.clauses[name] if is_strength else clauses[kind],
                "station_mm": assessment.frame.stations[station] if is_strength else 0.0,
                "case": case if is_strength else "all of its kind",
            }
        )
    return said


def _base(each: Any) -> dict[str, Any]:
    return {
        "combination": each.name,
        "vertical_kn": each.vertical / 1000.0,
        "shear_kn": each.shear / 1000.0,
        "overturning_kn_m": each.overturning / 1e6,
        "torsion_kn_m": each.torsion / 1e6,
        "toward_deg": each.direction_deg,
    }


def _foot(assessment: Assessment) -> dict[str, Any]:
    rods, plate = foot_anchors(assessment), foot_plate(assessment)
    rods_by = "AISC 360-16 J3.6, J3.7; ring as a line, AISC Design Guide 1; concrete ACI 318-19 17.6, 17.7"
    ground = "ASCE 7-16 2.4.1 (0.6D + 0.6W)" if assessment.conditions.is_american else "EN 1990 table A1.2(A), EQU"
    ring = {key: value for key, value in vars(rods).items() if not key.startswith("plate")}
    return {
        "note": "a first pass: the engineer sizes plate, anchors in their concrete, and footing",
        "anchors": ring | {"clause": rods_by},
        "plate": {
            "side_mm": plate.side_mm,
            "thickness_mm": plate.thickness_mm,
            "asked_side_mm": rods.plate_side_mm,
            "asked_thickness_mm": rods.plate_thickness_mm,
            "clause": "AISC 360-16 F11, one anchor bending it; AISC Design Guide 1; the next stocked plate",
        },
        "footing": vars(foot_footing(assessment))
        | {"soil_mpa": assessment.conditions.soil_bearing, "ground": assessment.conditions.ground, "clause": ground},
        "shear_lug": vars(foot_lug(assessment))
        | {
            "note": "where the engineer wants no shear in the anchors: two plates crossed under the base plate",
            "clause": "ACI 318-19 17.11.2; AISC 360-16 F11",
        },
    }
