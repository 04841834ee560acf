"""bars.csv and the other lists of the shop, and plan.json with all findings."""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from armature.files.csv_text import csv_text
from armature.shop import (
    DYNAMIC,
    METHODS,
    OPERATIONS,
    WAYS,
    Hook,
    Lift,
    SawnBar,
    ShopPlan,
    SiteJoint,
    SizePlan,
    Splice,
    arc_offsets,
)

_FORMAT, _VERSION = "armature.shop-plan", 1


def bars_csv(plan: ShopPlan) -> str:
    """Return bars.csv: a row a bar with its pieces in cutting order, their lengths, what is left; last the base plate.

    `from` is `buy`, `rack` or `spare`; trim_mm is cut off first, its kerf with it. `rest_use` says whether the rest is
    kept or scrap. `kind` is `round`, `pipe` or `plate`: a plate is stock_mm thick and width_mm wide.
    """
    bars, plate, density = plan.bars.bars, plan.foot, plan.commission.steel.density

    def told(values: list[Any], of_plate: Any) -> np.ndarray:
        return np.array([*values, of_plate] if plate.thickness_mm else values)

    columns = {
        "stock_mm": told([bar.diameter_mm for bar in bars], plate.thickness_mm),
        "wall_mm": told([bar.wall_mm for bar in bars], 0.0),
        "length_mm": told([bar.length_mm for bar in bars], plate.side_mm),
        "from": told([_source(bar) for bar in bars], "buy"),
        "pieces": told([" ".join(bar.tags) for bar in bars], "plate"),
        "lengths_mm": told([" ".join(map(_plain, bar.pieces_mm)) for bar in bars], _plain(plate.side_mm)),
        "trim_mm": told([bar.trim_mm for bar in bars], 0.0),
        "rest_mm": told([bar.rest_mm for bar in bars], 0.0),
        "rest_use": told(["keep" if bar.keep else "scrap" for bar in bars], "scrap"),
        "kind": told(["pipe" if bar.wall_mm else "round" for bar in bars], "plate"),
        "width_mm": told([0.0] * len(bars), plate.side_mm),
        "mass_kg": told(
            [_bar_kg(bar, density) for bar in bars], plate.side_mm**2 * plate.thickness_mm * density * 1e-9
        ),
    }
    return csv_text({"bar": np.arange(1, len(columns["from"]) + 1), **columns})


def _plain(mm: float) -> str:
    return f"{mm:.4f}".rstrip("0").rstrip(".")


def _bar_kg(bar: SawnBar, density: float) -> float:
    bore = bar.diameter_mm - 2.0 * bar.wall_mm if bar.wall_mm else 0.0
    return float(np.pi / 4.0 * (bar.diameter_mm**2 - bore**2) * bar.length_mm * density * 1e-9)


def _source(bar: SawnBar) -> str:
    if not bar.tags:
        return "spare"
    return "buy" if bar.bought else "rack"


def welding_csv(plan: ShopPlan) -> str:
    """Return shop/welding.csv: members in the order of welding, their welds, and how much of each a torch reaches.

    `weld` is "fillet", "groove" (full penetration) or empty where the joint is no weld; `sized_by` says where sizes
    come from: "strength", or "least size" of the table alone. `section` is what the member's start travels in, `where`
    it is welded on "shop" or "site": section by section in the shop, then what joins the sections. `end`: how it is
    prepared, a word of WAYS, empty where the joint is no weld.
    """
    order, weld, welds, site = plan.weld_sequence, plan.welding, plan.welds, plan.on_site
    after = [" ".join(plan.tree.tags[weld.before.get(int(row), [])].tolist()) for row in order]
    return csv_text(
        {
            "order": np.arange(1, len(order) + 1),
            "tag": plan.tree.tags[order],
            "joint": plan.kinds[order],
            "weld": np.where(welds.grooves, "groove", np.where(welds.are_fillets, "fillet", ""))[order],
            "fillet_mm": welds.legs[order],
            "sized_by": np.full(len(order), "strength" if welds.known else "least size"),
            "places_reached_of_8": np.where(site, weld.late, weld.reached)[order],
            "places_reached_if_last": weld.late[order],
            "weld_before": np.array(after, dtype=np.str_),
            "section": np.char.add("S", (plan.sections.of_member[order] + 1).astype(np.str_)),
            "where": np.where(site, "site", "shop")[order],
            "end": np.where(welds.grooves | welds.are_fillets, np.array(WAYS)[plan.preparations.ways], "")[order],
        }
    )


def checks_csv(plan: ShopPlan) -> str:
    """Return shop/checks.csv: the check dimensions of each member, how far its tip strays, and what holds its pose.

    `to_1` … are what stands when it is welded; places count from the trunk's foot, x east, y north.
    """
    checks, truth, poses = plan.checks, plan.truth, plan.poses
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
            **{f"to_{n + 1}": poses.names[:, n] for n in range(3)},
            **{f"tip_to_{n + 1}_mm": poses.distances[:, n] for n in range(3)},
            **{f"tip_{axis}_mm": poses.tips[:, n] for n, axis in enumerate("xyz")},
            "middle_mm": poses.halves,
            **{f"middle_{axis}_mm": poses.middles[:, n] for n, axis in enumerate("xyz")},
        }
    )


