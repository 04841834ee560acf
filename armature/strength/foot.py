"""What holds the tree to the ground: anchors, the plate that they go through, and a footing, each with its check."""

from __future__ import annotations

from armature.base_plate import BasePlate, base_plate
from armature.strength.assess import Assessment
from armature.strength.base import Anchors, Footing, anchors, footing
from armature.strength.check import Check

# AISC 360-16 F11.1 and 2.1, phi of bending.
_PHI = 0.9


def foot_checks(found: Assessment) -> list[Check]:
    """Return the checks of anchors, plate and footing; none of a plate where the commission wants none.

    Whether the anchors find room is asked of a width that was given: any other plate is cut to hold them.
    """
    width = found.held.foot_width
    plate = [] if width == 0.0 else [_plate_check(found)]
    room = [_room_check(found)] if width else []
    frost = [] if found.held.frost_depth is None or found.held.ground != "soil" else [_frost_check(found)]
    return [_anchor_check(found), _concrete_check(found), *plate, *room, *_footing_checks(found), *frost]


def foot_anchors(found: Assessment) -> Anchors:
    """Return the anchors of the base plate in their footing, for the strength combinations."""
    chosen = [each for each in found.base if each.use == "strength"]
    weld, block = found.welds, foot_footing(found)
    leg = 0.0 if weld.is_groove[0] else float(weld.leg[0])
    trunk, yields = float(found.tree.start_diameters[0]), float(found.yields[0])
    return anchors(chosen, trunk, yields, leg, found.held.concrete, block.side_mm, block.depth_mm)


def foot_plate(found: Assessment) -> BasePlate:
    """Return the base plate as it is cut: of the commission's width, else what the anchors need, of stocked plate."""
    rods, held = foot_anchors(found), found.held
    needed = (rods.plate_side_mm, rods.plate_thickness_mm)
    return base_plate(float(found.tree.start_diameters[0]), held.units, held.foot_width, needed)


def foot_footing(found: Assessment) -> Footing:
    """Return the footing, or the block of ballast that stands on ground that may not be dug."""
    held = found.held
    return footing(found.base, held.soil_bearing, held.foot_depth, held.friction)


def _row(found: Assessment, clause: str, title: str, value: float, limit: float, unit: str, case: str) -> Check:
    """Return a check at the trunk whose ratio is value over limit."""
    ratio = value / max(limit, 1e-12)
    return Check(clause, title, value, limit, unit, ratio, str(found.tree.tags[0]), case, _over(found, ratio))


def _concrete_check(found: Assessment) -> Check:
    rods = foot_anchors(found)
    title = (
        f"concrete round the anchors, {rods.embedment_mm:.0f} mm in {found.held.concrete:g} MPa, {rods.edge_mm:.0f} mm"
        " from the edge: breakout, pull-out, edge"
    )
    clause = "ACI 318-19 17.6.2, 17.6.3, 17.7.2 (EN 1992-4 is near)"
    return _row(found, clause, title, rods.concrete_ratio, 1.0, "of its resistance", "strength combinations")


def _footing_checks(found: Assessment) -> list[Check]:
    """Tipping, sliding and pressure; a driving share over a resisting one."""
    foot, held = foot_footing(found), found.held
    clause = "ASCE 7-16 2.4.1, 0.6D + 0.6W" if held.is_american else "EN 1990 table A1.2(A), EQU"
    size = f"{foot.side_mm / 1000:.2f} m square, {foot.depth_mm / 1000:.2f} m deep"
    what = "footing" if held.ground == "soil" else "ballast on the ground"
    drive = "of what resists"
    return [
        _row(found, clause, f"{what} {size}: tipping", 1.0 / foot.safety, 1.0, drive, "ground combinations"),
        _row(found, clause, f"{what}: sliding", 1.0 / foot.sliding, 1.0, drive, "ground combinations"),
        _row(
            found,
            "pressure of a rigid footing, lifted where it must; allowed pressure from the commission",
            f"{what}: soil",
            min(foot.pressure_mpa, 1e3) * 1000.0,
            held.soil_bearing * 1000.0,
            "kPa",
            "service combinations",
        ),
    ]


def _frost_check(found: Assessment) -> Check:
    held = found.held
    assert held.frost_depth is not None
    clause = "the footing's underside not above the frost, ASCE 32 or EN ISO 13793"
    return _row(found, clause, "frost under the footing", held.frost_depth, held.foot_depth, "mm", "winter")


def _anchor_check(found: Assessment) -> Check:
    rods = foot_anchors(found)
    return Check(
        clause="AISC 360-16 J3.6, J3.7; AISC Design Guide 1",
        title=f"anchors, {rods.count} of {rods.diameter_mm:g} mm on a circle of {rods.circle_mm:.0f} mm, steel alone",
        value=rods.tension_n / 1000.0,
        limit=rods.tension_n / 1000.0 / max(rods.ratio, 1e-9),
        unit="kN tension",
        ratio=rods.ratio,
        member=str(found.tree.tags[0]),
        case="strength combinations",
        over=_over(found, rods.ratio),
    )


def _plate_check(found: Assessment) -> Check:
    """The plate bent by its worst anchor: its stress goes with the square of the thickness asked over its own."""
    plate, limit = foot_plate(found), _PHI * float(found.yields[0])
    ratio = (foot_anchors(found).plate_thickness_mm / plate.thickness_mm) ** 2
    return Check(
        clause="AISC 360-16 F11; AISC Design Guide 1",
        title=f"base plate {plate.side_mm:g} mm square, {plate.thickness_mm:g} mm thick, bent by one anchor",
        value=limit * ratio,
        limit=limit,
        unit="MPa",
        ratio=ratio,
        member=str(found.tree.tags[0]),
        case="strength combinations",
        over=_over(found, ratio),
    )


def _room_check(found: Assessment) -> Check:
    plate, asked = foot_plate(found), foot_anchors(found).plate_side_mm
    ratio = asked / plate.side_mm
    return Check(
        clause="two diameters from the middle of an anchor to the edge; common practice, no source",
        title="room for the circle of anchors on the base plate",
        value=asked,
        limit=plate.side_mm,
        unit="mm",
        ratio=ratio,
        member=str(found.tree.tags[0]),
        case="strength combinations",
        over=_over(found, ratio),
    )


def _over(found: Assessment, ratio: float) -> tuple[str, ...]:
    return (str(found.tree.tags[0]),) if ratio > 1.0 else ()
