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
    return [_anchor_check(found), *plate, *room, _footing_check(found)]


def foot_anchors(found: Assessment) -> Anchors:
    """Return the anchors of the base plate, for the strength combinations."""
    strength = {combo.name for combo in found.combos if combo.is_strength}
    chosen = [each for each in found.base if each.name in strength]
    return anchors(chosen, float(found.tree.start_diameters[0]), float(found.yields[0]))


def foot_plate(found: Assessment) -> BasePlate:
    """Return the base plate as it is cut: of the commission's width, else what the anchors need, of stocked plate."""
    rods, held = foot_anchors(found), found.held
    needed = (rods.plate_side_mm, rods.plate_thickness_mm)
    return base_plate(float(found.tree.start_diameters[0]), held.units, held.foot_width, needed)


def foot_footing(found: Assessment) -> Footing:
    """Return the footing, for the service combinations."""
    service = {combo.name for combo in found.combos if combo.use == "service"}
    return footing([each for each in found.base if each.name in service], found.held.soil_bearing)


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


def _footing_check(found: Assessment) -> Check:
    foot = foot_footing(found)
    return Check(
        clause="overturning about the edge, safety 1.5 (IBC 1807.2.3); a first pass",
        title=f"footing {foot.side_mm / 1000:.2f} m square, {foot.depth_mm / 1000:.2f} m deep",
        value=foot.safety,
        limit=1.5,
        unit="safety",
        ratio=1.5 / max(foot.safety, 1e-9),
        member=str(found.tree.tags[0]),
        case="service combinations",
        over=_over(found, 1.5 / max(foot.safety, 1e-9)),
    )


def _over(found: Assessment, ratio: float) -> tuple[str, ...]:
    return (str(found.tree.tags[0]),) if ratio > 1.0 else ()
