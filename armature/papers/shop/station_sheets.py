"""stations.pdf: sheets that a helper can work from without asking: what, how many, what good looks like, tick boxes."""

from __future__ import annotations

from armature.edge import System, format_length, format_mass
from armature.papers import ACCENT, GREY, INK, PAGES, PALE, Sheet
from armature.papers.shop.batches import batches
from armature.papers.shop.joint_words import LEAST_ONLY
from armature.papers.shop.words import size_text
from armature.papers.shop.work import (
    Group,
    bend_groups,
    draw_groups,
    hang_groups,
    on_site_groups,
    pipes_groups,
    stamp_groups,
    weld_groups,
)
from armature.shop import ShopPlan

_EDGE = 12.0
_GOOD = {
    "SAW": "Square ends, burrs off, the tag chalked on at once. Measure twice: the cut holds scale and heel.",
    "DRAW": "Whole bar down first where the card says so. Round, straight, no cold shuts. Caliper along the taper.",
    "PUNCH AND BEND": "Work from the card. Punch chalk line and marks first. Bends as true as the card asks, no twist.",
    "WELD": "Clean to bright steel. Tack, tapes and plumb line as on its card, turn it until they read so, weld out.",
    "STAMP": "Letters upright, one line, even depth. Read the name from the list aloud before the first blow.",
    "HANG": "Loop closed, swings free, touches nothing. A name has its tag and loop. On the scaffold: hanging.pdf.",
}


def stations(plan: ShopPlan) -> bytes:
    """Return the PDF of station sheets: saw, draw, punch and bend, weld, stamp, hang."""
    names = plan.tree.leaves.names.tolist()
    sheet = Sheet(plan.page, f"{plan.title}: stations", [plan.title, *names])
    unit: System = "inch" if plan.paper.unit == "inch" else "mm"
    own = batches(plan)
    _saw(sheet, plan, unit)
    _sheet(
        sheet,
        plan,
        "DRAW",
        ("bar down to", "taper from", "tip", "DRAW TO"),
        [*draw_groups(plan, own, unit), *pipes_groups(plan, unit)],
    )
    _sheet(
        sheet,
        plan,
        "PUNCH AND BEND",
        ("bar", "bends", "welded on", "marks to punch"),
        list(bend_groups(plan, own, unit)),
    )
    _sheet(
        sheet,
        plan,
        "WELD",
        ("at", "joint", "torch reaches", "before"),
        [*weld_groups(plan, unit), *on_site_groups(plan, unit)],
    )
    if any(names):
        _sheet(sheet, plan, "STAMP", ("name", "design"), list(stamp_groups(plan)))
    if names:
        _sheet(sheet, plan, "HANG", ("from twig's start", "clock", "design", "name"), list(hang_groups(plan, unit)))
    return sheet.printed()


def _open(sheet: Sheet, plan: ShopPlan, station: str, names: tuple[str, ...], lanes: tuple[float, ...]) -> float:
    sheet.add_page()
    width = PAGES[plan.page][0]
    sheet.ink(INK)
    sheet.words(_EDGE, 22.0, station, 34, bold=True)
    sheet.ink(GREY)
    sheet.words(width - _EDGE, 14.0, plan.title, 10, align="R")
    sheet.words(width - _EDGE, 21.0, f"sheet {sheet.page}", 10, align="R")
    sheet.ink(ACCENT)
    sheet.words(_EDGE, 30.0, "Good:", 11, bold=True)
    sheet.ink(INK)
    good = _GOOD[station] if station != "WELD" or plan.welds.known else f"{LEAST_ONLY} {_GOOD[station]}"
    told = sheet.wrapped(good, 9.5, width - 2.0 * _EDGE - 13.0)
    if len(told) == 1:
        sheet.fitted(_EDGE + 13.0, 30.0, good, 11, width - 2.0 * _EDGE - 13.0)
    else:
        for number, line in enumerate(reversed(told)):
            sheet.words(_EDGE + 13.0, 31.8 - 3.9 * number, line, 9.5)
    sheet.rule(_EDGE, 33.0, width - 2.0 * _EDGE, 0.6)
    sheet.ink(GREY)
    for name, lane in zip(names, lanes, strict=False):
        sheet.words(lane, 38.0, name, 11)
    return 40.0


