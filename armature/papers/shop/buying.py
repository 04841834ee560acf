"""Steel to buy, size by size: what is bought, used, kept and wasted, and where an order sawn to length saves."""

from __future__ import annotations

from armature.edge import System, format_length, format_mass
from armature.papers import GREY, INK, PAGES, PALE, Sheet
from armature.papers.shop.words import size_text
from armature.shop import ShopPlan, SizePlan

_EDGE = 14.0
_HEADS = (
    ("SIZE", 0.0),
    ("BUY", 34.0),
    ("BOUGHT", 78.0),
    ("USED", 98.0),
    ("KEPT", 118.0),
    ("WASTED", 138.0),
    ("IF SAWN, LESS", 160.0),
)


def draw_buying(sheet: Sheet, plan: ShopPlan) -> None:
    """Draw the page of what to buy: bars by size, then the base plate with its anchors."""
    unit: System = plan.commission.units
    width, height = PAGES[plan.page]
    y = height
    for row in (*(_cells(size, unit) for size in plan.bars.sizes), _sums(plan, unit)):
        if y + 8.0 > height - _EDGE:
            y = _open(sheet, plan, width)
        y += 7.0
        sheet.ink(INK)
        for text, (_, x) in zip(row, _HEADS, strict=True):
            sheet.fraction(_EDGE + x, y, text, 11, bold=row[0] == "in all")
        sheet.rule(_EDGE, y + 1.8, width - 2.0 * _EDGE, 0.12, PALE)
    for text in _told(plan, unit):
        for line in sheet.wrapped(text, 11.0, width - 2.0 * _EDGE, "    "):
            if y + 8.0 > height - _EDGE:
                y = _open(sheet, plan, width)
            y += 6.0
            sheet.ink(INK)
            sheet.fraction(_EDGE, y + 2.0, line, 11)


def _open(sheet: Sheet, plan: ShopPlan, width: float) -> float:
    sheet.add_page()
    sheet.ink(INK)
    sheet.words(_EDGE, 22.0, f"Steel to buy: {plan.commission.steel.grade}", 26, bold=True)
    sheet.ink(GREY)
    sheet.fitted(width - _EDGE - 90.0, 14.0, plan.title, 10, 90.0, align="R")
    for name, x in _HEADS:
        sheet.words(_EDGE + x, 30.0, name, 9)
    sheet.rule(_EDGE, 32.0, width - 2.0 * _EDGE, 0.6)
    return 32.0


def _cells(size: SizePlan, unit: System) -> tuple[str, ...]:
    name = size_text(size.diameter_mm, size.wall_mm, unit)
    count = size.bought + size.spare
    long = f"of {format_length(size.length_mm, unit, feet=True)}" if size.length_mm else "sawn to length"
    saved = _saved(size)
    masses = (size.mass_kg, size.used_kg, size.kept_kg, size.wasted_kg)
    return (name, f"{count} {long}", *(_mass(kg, unit) for kg in masses), _mass(saved, unit) if saved > 0.0 else "")


def _mass(kg: float, unit: System) -> str:
    return format_mass(kg, unit) if kg >= 0.005 else "0"


def _saved(size: SizePlan) -> float:
    """Return what of a size need not be bought where the dealer saws each piece to its length, kg."""
    return size.mass_kg - size.used_kg if size.length_mm and size.bought else 0.0


def _sums(plan: ShopPlan, unit: System) -> tuple[str, ...]:
    sizes = plan.bars.sizes
    sums = (
        sum(size.mass_kg for size in sizes),
        sum(size.used_kg for size in sizes),
        sum(size.kept_kg for size in sizes),
        sum(size.wasted_kg for size in sizes),
        sum(_saved(size) for size in sizes),
    )
    return ("in all", "", *(_mass(kg, unit) for kg in sums))


def _told(plan: ShopPlan, unit: System) -> list[str]:
    told = []
    sold = [size for size in plan.bars.sizes if _saved(size) > 0.0]
    best = sorted(sold, key=lambda size: (-round(_saved(size), 6), size.diameter_mm))
    if best:
        named = "; ".join(
            f"{size_text(size.diameter_mm, size.wall_mm, unit)}, {format_mass(_saved(size), unit)}" for size in best[:3]
        )
        told.append(f"An order sawn to length saves most of: {named}. [[shop.buying.sizes]] says how a size is sold.")
    base = plan.base
    side, thick = (format_length(mm, unit) for mm in (base.plate.side_mm, base.plate.thickness_mm))
    if not base.plate.thickness_mm:
        told.append(f"Base plate {side} square: an engineer says how thick, and its anchors.")
        return told
    grade, mass = plan.commission.steel.grade, format_mass(base.mass_kg, unit)
    told.append(f"Base plate {side} square, {thick} thick, {grade}: {mass}.")
    if base.rods is not None:
        count, rod = base.rods.count, format_length(base.rods.diameter_mm, unit)
        washer = format_length(base.washer_mm, unit)
        told.append(
            f"Anchors: {count} rods of {rod}, to the engineer's depth and {format_length(base.stands_mm, unit)} more; "
            f"{3 * count} nuts; {2 * count} plate washers, {washer} thick, of them {count} welded to the plate."
        )
    bolts = [joint.bolts for joint in plan.site_joints if joint is not None and joint.bolts]
    if bolts:
        told.append(f"Bolts of {len(bolts)} flange joint(s), {sum(bolts)} in all: sizes are on the cards.")
    return told
