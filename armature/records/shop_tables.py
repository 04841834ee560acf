"""bars.csv and the other lists of the shop, and plan.json with all findings."""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from armature.records.csv_text import csv_text
from armature.shop.bending import METHODS, arc_offsets
from armature.shop.labour import OPERATIONS
from armature.shop.plan import ShopPlan


def bars_csv(plan: ShopPlan) -> str:
    """Return bars.csv: a row a bar with its pieces in cutting order, their lengths, and what is left.

    `from` is `buy` or `rack`; `rest_use` says whether the rest is kept or scrap.
    """
    bars = plan.bars.bars
    return csv_text(
        {
            "bar": np.arange(1, len(bars) + 1),
            "stock_mm": np.array([bar.diameter_mm for bar in bars]),
            "wall_mm": np.array([bar.wall_mm for bar in bars]),
            "length_mm": np.array([bar.length_mm for bar in bars]),
            "from": np.array(["buy" if bar.bought else "rack" for bar in bars], dtype=np.str_),
            "pieces": np.array([" ".join(bar.tags) for bar in bars], dtype=np.str_),
            "lengths_mm": np.array(
                [" ".join(f"{length:.4f}".rstrip("0").rstrip(".") for length in bar.pieces_mm) for bar in bars],
                dtype=np.str_,
            ),
            "rest_mm": np.array([bar.rest_mm for bar in bars]),
            "rest_use": np.array(["keep" if bar.keep else "scrap" for bar in bars], dtype=np.str_),
        }
    )


def welding_csv(plan: ShopPlan) -> str:
    """Return shop/welding.csv: members in the order of welding, their welds, and how much of each a torch reaches.

    `weld` is "fillet", "groove" (full penetration) or empty where the joint is no weld; `sized_by` says where sizes
    come from: "strength", or "least size" of the table alone.
    """
    order, weld, welds = plan.welding.order, plan.welding, plan.welds
    after = [" ".join(plan.tree.tags[weld.before.get(int(row), [])].tolist()) for row in order]
    return csv_text(
        {
            "order": np.arange(1, len(order) + 1),
            "tag": plan.tree.tags[order],
            "joint": plan.kinds[order],
            "weld": np.where(welds.grooves, "groove", np.where(welds.are_fillets, "fillet", ""))[order],
            "fillet_mm": welds.legs[order],
            "sized_by": np.full(len(order), "strength" if welds.known else "least size"),
            "places_reached_of_8": weld.reached[order],
            "places_reached_if_last": weld.late[order],
            "weld_before": np.array(after, dtype=np.str_),
        }
    )


def checks_csv(plan: ShopPlan) -> str:
    """Return shop/checks.csv: the check dimensions of each member and how far its tip strays."""
    checks, truth = plan.checks, plan.truth
    sibling = np.where(checks.before >= 0, plan.tree.tags[np.maximum(checks.before, 0)], "")
    return csv_text(
        {
            "tag": plan.tree.tags,
            "start_to_tip_mm": checks.chords,
            "tip_to_parent_tip_mm": checks.to_parent_tip,
            "sibling": sibling,
            "tip_to_sibling_tip_mm": checks.to_sibling_tip,
            "stray_paper_mm": truth.paper,
            "stray_half_mm": truth.half,
            "stray_95_mm": truth.most,
            "stray_fitted_half_mm": truth.fitted_half,
            "stray_fitted_95_mm": truth.fitted_most,
        }
    )


def offsets_csv(plan: ShopPlan) -> str:
    """Return shop/offsets.csv: chord and rise of every bend, for those who bend by eye to a chalk drawing."""
    chords, rises = arc_offsets(plan.bends.radii, plan.bends.bends)
    return csv_text(
        {
            "tag": plan.tree.tags[plan.bends.members],
            "bend": plan.bends.numbers,
            "mark_mm": plan.bends.marks,
            "chord_mm": chords,
            "rise_mm": rises,
            "how": np.array(METHODS)[plan.methods],
        }
    )


