"""What a plan cannot meet, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from armature.edge import System, exact_length, format_length
from armature.shop.bars import BarPlan
from armature.shop.bending import BendFault, Forge, bend_faults
from armature.shop.cutting import SolidEnds
from armature.shop.hooks import Lift
from armature.shop.preparing import ACUTE, HEEL_OPEN, NO_REACH, Preparations
from armature.shop.sections import SectionPlan
from armature.tree import Tree

if TYPE_CHECKING:
    from armature.commission import Commission


def forge_faults(tree: Tree, forge: Forge, units: System) -> list[str]:
    """Return the bends that break a limit of the forge, a line each."""
    return [_forge_fault(fault, units) for fault in bend_faults(tree, forge)]


def _forge_fault(fault: BendFault, units: System) -> str:
    def told(value: float) -> str:
        if fault.kind == "length":
            return format_length(value, units, fine=True)
        return f"{value:.1f}°" if fault.kind == "angle" else f"{value:.0f}"

    where = f"{fault.tag}, bend {fault.bend}" if fault.bend else fault.tag
    limit = f" of {told(fault.limit)}" if fault.limit else ""
    bar = f", {told(fault.bar_mm)} thick" if fault.bar_mm else ""
    return f"{where}: {fault.rule}, {told(fault.value)}{limit}{bar}"


def weld_faults(tree: Tree, ends: Preparations) -> list[str]:
    """Return the joints at which strength asks for a groove that cannot be made well, kind by kind."""
    told = []
    for way, why in (
        (HEEL_OPEN, f"a heel under {ACUTE:.0f} deg cannot be filled"),
        (NO_REACH, "a torch does not get round"),
    ):
        tags = tree.tags[ends.ways == way].tolist()
        if tags:
            some = f"{', '.join(tags[:6])}{f' and {len(tags) - 6} more' if len(tags) > 6 else ''}"
            told.append(
                f"strength asks for full penetration where {why}: {some}; an engineer decides how they are made"
            )
    return told


def bar_faults(tree: Tree, commission: Commission, bars: BarPlan, ends: SolidEnds) -> list[str]:
    """Return what cannot be bought or drawn: pieces too long, solid ends too thick, sizes that are not listed."""
    units = commission.units
    told = [
        f"{tag} needs {format_length(length, units)} in one piece: add a longer shop.buying.lengths"
        for tag, length in bars.too_long
    ]
    told += [
        f"{tree.tags[row]}: no bar on hand is as thick as its solid end, {format_length(thick, units)}: "
        "it has to be upset, or add one"
        for row, thick, bar in zip(ends.rows.tolist(), ends.diameters.tolist(), ends.bars.tolist(), strict=True)
        if bar < thick - 1e-6
    ]
    steel = commission.steel
    usual = {float(bar) for bar in steel.bars} | {float(pipe.outside) for pipe in steel.pipes}
    sizes = set(tree.stock_diameters.tolist())
    missing = sorted(size for size in sizes if not any(abs(size - bar) < 0.05 for bar in usual))
    unlisted = "is in the tree but not in steel.bars: add it or size the tree anew"
    return [*told, *(f"bar of {exact_length(size, units)} {unlisted}" for size in missing)]


def site_faults(sections: SectionPlan, lifts: tuple[Lift, ...]) -> list[str]:
    """Return what truck and hook cannot do."""
    told = [f"transport: {fault}" for fault in sections.faults]
    return told + [f"lifting: section S{n} {each.fault}" for n, each in enumerate(lifts, start=1) if each.fault]
