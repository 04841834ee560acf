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
    foot_anchors,
    foot_footing,
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


def record(found: Assessment) -> dict[str, Any]:
    """Return everything the report says, values rounded to six figures so that every machine writes the same bytes."""
    rows = checks(found)
    judged = verdict(found, rows)
    made = {
        "version": VERSION,
        "caution": CAUTION,
        "verdict": {
            "word": judged.word,
            "ratios": {key: judged.ratios.get(key) for key in ("new", "at_renewal", "at_years")},
            "reasons": list(judged.reasons),
            "gaps": list(judged.gaps),
            "years": wasting(found),
        },
        "assumed": [vars(each) for each in found.held.assumed],
        "not_covered": _left(found),
        "site": _site(found),
        "loads": _loads(found),
        "worst_ratio": worst_ratio(rows),
        "worst_ratio_by_leaves": leaf_bounds(found),
        "governing": [{"title": name, "ratio": ratio} for name, ratio in governing(found).items()],
        "checks": [_check(row) for row in rows],
        "members": _members(found),
        "base": [_base(each) for each in found.base],
        "foot": _foot(found),
        "movement": parts.movement(found),
        "frequencies": parts.frequencies(found),
        "second_order": parts.order(found),
        "welds": parts.welds(found),
        "fatigue": parts.fatigue(found),
        "lifetime": parts.lifetime(found),
        "contact": parts.contact(found),
        "ties": parts.ties(found),
        "within_reach": parts.reach(found),
        "details": list(DETAILS),
        "safety": list(SAFETY),
        "inspection": inspection_plan(found.held),
        "coupons": coupons(found),
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


def _left(found: Assessment) -> list[str]:
    """What is not covered, less what the commission gives to be checked."""
    given = {"earthquake": found.held.quake is not None, "snow lying on the crown": found.held.snow is not None}
    return [each for each in NOT_COVERED if not given.get(each, False)]


def _check(row: Check) -> dict[str, Any]:
    return {**vars(row), "over": list(row.over)}


def _site(found: Assessment) -> dict[str, Any]:
    held = found.held
    said: dict[str, Any] = {
        "standard": held.standard,
        "steel_standard": "AISC 360-16, LRFD" if held.is_american else "EN 1993-1-1, 1-8, 1-9",
        "grade": held.grade.name,
        "tensile_mpa": held.grade.tensile_mpa,
        "young_gpa": held.grade.young_gpa,
        "yield_mpa": [float(found.yields.min()), float(found.yields.max())],
        "wind_speed_m_s": held.wind_speed,
        "exposure": held.exposure,
        "risk_category": held.risk_category if held.is_american else None,
        "topography": held.topography,
        "ice_mm": held.ice,
        "snow_kpa": None if held.snow is None else held.snow * 1000.0,
        "ice_wind_m_s": held.ice_wind,
        "damping_share": held.damping,
        "corrosivity": held.corrosivity,
        "coat": held.coat,
        "years": held.years,
    }
    return said | {"chance_of_design_wind": exceedance(found)}


def exceedance(found: Assessment) -> dict[str, Any] | None:
    """Return the chance that the design wind is passed at least once in the asked years: 1 - (1 - 1/T)^n."""
    held = found.held
    if held.wind_speed is None:
        return None
    rows = table("wind")
    period = (
        rows[ASCE7]["recurrence_years"][held.risk_category] if held.is_american else rows[EN1991]["recurrence_years"]
    )
    chance = 1.0 - (1.0 - 1.0 / period) ** held.years
    said = {"recurrence_years": period, "over_years": held.years, "chance": chance}
    if not held.is_american and held.years > 1:
        said["speed_factor_for_the_years"] = probability_factor(float(held.years))
        said["clause"] = "EN 1991-1-4 eq. 4.2; the load factor 1.5 is not in the chance"
    else:
        said["clause"] = "ASCE 7-16 figures 26.5-1"
    return said


def _loads(found: Assessment) -> dict[str, Any]:
    tree, held = found.tree, found.held
    steel = float(tree.volumes.sum()) * held.grade.density_kg_m3 * 1e-9
    said: dict[str, Any] = {
        "steel_kg": steel,
        "leaves_kg": float(found.foliage.masses.sum()),
        "weight_kn": (steel + float(found.foliage.masses.sum())) * GRAVITY / 1000.0,
        "leaf_face_m2": float(found.foliage.areas.sum()) * 1e-6,
        "leaf_drag": table("wind")["leaves"],
        "combinations": [{"name": combo.name, "clause": combo.clause} for combo in found.combos],
    }
    if found.gusts:
        said["gust"] = {bound: _gust(found, each) for bound, each in found.gusts.items()}
        said["wind"] = _wind(found)
    return said


def _gust(found: Assessment, each: Gusts) -> dict[str, Any]:
    """The whole tree's factor and what it comes from, and the span of the factors of each rank."""
    ranks = []
    for rank in np.unique(found.tree.ranks).tolist():
        rows = found.tree.of_rank(rank)
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


def _wind(found: Assessment) -> dict[str, Any]:
    held = found.held
    top = float(found.frame.points[:, 2].max()) / 1000.0
    speed, exposure = held.wind_speed, held.exposure
    assert speed is not None
    assert exposure is not None
    if held.is_american:
        kz = float(exposure_coefficient(top, exposure))
        pressure = float(velocity_pressure(kz, held.topography, 1.0, 1.0, speed))
        clause = "ASCE 7-16 eq. 26.10-1; bars table 29.4-1"
    else:
        pressure = float(peak_pressure(top, exposure, speed, held.topography))
        clause = "EN 1991-1-4 4.5; bars 7.9.2"
    shears = [
        {"title": each.name, "shear_kn": each.shear / 1000.0}
        for each in found.base
        if "leaves" in each.name and each.name.startswith(("D", "G"))
    ]
    return {"pressure_at_top_pa": pressure, "clause": clause, "service_shears": shears}


def _members(found: Assessment) -> list[dict[str, Any]]:
    """Each member's worst check; what is not strength of a section is a check of its foot."""
    names, kinds = list(found.worst.ratio), list(found.parts)
    stacked = np.stack([found.worst.ratio[name] for name in names])
    worst = np.stack(list(found.parts.values())).argmax(axis=0)
    clauses = {"weld": found.welds.clause, "second order": found.order.clause}
    clauses |= {"renewal": "ISO 9223, ISO 9224", "elastic": "EN 1993-1-1 eq. 6.1", "rocking": "ISO 10137"}
    if found.fatigue is not None:
        clauses["fatigue"] = found.fatigue.clause
    said = []
    for row, at in enumerate(found.where.tolist()):
        name = names[int(np.argmax(stacked[:, at]))]
        case, station = found.worst.labels[int(found.worst.place[name][at])], found.cut.nodes[at]
        kind = kinds[worst[row]]
        is_strength = kind == "strength"
        said.append(
            {
                "tag": str(found.tree.tags[row]),
                "ratio": found.ratios[row],
                "check": name if is_strength else kind,
                "clause": found.limit.clauses[name] if is_strength else clauses[kind],
                "station_mm": found.frame.stations[station] if is_strength else 0.0,
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


def _foot(found: Assessment) -> dict[str, Any]:
    rods, plate = foot_anchors(found), foot_plate(found)
    rods_by = "AISC 360-16 J3.6, J3.7; ring as a line, AISC Design Guide 1; concrete ACI 318-19 17.6, 17.7"
    ground = "ASCE 7-16 2.4.1 (0.6D + 0.6W)" if found.held.is_american else "EN 1990 table A1.2(A), EQU"
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
        "footing": vars(foot_footing(found))
        | {"soil_mpa": found.held.soil_bearing, "ground": found.held.ground, "clause": ground},
    }
