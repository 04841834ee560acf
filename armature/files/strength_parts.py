"""Parts of the record: movement, frequencies, welds, fatigue, years, contact, ties, reach."""

from __future__ import annotations

from typing import Any

import numpy as np

from armature.strength import COATS, SECOND_ORDER_LIMIT, Assessment, climbed, contacts, isolation, run_off, wear_life
from armature.tree import RANKS


def movement(assessment: Assessment) -> list[dict[str, Any]]:
    """Return the tip that moves most, by rank, in service."""
    said = []
    for rank in np.unique(assessment.tree.ranks).tolist():
        rows = assessment.tree.of_rank(rank)
        worst = int(rows[np.argmax(assessment.service.tips[rows])])
        said.append(
            {
                "rank": RANKS[rank],
                "tag": str(assessment.tree.tags[worst]),
                "tip_mm": assessment.service.tips[worst],
                "sag_mm": assessment.service.sag[worst],
                "by_wind_mm": assessment.service.swings[worst],
                "joint_turn_deg": assessment.service.turns[worst],
                "combination": assessment.service.names[worst],
                "is_beyond_linear": bool(assessment.service.bends[worst] > 0.1),
            }
        )
    return said


def frequencies(assessment: Assessment) -> dict[str, Any]:
    """Return the lowest natural frequencies, and the wind at which vortices lock in."""
    said: dict[str, Any] = {
        "lowest_hz": assessment.modes.frequencies.tolist(),
        "method": "Rayleigh and Ritz on the two sweeps, masses lumped at nodes, leaves hung on",
    }
    if assessment.fatigue is not None:
        at = int(np.argmin(assessment.fatigue.locked.speed))
        said["lock_in"] = {
            "first_tag": str(assessment.tree.tags[at]),
            "first_speed_m_s": assessment.fatigue.locked.speed[at],
            "trunk_speed_m_s": assessment.fatigue.locked.speed[0],
            "least_scruton": float(assessment.fatigue.locked.scruton.min()),
            "clause": "EN 1991-1-4 E.1.3, Strouhal 0.18",
        }
    return said


def order(assessment: Assessment) -> dict[str, Any]:
    """Return the second-order share and its limit."""
    order = assessment.order
    return {
        "worst_share": order.worst,
        "limit": SECOND_ORDER_LIMIT,
        "is_refused": order.is_refused,
        "clause": order.clause,
    }


def welds(assessment: Assessment) -> dict[str, Any]:
    """Return the weld of every joint."""
    weld = assessment.welds
    return {
        "clause": weld.clause,
        "note": "line of weld round the child's foot, elastic; a groove is of full penetration, as strong as the bar",
        "joints": [
            {
                "tag": str(tag),
                "line_n_mm": weld.line[row],
                "leg_mm": None if weld.is_groove[row] else weld.leg[row],
                "least_leg_mm": weld.least[row],
                "groove": bool(weld.is_groove[row]),
                "groove_for_fatigue": bool(weld.for_fatigue[row]),
            }
            for row, tag in enumerate(assessment.tree.tags.tolist())
        ],
    }


def fatigue(assessment: Assessment) -> dict[str, Any] | None:
    """Return fatigue by bound of the leaves, and lock-in; None without wind."""
    if assessment.fatigue is None:
        return None
    tired = assessment.fatigue
    said: dict[str, Any] = {
        "clause": tired.clause,
        "damping_share": assessment.conditions.damping,
        "years": assessment.conditions.years,
    }
    for bound in tired.gust_range:
        ratio, damage = tired.ratio(bound), tired.damage(bound)
        at = int(np.argmax(ratio))
        said[f"leaves_as_{bound}"] = {
            "tag": str(assessment.tree.tags[at]),
            "gust_range_mpa": tired.gust_range[bound][at],
            "ratio": ratio[at],
            "miner_sum": damage[at],
            "years_to_1": assessment.conditions.years / damage[at] if damage[at] > 0.0 else None,
            "over": [str(tag) for tag in assessment.tree.tags[ratio > 1.0]],
        }
    at, locked = int(np.argmax(tired.lock_ratio)), tired.locked
    said["lock_in"] = {
        "tag": str(assessment.tree.tags[at]),
        "range_mpa": locked.ranges[at],
        "ratio": tired.lock_ratio[at],
        "swing_mm": locked.swing[at],
        "cycles": locked.cycles[at],
        "miner_sum": tired.lock_damage[at],
        "critical_speed_m_s": locked.speed[at],
        "scruton": locked.scruton[at],
    }
    return said