def findings(plan: ShopPlan) -> dict[str, Any]:
    """Return what the plan found, for plan.json and the summary: numbers rounded to what they are worth."""
    truth = plan.truth
    return {
        "faults": list(plan.faults),
        "rounding": {"unit": plan.paper.unit, "largest_tip_error_mm": _r(truth.paper.max(initial=0.0))},
        "anvil": {
            "copies": truth.copies,
            "tips_median_mm": _r(np.median(truth.half)),
            "tips_95_mm": _r(np.quantile(truth.most, 0.95)),
            "fitted_tips_median_mm": _r(np.median(truth.fitted_half)),
            "fitted_tips_95_mm": _r(np.quantile(truth.fitted_most, 0.95)),
        },
        "clashes": [
            {"members": [c.first, c.second], "chance": _r(c.chance_still, 3), "chance_in_wind": _r(c.chance_wind, 3)}
            for c in plan.clashes
        ],
        "bars": [
            {
                "stock_mm": _r(size.diameter_mm, 3),
                "wall_mm": _r(size.wall_mm, 3),
                "length_mm": _r(size.length_mm, 1),
                "buy": size.bought,
                "lower_bound": size.bound,
                "proof": size.proof or "none: best plan found",
                "mass_kg": _r(size.mass_kg, 1),
            }
            for size in plan.bars.sizes
        ],
        "better_of_two_bars": [
            {
                "tag": split.tag,
                "first_mm": _r(split.first_mm, 3),
                "second_mm": _r(split.second_mm, 3),
                "from_mm": _r(split.station_mm, 1),
            }
            for split in plan.splits
        ],
        "welding": {
            "out_of_reach": [
                str(plan.tree.tags[row])
                for row in np.flatnonzero(plan.welding.reached < 6)
                if plan.tree.parents[row] >= 0
            ],
            "sized_by": "strength" if plan.welds.known else "least size of the table: strength was not worked out",
            "grooves": plan.tree.tags[plan.welds.grooves].tolist(),
            "fillets": int(plan.welds.are_fillets.sum()),
            "weld_metal_mm3": _r(plan.welds.metal.sum(), 0),
            "not_last": [str(plan.tree.tags[row]) for row in sorted(plan.welding.before)],
        },
        "sections": _sections(plan),
        "labour": {
            "hours": _r(plan.labour.hours, 1),
            "weeks": _r(plan.labour.weeks, 2),
            "operations": {work.operation: _r(work.hours, 2) for work in plan.labour.works},
            "words": {work.operation: OPERATIONS[work.operation] for work in plan.labour.works},
        },
        "estimate": {
            "currency": plan.estimate.currency,
            "total": _r(plan.estimate.total, 2),
            "assumptions": list(plan.estimate.assumptions),
        },
    }


def plan_json(plan: ShopPlan) -> str:
    """Return the text of shop/plan.json."""
    return json.dumps(findings(plan), indent=2, ensure_ascii=False) + "\n"


def _sections(plan: ShopPlan) -> list[dict[str, Any]]:
    order = {stage.section: number for number, stage in enumerate(plan.stages, start=1)}
    found = []
    for number, (section, lift) in enumerate(zip(plan.sections.sections, plan.lifts, strict=True)):
        stage = plan.stages[order[number] - 1]
        splice = section.splice
        found.append(
            {
                "section": f"S{number + 1}",
                "on": None if splice is None else f"S{section.host + 1}",
                "splice": None
                if splice is None
                else {
                    "member": str(plan.tree.tags[splice.row]),
                    "station_mm": _r(splice.station_mm),
                    "bar_mm": _r(splice.diameter_mm),
                    "own_weight_stress_mpa": _r(splice.stress_mpa, 2),
                },
                "mass_kg": _r(section.mass),
                "box_mm": [_r(side) for side in section.box.sides[::-1]],
                "centre_of_gravity_mm": [_r(value) for value in section.slices.centre],
                "fits": section.fits,
                "lift_points_mm": [[_r(value) for value in point] for point in lift.points],
                "lift_on": [str(plan.tree.tags[row]) for row in lift.members],
                "sling_kn": [_r(force, 2) for force in lift.forces],
                "sling_legs": plan.sling_legs,
                "sling_kn_if_all_carry": _r(lift.even_kn, 2),
                "erect": order[number],
                "balance_off_mm": _r(stage.offset_mm),
                "overturning_kn_m": _r(stage.moment_kn_m, 2),
                "stands": stage.stands,
            }
        )
    return found


def _r(value: float, digits: int = 1) -> float:
    return round(float(value), digits) + 0.0
