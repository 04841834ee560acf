"""Parts of the record: movement, frequencies, welds, fatigue, years, contact, ties, reach."""

from __future__ import annotations

from typing import Any

import numpy as np

from armature.strength import COATS, SECOND_ORDER_LIMIT, Assessment, climbed, contacts, isolation, loop_wear, wear_life
from armature.tree import RANKS


def movement(found: Assessment) -> list[dict[str, Any]]:
    """Return the tip that moves most, by rank, in service."""
    said = []
    for rank in np.unique(found.tree.ranks).tolist():
        rows = found.tree.of_rank(rank)
        worst = int(rows[np.argmax(found.service.tips[rows])])
        said.append(
            {
                "rank": RANKS[rank],
                "tag": str(found.tree.tags[worst]),
                "tip_mm": found.service.tips[worst],
                "sag_mm": found.service.sag[worst],
                "by_wind_mm": found.service.swings[worst],
                "joint_turn_deg": found.service.turns[worst],
                "combination": found.service.names[worst],
                "is_beyond_linear": bool(found.service.bends[worst] > 0.1),
            }
        )
    return said


def frequencies(found: Assessment) -> dict[str, Any]:
    """Return the lowest natural frequencies, and the wind at which vortices lock in."""
    said: dict[str, Any] = {
        "lowest_hz": found.modes.frequencies.tolist(),
        "method": "Rayleigh and Ritz on the two sweeps, masses lumped at nodes, leaves hung on",
    }
    if found.fatigue is not None:
        at = int(np.argmin(found.fatigue.locked.speed))
        said["lock_in"] = {
            "first_tag": str(found.tree.tags[at]),
            "first_speed_m_s": found.fatigue.locked.speed[at],
            "trunk_speed_m_s": found.fatigue.locked.speed[0],
            "least_scruton": float(found.fatigue.locked.scruton.min()),
            "clause": "EN 1991-1-4 E.1.3, Strouhal 0.18",
        }
    return said


def order(found: Assessment) -> dict[str, Any]:
    """Return the second-order share and its limit."""
    order = found.order
    return {
        "worst_share": order.worst,
        "limit": SECOND_ORDER_LIMIT,
        "is_refused": order.is_refused,
        "clause": order.clause,
    }


def welds(found: Assessment) -> dict[str, Any]:
    """Return the weld of every joint."""
    weld = found.welds
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
            for row, tag in enumerate(found.tree.tags.tolist())
        ],
    }


def fatigue(found: Assessment) -> dict[str, Any] | None:
    """Return fatigue by bound of the leaves, and lock-in; None without wind."""
    if found.fatigue is None:
        return None
    tired = found.fatigue
    said: dict[str, Any] = {"clause": tired.clause, "damping_share": found.held.damping, "years": found.held.years}
    for bound in tired.gust_range:
        ratio, damage = tired.ratio(bound), tired.damage(bound)
        at = int(np.argmax(ratio))
        said[f"leaves_as_{bound}"] = {
            "tag": str(found.tree.tags[at]),
            "gust_range_mpa": tired.gust_range[bound][at],
            "ratio": ratio[at],
            "miner_sum": damage[at],
            "years_to_1": found.held.years / damage[at] if damage[at] > 0.0 else None,
            "over": [str(tag) for tag in found.tree.tags[ratio > 1.0]],
        }
    at, locked = int(np.argmax(tired.lock_ratio)), tired.locked
    said["lock_in"] = {
        "tag": str(found.tree.tags[at]),
        "range_mpa": locked.ranges[at],
        "ratio": tired.lock_ratio[at],
        "swing_mm": locked.swing[at],
        "cycles": locked.cycles[at],
        "miner_sum": tired.lock_damage[at],
        "critical_speed_m_s": locked.speed[at],
        "scruton": locked.scruton[at],
    }
    return said


def lifetime(found: Assessment) -> dict[str, Any]:
    """Return losses, and the year in which each rank first fails, by coat."""
    life = found.lifetime
    ranks = []
    for rank in np.unique(found.tree.ranks).tolist():
        rows = found.tree.of_rank(rank)
        weakest = int(rows[np.argmin(life.spare[rows])])
        ranks.append(
            {
                "rank": RANKS[rank],
                "tag": str(found.tree.tags[weakest]),
                "spare_mm_a_side": life.spare[weakest],
                "first_fails": [{"coat": coat, "years": life.years[coat][weakest]} for coat in COATS],
            }
        )
    return {
        "clause": "ISO 9223:2012 table 2, upper end; ISO 9224:2012, upper exponent B2; ISO 1461; ISO 12944-1",
        "corrosivity": found.held.corrosivity,
        "years": found.held.years,
        "horizon_years": life.horizon,
        "losses": [{"coat": coat, "loss_mm_a_side": lost} for coat, lost in life.losses.items()],
        "leaf_metal": found.held.leaf_metal,
        "leaf_loss_mm_a_side": life.leaf_loss,
        "ranks": ranks,
    }


def contact(found: Assessment) -> dict[str, Any]:
    """Return unlike metals that touch, what isolates them, and the wear of a loop."""
    pairs = contacts(found.held.leaf_metal, found.held.coat)
    heaviest = float(found.foliage.masses.max(initial=0.0))
    wire = found.held.loop_wire
    wear = loop_wear(heaviest, float(found.held.years), wire)
    return {
        "clause": "anodic index, guides after MIL-STD-889",
        "pairs": [vars(pair) | {"is_safe": pair.is_safe} for pair in pairs],
        "isolation": isolation(pairs),
        "loop_wire_mm": wire,
        "loop_wear": vars(wear)
        | {"years_to_half_wire": wear_life(wear, wire), "note": "a guess within a factor of ten"},
    }


def ties(found: Assessment) -> list[dict[str, Any]]:
    """Return the force in each tie."""
    if found.ties is None:
        return []
    bars, pulls = found.ties
    return [
        {
            "tie": number + 1,
            "member": tie.member,
            "to": tie.to_member or "fixed point",
            "length_mm": bars.lengths[number],
            "force_n": pulls[number],
        }
        for number, tie in enumerate(found.held.ties)
    ]


def reach(found: Assessment) -> dict[str, Any]:
    """Return who is within a person's reach, and what a hand can bend."""
    pulled = found.pulled
    return {
        "reach_mm": found.held.reach,
        "climbed_to_mm": climbed(found.frame, found.held),
        "climbers": found.held.climbers,
        "rocked": [
            {
                "tag": str(found.tree.tags[row]),
                "frequency_hz": found.rocked.frequencies[at],
                "swing_mm": found.rocked.swings[at],
                "moment_kn_m": found.rocked.moments[at] / 1e6,
                "ratio": found.rocked.ratios[at],
            }
            for at, row in enumerate(found.rocked.rows.tolist())
        ],
        "pull_n": found.held.pull,
        "checked": [str(tag) for tag in found.tree.tags[pulled.held]],
        "a_hand_can_bend": [str(tag) for tag in found.tree.tags[pulled.bending]],
        "tips_below_2100_mm": [str(tag) for tag in found.tree.tags[found.tree.tips[:, 2] < 2100.0]],
    }
