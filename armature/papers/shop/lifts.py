"""The lifting cards of erection.pdf: each section on its slings, three to a page, with hooks, forces and its joint."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from armature.edge import System, format_force, format_length, format_mass, format_moment
from armature.papers import ACCENT, GREY, INK, PALE, Point, Sheet
from armature.papers.shop.card_drawings import colour_of
from armature.papers.shop.words import box_text, joint_text
from armature.shop import DYNAMIC, Hook, Lift, Section, ShopPlan, Slices
from armature.tree import Floats

EDGE = 14.0
_HEAD, _FOOT = 32.0, 33.0
_A_PAGE = 3
_DRAWN = 58.0
_TYPE = 10.5
_NOTES = (
    f"Forces are those of a still load; bars are checked for {DYNAMIC:.0f} times as much, and lugs designed for it.",
    "No joint between sections is checked here for strength: the engineer checks every one before it is made.",
    "Bars that are hooked on are welded in full first; their welds are not checked here for the lift.",
    "Legs of these lengths bring the hook over the balance: lift a hand's breadth, look, set down to mend a leg.",
    "A design aid: a rigger plans the lift, an engineer designs lugs and joints. Nobody stands or walks below.",
)


def lift_cards(sheet: Sheet, plan: ShopPlan, unit: System) -> None:
    """Draw the cards of all sections, in order of erection."""
    width, height = sheet.page_size
    tall = (height - _HEAD - _FOOT - 4.0) / _A_PAGE
    for number, stage in enumerate(plan.stages):
        if number % _A_PAGE == 0:
            _page(sheet, width, height)
        _card(sheet, plan, stage.section, _HEAD + number % _A_PAGE * tall, tall, unit)


def drawn_bars(sheet: Sheet, slices: Slices, number: int, scale: float, place: Callable[[Floats], Point]) -> None:
    """Draw the bars of a section in its colour."""
    starts = np.flatnonzero(np.append(True, np.diff(slices.members) != 0))
    for first, last in zip(starts.tolist(), [*starts[1:].tolist(), len(slices.members)], strict=True):
        if last - first > 1:
            line = [place(point) for point in slices.points[first:last]]
            sheet.path(line, max(2.0 * float(slices.radii[first]) * scale, 0.12), colour_of(number))


def _page(sheet: Sheet, width: float, height: float) -> None:
    sheet.add_page()
    sheet.ink(INK)
    sheet.words(EDGE, 22.0, "Hooking on", 24, bold=True)
    sheet.rule(EDGE, 28.0, width - 2.0 * EDGE, 0.6)
    sheet.ink(GREY)
    for line, text in enumerate(_NOTES):
        sheet.fitted(EDGE, height - _FOOT + 4.0 + 5.3 * line, text, 10.5, width - 2.0 * EDGE)


def _card(sheet: Sheet, plan: ShopPlan, number: int, y: float, tall: float, unit: System) -> None:
    section, lift = plan.sections.sections[number], plan.lifts[number]
    width = sheet.page_size[0]
    _picture(sheet, section, lift, number, y + 2.0, tall - 6.0)
    x, right = EDGE + _DRAWN + 4.0, width - EDGE
    sheet.ink(INK)
    head = sheet.words(x, y + 5.0, f"S{number + 1}", 16, bold=True)
    sheet.words(x + head + 3.0, y + 5.0, format_mass(section.mass, unit), 13, bold=True)
    sheet.words(right, y + 5.0, _manner(lift), 11, align="R")
    lines = [
        (line, strong)
        for text, strong in _lines(plan, section, lift, number, unit)
        for line in sheet.wrapped(text, _TYPE, right - x, "    ")
    ]
    pitch = min(5.2, (tall - 14.0) / max(len(lines) - 1, 1))
    for row, (line, strong) in enumerate(lines):
        sheet.ink(ACCENT if strong else INK)
        sheet.fraction(x, y + 10.5 + row * pitch, line, _TYPE)
    sheet.rule(EDGE, y + tall - 2.0, width - 2.0 * EDGE, 0.15, PALE)


def _manner(lift: Lift) -> str:
    words = {
        "upright": "hangs as it will stand",
        "leaning": "hangs leaning: made plumb by hand",
        "tripod": "three legs, none may go slack",
        "on its side": "hangs on its side: turned in the air",
    }
    if not lift.hooks:
        return "no hooks"
    out = f", {lift.tilt_deg:.0f}° out of plumb" if lift.tilt_deg >= 0.5 else ""
    return words[lift.manner] + out


def _lines(plan: ShopPlan, section: Section, lift: Lift, number: int, unit: System) -> Iterator[tuple[str, bool]]:
    """Yield the words of a card, a paragraph each, and whether it has to be seen."""
    if lift.fault:
        yield f"{'It ' if not lift.hooks else ''}{lift.fault}.", True
    for place, hook in enumerate(lift.hooks, start=1):
        leg = f"leg of {format_length(hook.leg_mm, unit, feet=True)} at {hook.angle_deg:.0f}°"
        yield f"{place}  {_hooked(plan, hook, unit)}; {leg}", hook.lug
    if lift.hooks:
        where = f"{plan.tree.tags[lift.worst[0]]} at {format_length(lift.worst[1], unit)}"
        yield f"Bars use {lift.use:.0%} of what they may, worst {where}.", lift.use > 1.0
    if lift.tail is not None:
        yield f"Travels lying; to turn it up, a tail: {_hooked(plan, lift.tail, unit)}.", lift.tail.lug
    elif lift.hooks and lift.manner != "on its side":
        yield "Travels standing.", False
    joint, splice = plan.site_joints[number], section.splice
    if joint is None or splice is None:
        yield "Stands on the base plate: anchors tight before the hook lets go.", False
        return
    tag, station = plan.tree.tags[splice.row], format_length(splice.station_mm, unit)
    parent = f"on S{section.parent + 1}"
    place_of = f"{tag} {parent}" if splice.at_joint else f"{tag} cut at {station}, {parent}"
    yield f"Joined: {place_of}: {joint_text(joint, unit)}.", False
    yield (
        f"Bending there {format_moment(joint.moment_kn_m, unit)} from {joint.source}: to be designed by the engineer.",
        False,
    )
    if splice.limit:
        whole = f"{box_text(splice.whole_mm, unit)}, {format_mass(splice.whole_kg, unit)}"
        yield f"Parted for the {splice.limit}: as one with S{section.parent + 1} it would be {whole}.", False


def _hooked(plan: ShopPlan, hook: Hook, unit: System) -> str:
    at = f"{plan.tree.tags[hook.row]} at {format_length(hook.station, unit)}"
    if hook.lug:
        designed = format_force(hook.design_kn, unit)
        return f"weld a lug on {at}, designed for {designed}: {format_force(hook.force_kn, unit)}"
    return f"sling round {at}: {format_force(hook.force_kn, unit)}"


def _picture(sheet: Sheet, section: Section, lift: Lift, number: int, y: float, tall: float) -> None:
    """Draw a section on its legs, seen across the widest spread of its hooks, up as it hangs."""
    right, up = _view(lift)
    own = section.slices
    hooks = np.array([hook.point for hook in lift.hooks]).reshape(-1, 3)
    seen = np.concatenate([own.points, hooks, lift.apex[None]]) if lift.hooks else own.points
    flat = np.stack([seen @ right, seen @ up], axis=1)
    low, high = flat.min(axis=0), flat.max(axis=0)
    scale = min(_DRAWN / max(high[0] - low[0], 1.0), tall / max(high[1] - low[1], 1.0))
    middle = EDGE + _DRAWN / 2.0

    def place(point: Floats) -> Point:
        across, over = float(point @ right), float(point @ up)
        return middle + (across - (low[0] + high[0]) / 2.0) * scale, y + tall - (over - low[1]) * scale

    drawn_bars(sheet, own, number, scale, place)
    for count, hook in enumerate(lift.hooks, start=1):
        _leg(sheet, place(hook.point), place(lift.apex), str(count))
    if lift.tail is not None:
        x, at = place(lift.tail.point)
        sheet.ink(ACCENT, 0.5)
        sheet.circle(x, at, 1.6, style="D")
        beside = any(0.0 < place(hook.point)[0] - x < 12.0 for hook in lift.hooks)
        sheet.words(x - 2.2 if beside else x + 2.2, at + 1.2, "tail", 9, align="R" if beside else "L")
    x, at = place(own.centre)
    sheet.ink(INK, 0.4)
    sheet.circle(x, at, 1.5, style="D")
    sheet.line(x - 2.2, at, x + 2.2, at)
    sheet.line(x, at - 2.2, x, at + 2.2)


def _leg(sheet: Sheet, hook: Point, apex: Point, name: str) -> None:
    sheet.ink(INK, 0.3)
    sheet.line(*hook, *apex)
    sheet.set_fill_color(255, 255, 255)
    sheet.set_draw_color(*ACCENT)
    sheet.set_line_width(0.6)
    sheet.circle(*hook, 2.0, style="DF")
    sheet.ink(INK)
    sheet.words(hook[0], hook[1] + 1.1, name, 9, bold=True, align="C")


def _view(lift: Lift) -> tuple[Floats, Floats]:
    up = -np.array(lift.down)
    spread = np.array([1.0, 0.0, 0.0])
    if len(lift.hooks) > 1:
        points = np.array([hook.point for hook in lift.hooks])
        pairs = points[:, None] - points[None]
        far = int(np.argmax(np.round((pairs**2).sum(axis=2), 3)))
        spread = pairs.reshape(-1, 3)[far]
    across = spread - (spread @ up) * up
    if np.linalg.norm(across) < 1e-6:
        across = np.cross(up, [0.0, 1.0, 0.0]) if abs(up[1]) < 0.9 else np.array([1.0, 0.0, 0.0])
    right = across / np.linalg.norm(across)
    return right * (np.sign(right[np.argmax(np.abs(right))]) or 1.0), up