def _sheet(sheet: Sheet, plan: ShopPlan, station: str, names: tuple[str, ...], groups: list[Group]) -> None:
    width, height = PAGES[plan.page]
    first = _EDGE + 52.0
    step = (width - _EDGE - first) / len(names)
    lanes = tuple(first + number * step for number in range(len(names)))
    y = height
    for group in groups:
        if y + 22.0 > height - _EDGE:
            y = _open(sheet, plan, station, names, lanes)
        y = _group_head(sheet, group.heading, y, width)
        for item in group.items:
            if y + 8.0 > height - _EDGE:
                y = _open(sheet, plan, station, names, lanes)
                y = _group_head(sheet, f"{group.heading}, continued", y, width)
            y += 8.0
            sheet.tick(_EDGE, y - 5.2, 5.2, 0.4)
            sheet.ink(INK)
            sheet.words(_EDGE + 9.0, y - 0.8, item.large, 16, bold=True)
            for text, lane in zip(item.columns, lanes, strict=True):
                _cell(sheet, lane, y - 0.8, text, step - 2.0)
            sheet.rule(_EDGE, y + 1.0, width - 2.0 * _EDGE, 0.12, PALE)


def _cell(sheet: Sheet, x: float, y: float, text: str, width: float) -> None:
    sheet.ink(INK)
    sheet.fraction(x, y, text, 14.0, room=width)


def _group_head(sheet: Sheet, heading: str, y: float, width: float) -> float:
    sheet.set_fill_color(*PALE)
    sheet.rect(_EDGE, y + 2.0, width - 2.0 * _EDGE, 7.0, style="F")
    sheet.ink(INK)
    sheet.fitted(_EDGE + 2.0, y + 7.0, heading, 12, width - 2.0 * _EDGE - 4.0, bold=True)
    return y + 9.5


def _saw(sheet: Sheet, plan: ShopPlan, unit: System) -> None:
    """Every bar drawn to scale with its cuts, under what to buy of each size."""
    width, height = PAGES[plan.page]
    y = height
    size = None
    for number, bar in enumerate(plan.bars.bars, start=1):
        pieces = list(zip(bar.tags, bar.pieces_mm, strict=True))
        lines = -(-len(pieces) // 4)
        need = 14.0 + 6.2 * lines
        if y + need + 12.0 > height - _EDGE:
            y = _open(sheet, plan, "SAW", (), ())
            size = None
        if (bar.diameter_mm, bar.wall_mm) != size:
            size = (bar.diameter_mm, bar.wall_mm)
            own = next(each for each in plan.bars.sizes if (each.diameter_mm, each.wall_mm) == size)
            name = f"{size_text(bar.diameter_mm, bar.wall_mm, unit)} {'pipe' if bar.wall_mm else 'bar'}"
            long = format_length(own.length_mm, unit, feet=True) if own.length_mm else "pieces sawn to length"
            bought, used = format_mass(own.mass_kg, unit), format_mass(own.used_kg, unit)
            y = _group_head(sheet, f"{name}: buy {own.bought} of {long}, {bought}; {used} used", y, width)
        y = _bar(sheet, number, bar.length_mm, bar.bought, pieces, bar.rest_mm, bar.keep, y + 2.0, width, unit)


def _bar(
    sheet: Sheet,
    number: int,
    length: float,
    bought: bool,
    pieces: list[tuple[str, float]],
    rest: float,
    keep: bool,
    y: float,
    width: float,
    unit: System,
) -> float:
    room = width - 2.0 * _EDGE - 14.0
    sheet.ink(INK)
    sheet.words(_EDGE, y + 5.5, str(number), 14, bold=True)
    at = _EDGE + 14.0
    for _, piece in pieces:
        sheet.ink(INK, 0.3)
        sheet.rect(at, y + 1.5, piece / length * room, 4.5)
        at += piece / length * room
    if rest > 0.0:
        sheet.set_fill_color(*PALE)
        sheet.rect(at, y + 1.5, max(_EDGE + 14.0 + room - at, 0.2), 4.5, style="DF")
    y += 6.0
    for place, (tag, piece) in enumerate(pieces):
        x = _EDGE + 14.0 + place % 4 * room / 4.0
        if place % 4 == 0:
            y += 6.2
        sheet.tick(x, y - 4.0, 4.0, 0.3)
        sheet.ink(INK)
        shift = sheet.length(x + 5.5, y - 0.4, piece, unit, 12, bold=True)
        sheet.fitted(x + 7.5 + shift, y - 0.4, tag, 12, room / 4.0 - shift - 9.0)
    sheet.ink(GREY)
    left = f"rest {format_length(rest, unit)}, {'keep' if keep else 'scrap'}" if rest >= 1.0 else "no rest"
    sheet.fraction(width - _EDGE, y + 4.6, left if bought else f"from the rack; {left}", 9, align="R")
    return y + 6.0
