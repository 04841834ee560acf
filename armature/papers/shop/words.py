"""Boxes, bars, angles and site joints in words."""

from __future__ import annotations

from math import inf

from armature.edge import System, format_length, format_side
from armature.shop import SiteJoint
from armature.tree import Tree


def box_text(sides: tuple[float, ...], unit: System) -> str:
    """Return the sides of a box, longest first as given."""
    return " x ".join(format_side(float(side), unit) for side in sides)


def joint_text(joint: SiteJoint, unit: System) -> str:
    """Return how a site joint is made, in words."""

    def of(mm: float) -> str:
        return format_length(mm, unit)

    if joint.kind == "weld":
        return "bar whole, saddle as on its card, tacked to its marks, welded all round on site"
    if joint.kind == "flange":
        return (
            f"flanges of {of(joint.outside_mm)}, {of(joint.length_mm)} thick, {joint.bolts} bolts "
            f"{bolt_text(joint, unit)} in holes of {_fine(bolt_hole(joint.bolt_mm, unit), unit)} on a circle of "
            f"{of(joint.bolt_circle_mm)}, welded on"
            f"{why_flanged(joint, unit)}"
        )
    if joint.kind == "spigot":
        return (
            f"spigot {of(joint.length_mm)} long, {of(joint.outside_mm)} outside, half in each pipe, plug-welded below; "
            "ends bevelled 30° each, butt-welded on it on site"
        )
    return (
        f"sleeve {of(joint.length_mm)} long, bore {of(joint.bore_mm)}, outside {of(joint.outside_mm)}, half on each; "
        "plug welds in the lower half, fillet round both ends on site"
    )


def bolt_text(joint: SiteJoint, unit: System) -> str:
    """Return the size and grade of the bolts of a site joint."""
    return f"{_fine(joint.bolt_mm, unit)} A325" if unit == "inch" else f"M{joint.bolt_mm:.0f} class 8.8"


def bolt_hole(bolt_mm: float, unit: System) -> float:
    """Return the hole for a bolt, mm: AISC 360-16 table J3.3 or EN 1090-2 table 11, both from memory.

    >>> bolt_hole(12.7, "inch") / 25.4, bolt_hole(25.4, "inch") / 25.4, bolt_hole(12.0, "mm"), bolt_hole(20.0, "mm")
    (0.5625, 1.125, 13.0, 22.0)
    """
    if unit == "inch":
        return bolt_mm + (25.4 / 16.0 if bolt_mm < 25.0 else 25.4 / 8.0)
    return bolt_mm + next(room for most, room in ((14.0, 1.0), (24.0, 2.0), (inf, 3.0)) if bolt_mm <= most)


def why_flanged(joint: SiteJoint, unit: System) -> str:
    """Return why flanges stand in for a sleeve or spigot, to follow their words; nothing where they were asked for."""
    under = joint.not_seated
    if under is None:
        return ""
    name, reasons = "pipe" if joint.bore_of_bar_mm else "bar", []
    if under.is_bent:
        reasons.append(f"{_fine(under.rise_mm, unit)} off straight")
    if under.is_drawn:
        reasons.append(f"{'drawn in' if joint.bore_of_bar_mm else 'tapered'} {_fine(under.change_mm, unit)}")
    return f" (no {joint.asked} of {format_length(under.length_mm, unit)}: {name} there {', '.join(reasons)})"


def bar_text(tree: Tree, row: int, station_mm: float, unit: System) -> str:
    """Return what a member is at a station, "bar 70 mm" or "pipe 114.3 x 10 mm": of pipe its exact size as bought."""
    across, wall = float(tree.diameters_at([row], [station_mm])[0]), float(tree.walls[row])
    if not wall:
        return f"bar {_fine(across, unit)}"
    stock = float(tree.stock_diameters[row])
    bought = f"pipe {size_text(stock, wall, unit)}"
    return bought if across > stock - 0.05 else f"{bought.removesuffix(' mm')}, here {_fine(across, unit)}"


def _fine(mm: float, unit: System) -> str:
    return format_length(mm, unit, fine=True)


def size_text(mm: float, wall_mm: float, unit: System) -> str:
    """Return bar or pipe as it is bought; a size that the shop's fine step does not hold is told in mm, exactly.

    >>> size_text(25.4, 0.0, "inch"), size_text(114.3, 10.0, "mm"), size_text(1.9, 0.0, "inch")
    ('1"', '114.3 x 10 mm', '1.9 mm')
    """
    if wall_mm:
        return f"{size_text(mm, 0.0, unit).removesuffix(' mm')} x {size_text(wall_mm, 0.0, unit)}"
    step = 25.4 / 32.0 if unit == "inch" else 0.5
    if abs(mm / step - round(mm / step)) < 0.01:
        return format_length(mm, unit, fine=True)
    return f"{round(mm, 2):g} mm"


def hand(angle: float) -> str:
    """Return an angle as the shop says it: R clockwise looking toward the tip, L the other way.

    >>> hand(35.2), hand(-12.0), hand(0.2), hand(180.0)
    ('R 35°', 'L 12°', '0°', '180°')
    """
    whole = round(abs(angle))
    if whole in (0, 180):
        return f"{whole}°"
    return f"{'R' if angle > 0 else 'L'} {whole}°"