def hours_csv(plan: ShopPlan) -> str:
    """Return shop/hours.csv: hours of each member by operation; what is not done on members is in plan.json."""
    members = plan.labour.members
    columns = {f"{name}_h": np.round(values, 4) for name, values in members.items()}
    total = np.sum([np.round(values, 4) for values in members.values()], axis=0)
    return csv_text({"tag": plan.tree.tags, **columns, "all_h": np.round(total, 4)})


def cards_csv(plan: ShopPlan) -> str:
    """Return shop/cards.csv: the figures of every card as they are printed, rounded so that their errors cancel.

    On the base the clock counts from east to north, and `roll_deg` is where the chalk line faces, counted likewise.
    """
    kept = plan.written
    return csv_text(
        {
            "tag": plan.tree.tags,
            "cut_mm": plan.sawn_to,
            "draw_mm": plan.draw_to,
            "start_mark_mm": plan.heel_marks,
            "finished_mm": kept.lengths,
            "foot_mm": kept.feet,
            "clock_deg": kept.clocks,
            "lean_deg": kept.leans,
            "roll_deg": kept.rolls,
            "tip_off_mm": kept.strays,
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
    return {
        "faults": list(plan.faults),
        "rounding": {"unit": plan.paper.unit, "largest_tip_error_mm": _r(plan.truth.paper.max(initial=0.0))},
        "anvil": _anvil(plan),
        "clashes": [
            {"members": [c.first, c.second], "chance": _r(c.chance_still, 3), "chance_in_wind": _r(c.chance_wind, 3)}
            for c in plan.clashes
        ],
        "bars": [_size(size) for size in plan.bars.sizes],
        "better_of_two_bars": [
            {
                "tag": split.tag,
                "first_mm": _r(split.first_mm, 3),
                "second_mm": _r(split.second_mm, 3),
                "from_mm": _r(split.station_mm, 1),
            }
            for split in plan.splits
        ],
        "welding": _welding(plan),
        "sections": _sections(plan),
        "trucks": [
            {"truck": each.name, "takes_mm": list(each.truck_mm), "sections": each.sections} for each in plan.trucks
        ],
        "base_plate": _base(plan),
        "labour": _labour(plan),
        "estimate": {
            "currency": plan.estimate.currency,
            "total": _r(plan.estimate.total, 2),
            "assumptions": list(plan.estimate.assumptions),
        },
    }


def _anvil(plan: ShopPlan) -> dict[str, Any]:
    truth = plan.truth
    return {
        "copies": truth.copies,
        "tips_median_mm": _r(np.median(truth.half)),
        "tips_95_mm": _r(np.quantile(truth.most, 0.95)),
        "fitted_tips_median_mm": _r(np.median(truth.fitted_half)),
        "fitted_tips_95_mm": _r(np.quantile(truth.fitted_most, 0.95)),
    }


def _size(size: SizePlan) -> dict[str, Any]:
    return {
        "stock_mm": _r(size.diameter_mm, 3),
        "wall_mm": _r(size.wall_mm, 3),
        "length_mm": _r(size.length_mm, 1),
        "buy": size.bought,
        "spare": size.spare,
        "lower_bound": size.bound,
        "proof": size.proof or "none: best plan found",
        "mass_kg": _r(size.mass_kg, 1),
        "used_kg": _r(size.used_kg, 1),
        "kept_kg": _r(size.kept_kg, 1),
        "wasted_kg": _r(size.wasted_kg, 1),
        "cut_to_length_saves_kg": _r(size.mass_kg - size.used_kg, 1),
    }


def _welding(plan: ShopPlan) -> dict[str, Any]:
    tags, parents = plan.tree.tags, plan.tree.parents
    hidden = [row for row in np.flatnonzero(plan.welding.reached < 6) if parents[row] >= 0]
    return {
        "out_of_reach": [str(tags[row]) for row in hidden],
        "sized_by": "strength" if plan.welds.known else "least size of the table: strength was not worked out",
        "grooves": tags[plan.welds.grooves].tolist(),
        "fillets": int(plan.welds.are_fillets.sum()),
        "weld_metal_mm3": _r(plan.welds.metal.sum(), 0),
        "not_last": [str(tags[row]) for row in sorted(plan.welding.before)],
    }


def _labour(plan: ShopPlan) -> dict[str, Any]:
    return {
        "hours": _r(plan.labour.hours, 1),
        "weeks": _r(plan.labour.weeks, 2),
        "operations": {work.operation: _r(work.hours, 2) for work in plan.labour.works},
        "words": {work.operation: OPERATIONS[work.operation] for work in plan.labour.works},
    }


def _base(plan: ShopPlan) -> dict[str, Any]:
    base = plan.base
    plate = {
        "side_mm": _r(base.plate.side_mm),
        "thickness_mm": _r(base.plate.thickness_mm),
        "mass_kg": _r(base.mass_kg),
    }
    if base.rods is None:
        return plate | {"anchors": 0}
    return plate | {
        "anchors": base.rods.count,
        "anchor_mm": _r(base.rods.diameter_mm),
        "hole_circle_mm": _r(base.rods.circle_mm),
        "hole_mm": _r(base.hole_mm),
        "holes_mm": [[_r(x), _r(y)] for x, y in base.holes.tolist()],
        "hole_to_edge_mm": _r(base.edge_mm),
        "grout_mm": _r(base.grout_mm),
        "rods_stand_out_mm": _r(base.stands_mm),
    }


def plan_json(plan: ShopPlan) -> str:
    """Return the text of shop/plan.json."""
    return json.dumps({"format": _FORMAT, "version": _VERSION} | findings(plan), indent=2, ensure_ascii=False) + "\n"


def _sections(plan: ShopPlan) -> list[dict[str, Any]]:
    order = {stage.section: number for number, stage in enumerate(plan.stages, start=1)}
    rows = []
    for number, (section, lift) in enumerate(zip(plan.sections.sections, plan.lifts, strict=True)):
        stage = plan.stages[order[number] - 1]
        splice = section.splice
        rows.append(
            {
                "section": f"S{number + 1}",
                "on": None if splice is None else f"S{section.parent + 1}",
                "splice": None if splice is None else _splice(plan, splice, plan.site_joints[number]),
                "mass_kg": _r(section.mass),
                "box_mm": [_r(side) for side in section.box.sides[::-1]],
                "centre_of_gravity_mm": [_r(value) for value in section.slices.centre],
                "fits": section.fits,
                "lift": _lift(plan, lift),
                "lift_points_mm": [[_r(value) for value in hook.point] for hook in lift.hooks],
                "lift_on": [str(plan.tree.tags[hook.row]) for hook in lift.hooks],
                "sling_kn": [_r(hook.force_kn, 2) for hook in lift.hooks],
                "erect": order[number],
                "balance_off_mm": _r(stage.offset_mm),
                "overturning_kn_m": _r(stage.moment_kn_m, 2),
                "stands": stage.stands,
                "stands_in_wind_m_s": _r(stage.wind_m_s),
            }
        )
    return rows


def _splice(plan: ShopPlan, splice: Splice, joint: SiteJoint | None) -> dict[str, Any]:
    assert joint is not None  # every section but the first is joined to another
    made: dict[str, Any] = {"kind": joint.kind}
    if joint.kind in ("sleeve", "spigot"):
        made |= {"length_mm": _r(joint.length_mm), "bore_mm": _r(joint.bore_mm), "outside_mm": _r(joint.outside_mm)}
    if joint.kind == "flange":
        made |= {
            "outside_mm": _r(joint.outside_mm),
            "thickness_mm": _r(joint.length_mm),
            "bolts": joint.bolts,
            "bolt_mm": _r(joint.bolt_mm),
            "bolt_circle_mm": _r(joint.bolt_circle_mm),
        }
    if joint.not_seated is not None:
        under = joint.not_seated
        made |= {"instead_of": joint.asked, "over_mm": _r(under.length_mm)}
        made |= {"off_straight_mm": _r(under.rise_mm), "change_of_outside_mm": _r(under.change_mm)}
    return {
        "member": str(plan.tree.tags[splice.row]),
        "station_mm": _r(splice.station_mm),
        "at_own_joint": splice.at_joint,
        "bar_mm": _r(splice.diameter_mm),
        "bore_of_bar_mm": _r(splice.bore_mm),
        "own_weight_stress_mpa": _r(splice.stress_mpa, 2),
        "joint": made,
        "bending_kn_m": _r(joint.moment_kn_m, 3),
        "bending_from": joint.source,
        "designed_by": "to be designed by the engineer",
        "parted_for": splice.limit,
        "as_one_mm": [_r(side) for side in splice.whole_mm],
        "as_one_kg": _r(splice.whole_kg),
    }


def _lift(plan: ShopPlan, lift: Lift) -> dict[str, Any]:
    def hook(each: Hook) -> dict[str, Any]:
        return {
            "member": str(plan.tree.tags[each.row]),
            "station_mm": _r(each.station),
            "point_mm": [_r(value) for value in each.point],
            "by": "lug" if each.lug else "sling",
            "force_kn": _r(each.force_kn, 2),
            "design_kn": _r(each.design_kn, 2),
            "leg_mm": _r(each.leg_mm),
            "leg_angle_deg": _r(each.angle_deg),
        }

    return {
        "manner": lift.manner if lift.hooks else None,
        "hooks": [hook(each) for each in lift.hooks],
        "hook_of_crane_mm": [_r(value) for value in lift.apex],
        "out_of_plumb_deg": _r(lift.tilt_deg),
        "dynamic_factor": DYNAMIC,
        "use": _r(lift.use, 3),
        "use_at": None if lift.worst[0] < 0 else [str(plan.tree.tags[lift.worst[0]]), _r(lift.worst[1])],
        "travels": "standing" if lift.tail is None else "lying",
        "tail": None if lift.tail is None else hook(lift.tail),
        "fault": lift.fault,
    }


def _r(value: float, digits: int = 1) -> float:
    return round(float(value), digits) + 0.0
