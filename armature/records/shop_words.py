"""Forces, moments, speeds and site joints as the shop reads them, SI beside where the shop works in inches."""

from __future__ import annotations

from armature.records.shop_sheet import pull, side_text, turning
from armature.shop.splices import SiteJoint
from armature.units import System, format_length

_MPH = 0.44704


def force_text(kn: float, unit: System) -> str:
    """Return a force: pounds with kN beside, or kN; small ones in N.

    >>> force_text(1.0, "inch"), force_text(0.25, "mm"), force_text(2.5, "mm")
    ('225 lbf (1.00 kN)', '250 N', '2.50 kN')
    """
    metric = f"{kn:.2f} kN" if kn >= 1.0 else f"{kn * 1000.0:.0f} N"
    return f"{pull(kn, unit)} ({kn:.2f} kN)" if unit == "inch" else metric


def moment_text(kn_m: float, unit: System) -> str:
    """Return a moment: foot pounds with kN m beside, or kN m.

    >>> moment_text(0.28, "inch"), moment_text(0.28, "mm")
    ('207 ft-lbf (0.28 kN m)', '0.28 kN m')
    """
    metric = turning(kn_m, "mm")
    return f"{turning(kn_m, 'inch')} ({metric})" if unit == "inch" else metric


def wind_text(m_s: float, unit: System) -> str:
    """Return a wind speed, rounded down.

    >>> wind_text(10.0, "inch"), wind_text(10.0, "mm")
    ('22 mph', '10 m/s')
    """
    return f"{int(m_s / _MPH + 1e-9)} mph" if unit == "inch" else f"{int(m_s + 1e-9)} m/s"


def box_text(sides: tuple[float, ...], unit: System) -> str:
    """Return the sides of a box, longest first as given."""
    return " x ".join(side_text(float(side), unit) for side in sides)


def joint_text(joint: SiteJoint, unit: System) -> str:
    """Return how a site joint is made, in words."""

    def of(mm: float) -> str:
        return format_length(mm, unit)

    if joint.kind == "weld":
        return "bar whole, saddle as on its card, tacked to its marks, welded all round on site"
    if joint.kind == "flange":
        return (
            f"flanges of {of(joint.outside_mm)}, {of(joint.length_mm)} thick, {joint.bolts} bolts "
            f"M{joint.bolt_mm:.0f} class 8.8 on a circle of {of(joint.bolt_circle_mm)}, welded to both ends"
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
