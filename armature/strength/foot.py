"""What holds the tree to the ground: anchors, the plate that they go through, and a footing, each with its check."""

from __future__ import annotations

from armature.metals import BasePlate, base_plate
from armature.strength.assess import Assessment
from armature.strength.base import Anchors, Footing, Lug, anchors, footing, shear_lug
from armature.strength.check import Check

# AISC 360-16 F11.1 and 2.1, phi of bending.
_PHI = 0.9


def foot_checks(assessment: Assessment) -> list[Check]:
    """Return the checks of anchors, plate and footing; none of a plate where the commission wants none.

    Whether the anchors find room is asked of a width that was given: any other plate is cut to hold them.
    """
    width = assessment.conditions.foot_width
    plate = [] if width == 0.0 else [_plate_check(assessment)]
    room = [_room_check(assessment)] if width else []
    frost = (
        []
        if assessment.conditions.frost_depth is None or assessment.conditions.ground != "soil"
        else [_frost_check(assessment)]
    )
    return [_anchor_check(assessment), _concrete_check(assessment), *plate, *room, *_footing_checks(assessment), *frost]


def foot_anchors(assessment: Assessment) -> Anchors:
    """Return the anchors of the base plate in their footing, for the strength combinations."""
    chosen = [each for each in assessment.base if each.use == "strength"]
    weld, block = assessment.welds, foot_footing(assessment)
    leg = 0.0 if weld.is_groove[0] else float(weld.leg[0])
    trunk, yields = float(assessment.tree.start_diameters[0]), float(assessment.yields[0])
    conditions = assessment.conditions
    return anchors(chosen, trunk, yields, leg, conditions.concrete, block.side_mm, block.depth_mm, conditions.units)


def foot_lug(assessment: Assessment) -> Lug:
    """Return the lug that would take the whole shear of the strength combinations off the anchors."""
    chosen = [each for each in assessment.base if each.use == "strength"]
    trunk = float(assessment.tree.start_diameters[0])
    return shear_lug(chosen, trunk, float(assessment.yields[0]), assessment.conditions.concrete)


def foot_plate(assessment: Assessment) -> BasePlate:
    """Return the base plate as it is cut: of the commission's width, else what the anchors need, of stocked plate."""
    rods, conditions = foot_anchors(assessment), assessment.conditions
    needed = (rods.plate_side_mm, rods.plate_thickness_mm)
    return base_plate(float(assessment.tree.start_diameters[0]), conditions.units, conditions.foot_width, needed)


def foot_footing(assessment: Assessment) -> Footing:
    """Return the footing, or the block of ballast that stands on ground that may not be dug."""
    conditions = assessment.conditions
    return footing(assessment.base, conditions.soil_bearing, conditions.foot_depth, conditions.friction)


def _row(assessment: Assessment, clause: str, title: str, value: float, limit: float, unit: str, case: str) -> Check:
    """Return a check at the trunk whose ratio is value over limit."""
    ratio = value / max(limit, 1e-12)
    return Check(clause, title, value, limit, unit, ratio, str(assessment.tree.tags[0]), case, _over(assessment, ratio))


def _concrete_check(assessment: Assessment) -> Check:
    rods = foot_anchors(assessment)
    title = (
        f"concrete round the anchors, {rods.embedment_mm:.0f} mm in {assessment.conditions.concrete:g} MPa,"
        f" {rods.edge_mm:.0f} mm from the edge: breakout, pull-out, edge"
    )
    clause = "ACI 318-19 17.6.2, 17.6.3, 17.7.2 (EN 1992-4 is near)"
    return _row(assessment, clause, title, rods.concrete_ratio, 1.0, "of its resistance", "strength combinations")


def _footing_checks(assessment: Assessment) -> list[Check]:
    """Tipping, sliding and pressure; a driving share over a resisting one."""
    foot, conditions = foot_footing(assessment), assessment.conditions
    clause = "ASCE 7-16 2.4.1, 0.6D + 0.6W" if conditions.is_american else "EN 1990 table A1.2(A), EQU"
    slides = clause if conditions.is_american else f"{clause}; EN 1997-1 6.5.3, GEO, resistance over 1.1"
    bears = "allowed pressure from the commission" if conditions.is_american else "EN 1997-1 6.5.2.4, presumed pressure"
    size = f"{foot.side_mm / 1000:.2f} m square, {foot.depth_mm / 1000:.2f} m deep"
    what = "footing" if conditions.ground == "soil" else "ballast on the ground"
    drive = "of what resists"
    return [
        _row(assessment, clause, f"{what} {size}: tipping", 1.0 / foot.safety, 1.0, drive, "ground combinations"),
        _row(assessment, slides, f"{what}: sliding", 1.0 / foot.sliding, 1.0, drive, "ground combinations"),
        _row(
            assessment,
            f"pressure of a rigid footing, lifted where it must; {bears}",
            f"{what}: soil",
            min(foot.pressure_mpa, 1e3) * 1000.0,
            conditions.soil_bearing * 1000.0,
            "kPa",
            "service combinations",
        ),
    ]


def _frost_check(assessment: Assessment) -> Check:
    conditions = assessment.conditions
    assert conditions.frost_depth is not None
    clause = "the footing's underside not above the frost, ASCE 32 or EN ISO 13793"
    return _row(
        assessment, clause, "frost under the footing", conditions.frost_depth, conditions.foot_depth, "mm", "winter"
    )


def _anchor_check(assessment: Assessment) -> Check:
    rods = foot_anchors(assessment)
    return Check(
        clause="AISC 360-16 J3.6, J3.7; AISC Design Guide 1",
        title=f"anchors, {rods.count} of {rods.diameter_mm:g} mm on a circle of {rods.circle_mm:.0f} mm, steel alone",
        value=rods.tension_n / 1000.0,
        limit=rods.tension_n / 1000.0 / max(rods.ratio, 1e-9),
        unit="kN tension",
        ratio=rods.ratio,
        member=str(assessment.tree.tags[0]),
        case="strength combinations",
        over=_over(assessment, rods.ratio),
    )


def _plate_check(assessment: Assessment) -> Check:
    """The plate bent by its worst anchor: its stress goes with the square of the thickness asked over its own."""
    plate, limit = foot_plate(assessment), _PHI * float(assessment.yields[0])
    ratio = (foot_anchors(assessment).plate_thickness_mm / plate.thickness_mm) ** 2
    return Check(
        clause="AISC 360-16 F11; AISC Design Guide 1",
        title=f"base plate {plate.side_mm:g} mm square, {plate.thickness_mm:g} mm thick, bent by one anchor",
        value=limit * ratio,
        limit=limit,
        unit="MPa",
        ratio=ratio,
        member=str(assessment.tree.tags[0]),
        case="strength combinations",
        over=_over(assessment, ratio),
    )


def _room_check(assessment: Assessment) -> Check:
    plate, asked = foot_plate(assessment), foot_anchors(assessment).plate_side_mm
    ratio = asked / plate.side_mm
    return Check(
        clause="two diameters from the middle of an anchor to the edge; common practice, no source",
        title="room for the circle of anchors on the base plate",
        value=asked,
        limit=plate.side_mm,
        unit="mm",
        ratio=ratio,
        member=str(assessment.tree.tags[0]),
        case="strength combinations",
        over=_over(assessment, ratio),
    )


def _over(assessment: Assessment, ratio: float) -> tuple[str, ...]:
    return (str(assessment.tree.tags[0]),) if ratio > 1.0 else ()