def lifetime(assessment: Assessment) -> dict[str, Any]:
    """Return losses, and the year in which each rank first fails, by coat."""
    life = assessment.lifetime
    ranks = []
    for rank in np.unique(assessment.tree.ranks).tolist():
        rows = assessment.tree.of_rank(rank)
        weakest = int(rows[np.argmin(life.spare[rows])])
        ranks.append(
            {
                "rank": RANKS[rank],
                "tag": str(assessment.tree.tags[weakest]),
                "spare_mm_a_side": life.spare[weakest],
                "first_fails": [{"coat": coat, "years": life.years[coat][weakest]} for coat in COATS],
            }
        )
    return {
        "clause": "ISO 9223:2012 table 2, upper end; ISO 9224:2012, upper exponent B2; ISO 1461; ISO 12944-1",
        "corrosivity": assessment.conditions.corrosivity,
        "years": assessment.conditions.years,
        "horizon_years": life.horizon,
        "losses": [{"coat": coat, "loss_mm_a_side": lost} for coat, lost in life.losses.items()],
        "leaf_metal": assessment.conditions.leaf_metal,
        "leaf_loss_mm_a_side": life.leaf_loss,
        "ranks": ranks,
    }


def contact(assessment: Assessment) -> dict[str, Any]:
    """Return unlike metals that touch, what isolates them, and the wear of a loop."""
    pairs = contacts(assessment.conditions.leaf_metal, assessment.conditions.coat)
    wire, wear = assessment.conditions.loop_wire, assessment.loops
    faces = float(assessment.foliage.areas.sum()) * 1e-6
    run = run_off(assessment.conditions.leaf_metal, faces, assessment.conditions.ground)
    return {
        "clause": "anodic index, guides after MIL-STD-889",
        "pairs": [vars(pair) | {"is_safe": pair.is_safe} for pair in pairs],
        "isolation": [*isolation(pairs), *([run] if run else [])],
        "loop_wire_mm": wire,
        "loop_wear": vars(wear)
        | {"years_to_half_wire": wear_life(wear, wire), "note": "a guess within a factor of ten"},
    }


def ties(assessment: Assessment) -> list[dict[str, Any]]:
    """Return the force in each tie."""
    if assessment.ties is None:
        return []
    bars, pulls = assessment.ties
    return [
        {
            "tie": number + 1,
            "member": tie.member,
            "to": tie.to_member or "fixed point",
            "length_mm": bars.lengths[number],
            "force_n": pulls[number],
        }
        for number, tie in enumerate(assessment.conditions.ties)
    ]


def reach(assessment: Assessment) -> dict[str, Any]:
    """Return who is within a person's reach, and what a hand can bend."""
    pulled = assessment.pulled
    return {
        "reach_mm": assessment.conditions.reach,
        "climbed_to_mm": climbed(assessment.frame, assessment.conditions),
        "climbers": assessment.conditions.climbers,
        "rocked": [
            {
                "tag": str(assessment.tree.tags[row]),
                "frequency_hz": assessment.rocked.frequencies[at],
                "swing_mm": assessment.rocked.swings[at],
                "moment_kn_m": assessment.rocked.moments[at] / 1e6,
                "ratio": assessment.rocked.ratios[at],
            }
            for at, row in enumerate(assessment.rocked.rows.tolist())
        ],
        "pull_n": assessment.conditions.pull,
        "checked": [str(tag) for tag in assessment.tree.tags[pulled.held]],
        "a_hand_can_bend": [str(tag) for tag in assessment.tree.tags[pulled.bending]],
        "tips_below_2100_mm": [str(tag) for tag in assessment.tree.tags[assessment.tree.tips[:, 2] < 2100.0]],
    }
