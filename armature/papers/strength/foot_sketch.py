"""A dimensioned sketch of the foot: footing, anchors and plate, in section and in plan. A first pass."""

from __future__ import annotations

from armature.edge import format_length
from armature.papers.ready import INK
from armature.papers.sheet import Sheet
from armature.strength import Assessment, foot_anchors, foot_footing, foot_lug, foot_plate

Box = tuple[float, float, float, float]


def draw_foot(sheet: Sheet, assessment: Assessment, box: Box) -> None:
    """Draw the foot in a box (x, y, width, height) mm of the sheet: section on the left, plan on the right."""
    left, top, wide, high = box
    foot, rods, plate = foot_footing(assessment), foot_anchors(assessment), foot_plate(assessment)
    side, depth = foot.side_mm, foot.depth_mm
    scale = min((wide / 2.0 - 24.0) / side, (high - 65.5) / side)
    units = assessment.conditions.units
    sheet.ink(INK, 0.5)
    x, ground = left + 14.0, top + 40.0
    in_ground = assessment.conditions.ground == "soil"
    surface = ground
    sheet.rect(x, surface, side * scale, depth * scale)
    level = surface if in_ground else surface + depth * scale
    sheet.rule(x - 10.0, level, side * scale + 20.0, 0.25)
    trunk = float(assessment.tree.start_diameters[0])
    middle = x + side * scale / 2.0
    sheet.rect(middle - plate.side_mm * scale / 2.0, surface - 1.2, plate.side_mm * scale, 1.2, style="F")
    sheet.rect(middle - trunk * scale / 2.0, surface - 26.0, trunk * scale, 24.8)
    for way in (-1.0, 1.0):
        at = middle + way * rods.circle_mm * scale / 2.0
        sheet.path([(at, surface - 3.0), (at, surface + rods.embedment_mm * scale)], 0.6)
    sheet.words(middle, surface + depth * scale + 12.0, f"{format_length(side, units)} square", 9.0, align="C")
    sheet.words(x + side * scale + 2.0, surface + depth * scale / 2.0, format_length(depth, units), 9.0)
    centre, plan = left + wide * 0.75, surface + side * scale / 2.0
    sheet.ink(INK, 0.5)
    sheet.rect(centre - side * scale / 2.0, surface, side * scale, side * scale)
    sheet.rect(
        centre - plate.side_mm * scale / 2.0,
        plan - plate.side_mm * scale / 2.0,
        plate.side_mm * scale,
        plate.side_mm * scale,
    )
    sheet.circle(centre, plan, rods.circle_mm * scale / 2.0, style="D")
    sheet.circle(centre, plan, trunk * scale / 2.0, style="D")
    circle, deep = format_length(rods.circle_mm, units), format_length(rods.embedment_mm, units)
    thick = format_length(plate.thickness_mm, units)
    stands = "buried" if in_ground else "standing on the ground as ballast"
    soil = f"{foot.pressure_mpa * 1000.0:.0f} of {assessment.conditions.soil_bearing * 1000.0:.0f} kPa"
    concrete = assessment.conditions.concrete
    bears = foot_lug(assessment)
    wide_lug, deep_lug, thick_lug = (
        format_length(size, units) for size in (bears.width_mm, bears.depth_mm, bears.thickness_mm)
    )
    lug = f"{wide_lug} wide, {deep_lug} deep, {thick_lug} thick"
    lines = (
        f"{rods.count} anchors of {format_length(rods.diameter_mm, units)}, ASTM F1554 grade 36 or as strong, on a",
        f"circle of {circle}, {deep} into the concrete; plate {format_length(plate.side_mm, units)} square, {thick}",
        f"thick, on drained grout; concrete {concrete:g} MPa, {stands}; the soil is pressed with {soil};",
        f"what resists over what drives: {foot.safety:.2f} in tipping, {foot.sliding:.2f} in sliding.",
        f"A lug that takes the shear off the anchors, if wanted: two plates crossed, {lug}.",
        "Section left, plan right, to one scale. Reinforcement, frost, drainage, what lies below: the engineer's.",
    )
    for number, text in enumerate(lines):
        sheet.fitted(left, top + high - 41.5 + 5.5 * number, text, 9.0, wide)
