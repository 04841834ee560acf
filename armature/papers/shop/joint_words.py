"""How a joint is told on paper: preparation, gap, process, size, reach; the strap of a collar, the tenon of a rivet."""

from __future__ import annotations

from armature.edge import System, format_heat, format_length
from armature.metals import grade
from armature.shop import (
    BEVEL,
    FILLET,
    GAP,
    HEEL_OPEN,
    LAND,
    NO_REACH,
    POINT,
    ROOT,
    TOE,
    ShopPlan,
    collar_length,
    collar_thickness,
)
from armature.tree import HEEL_LOSS

LEAST_ONLY = "Fillets are the least of the table: strength was not worked out. An engineer sizes the welds."
# Under this lean the heel of a fillet has no sound root: it is filled, and counted for nothing.
_SHARP = 60.0


def weld_words(plan: ShopPlan, row: int, unit: System) -> str:
    """Return the weld of a member in as few words as the welder needs."""
    if plan.welds.grooves[row]:
        return {POINT: "point, full", TOE: "groove, from toe"}.get(int(plan.preparations.ways[row]), "full groove")
    return f"{format_length(float(plan.welds.legs[row]), unit, fine=True)} fillet"


def joint_lines(plan: ShopPlan, row: int, unit: System) -> tuple[str, ...]:
    """Return what makes the joint of a member, in up to three lines for its card."""
    kind = str(plan.kinds[row])
    bar, parent = float(plan.tree.start_diameters[row]), float(plan.joints.parent_diameters[row])
    if kind in ("weld", "base"):
        return _welded(plan, row, unit)
    if kind == "collar":
        strap = collar_thickness(bar)
        long = format_length(collar_length(bar, parent, strap), unit)
        return (
            f"collar, {format_length(strap, unit, fine=True)} strap, {long} of it",
            "hot, closed on the bars with the hammer, its scarf on the far side",
        )
    if kind == "rivet":
        return (f"rivet: {format_length(bar / 2.0, unit, fine=True)} tenon through the parent, headed hot",)
    return (f"{kind}: scarf upset, welded in the fire with flux; no gap",)


def _welded(plan: ShopPlan, row: int, unit: System) -> tuple[str, ...]:
    gap, land, root = (format_length(each, unit, fine=True) for each in (GAP, LAND, ROOT))
    way, size = int(plan.preparations.ways[row]), format_length(float(plan.welds.legs[row]), unit, fine=True)
    heel = float(plan.heel_marks[row])
    saddle = "end square to the plate" if plan.tree.parents[row] < 0 else "saddle ground to the wrap"
    if heel and plan.tree.parents[row] >= 0:
        saddle += f", heel {format_length(heel, unit)} behind START"
    if plan.tree.parents[row] >= 0 and min(lean := float(plan.joints.leans[row]), 180.0 - lean) < _SHARP:
        saddle += ", filled as far as it opens"
    known = "all round" if plan.welds.known else "all round at least"
    if not plan.welds.known and plan.tree.parents[row] < 0:
        return ("an engineer sizes the weld to the base plate", "strength was not worked out", _heat(plan, row, unit))
    full = "full penetration: as strong as the bar"
    most = format_length(HEEL_LOSS, unit, fine=True)
    words = {
        FILLET: (f"{size} fillet weld, {known}", f"{saddle}; gap under {gap}, more gap adds to the leg"),
        POINT: (f"groove weld, {full}", "grind the end to a point, 45° all round; weld through, build up past flush"),
        BEVEL: (
            f"groove weld, {full}",
            f"bevel 45° all round to a {land} land; gap {root}; grind the root, look for cracks",
        ),
        HEEL_OPEN: (
            f"groove weld, {full} ASKED",
            "its heel is too acute to fill: an engineer says how, before it is tacked",
        ),
        NO_REACH: (f"groove weld, {full} ASKED", "no torch gets round it: weld it earlier or ask the engineer"),
        TOE: (
            "groove weld from toe and sides, through to the heel's edge: enough by the strength report",
            f"bevel 45°, heel's edge sharp; a trial joint, sawn lengthwise, open {most} at most there; seal the heel",
        ),
    }[way]
    return (words[0], words[1], _heat(plan, row, unit))


def _heat(plan: ShopPlan, row: int, unit: System) -> str:
    heat, weld = float(plan.preparations.preheats[row]), plan.welding
    reached = int((weld.late if plan.on_site[row] else weld.reached)[row])
    warm = f"no preheat over {format_heat(0.0, unit)}" if heat <= 0.0 else f"preheat {format_heat(heat, unit)}"
    reach = f"torch reaches {reached} of 8 sides" if plan.tree.parents[row] >= 0 else "all round"
    steel = grade(plan.commission.steel.grade)
    rods = f"{steel.stick} alone" if plan.preparations.ways[row] == TOE else f"{steel.stick} or {steel.wire}"
    return f"{rods}; {warm}; {reach}"
