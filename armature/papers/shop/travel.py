"""What cards and station sheets say of sections: where a member travels, what is welded on site, where it is sawn."""

from __future__ import annotations

from dataclasses import dataclass

from armature.edge import System, format_length
from armature.papers.shop.words import bolt_text, joint_text
from armature.shop import ShopPlan, SiteJoint

UNDESIGNED = "engineer to design"


@dataclass(frozen=True)
class SawCut:
    """A cut through a member for transport: its station, mm, the sections before and beyond it, and its joint."""

    station_mm: float
    before: int
    section: int
    joint: SiteJoint


def saw_cuts(plan: ShopPlan, row: int) -> list[SawCut]:
    """Return the cuts through a member, from its start on; sections count from 1."""
    saw_cuts_of = []
    for number, section in enumerate(plan.sections.sections, start=1):
        splice, joint = section.splice, plan.site_joints[number - 1]
        if splice is not None and joint is not None and splice.row == row and not splice.at_joint:
            saw_cuts_of.append(SawCut(splice.station_mm, section.parent + 1, number, joint))
    return sorted(saw_cuts_of, key=lambda cut: cut.station_mm)


def travel_words(plan: ShopPlan, row: int) -> str:
    """Return how a member travels, in a few words; nothing where the tree travels whole."""
    if len(plan.sections.sections) == 1:
        return ""
    names = [f"S{plan.sections.of_member[row] + 1}", *(f"S{cut.section}" for cut in saw_cuts(plan, row))]
    joined = names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
    return f"travels in {joined}{', welded on site' if plan.on_site[row] else ''}"


def cut_text(cut: SawCut, unit: System) -> str:
    """Return where a member is sawn for transport and how it is joined again."""
    at = format_length(cut.station_mm, unit)
    return (
        f"sawn {at} from the start into S{cut.before} and S{cut.section}: {joint_text(cut.joint, unit)}; {UNDESIGNED}"
    )


def cut_columns(cut: SawCut, unit: System) -> tuple[str, str, str, str]:
    """Return the same for a station sheet: where, what, its bore, who designs it."""
    joint = cut.joint

    def of(mm: float) -> str:
        return format_length(mm, unit)

    at = of(cut.station_mm)
    if joint.kind == "flange":
        return at, f"flanges {of(joint.outside_mm)}", f"{joint.bolts} x {bolt_text(joint, unit)}", UNDESIGNED
    if joint.kind == "spigot":
        return at, f"spigot {of(joint.length_mm)}", f"{of(joint.outside_mm)} outside", UNDESIGNED
    return at, f"sleeve {of(joint.length_mm)}", f"bore {of(joint.bore_mm)}", UNDESIGNED
