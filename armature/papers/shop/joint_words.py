"""How a joint is told on paper: the weld and its size, the strap of a collar, the tenon of a rivet."""

from __future__ import annotations

from armature.shop import ShopPlan, collar_length, collar_thickness
from armature.units import System, format_length

LEAST_ONLY = "Fillets are the least of the table: strength was not worked out. An engineer sizes the welds."


def weld_words(plan: ShopPlan, row: int, unit: System) -> str:
    """Return the weld of a member in as few words as the welder needs."""
    if plan.welds.grooves[row]:
        return "full groove"
    return f"{format_length(float(plan.welds.legs[row]), unit, fine=True)} fillet"


def joint_lines(plan: ShopPlan, row: int, unit: System) -> tuple[str, ...]:
    """Return what makes the joint of a member, in one or two short lines for its card."""
    kind = str(plan.kinds[row])
    bar, host = float(plan.tree.start_diameters[row]), float(plan.joints.parent_diameters[row])
    if kind in ("weld", "base"):
        if plan.welds.grooves[row]:
            return "groove weld,", "full penetration"
        return f"{weld_words(plan, row, unit)} weld", "all round" if plan.welds.known else "at least"
    if kind == "collar":
        strap = collar_thickness(bar)
        return (
            f"collar, {format_length(strap, unit, fine=True)} strap",
            f"{format_length(collar_length(bar, host, strap), unit)} of it",
        )
    return (f"rivet, {format_length(bar / 2.0, unit, fine=True)} tenon",) if kind == "rivet" else (kind,)
