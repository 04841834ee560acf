"""What stands under the bends on a card: how a pipe is drawn in, where a member is sawn for transport, its loops."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from armature.edge import System, format_length, format_thin
from armature.leaves.hanging import Loop
from armature.papers import ACCENT, GREY, INK, Sheet
from armature.papers.shop.travel import cut_text, saw_cuts
from armature.papers.shop.words import hand, size_text
from armature.shop import DARTS, ShopPlan, dart_width

_PITCH, _SIZE, _ASIDE = 4.7, 10.5, 16.0


@dataclass(frozen=True)
class Note:
    """Lines under a label, and loops as (number of its leaf, station mm, clock deg) in order from the start."""

    label: str
    lines: tuple[str, ...]
    loops: tuple[tuple[str, float, float], ...] = ()


def card_notes(sheet: Sheet, plan: ShopPlan, row: int, width: float, unit: System) -> list[Note]:
    """Return the notes of a member, their lines no wider than `width` mm."""
    notes = []
    for label, texts in (("PIPE", pipe_texts(plan, row, unit)), ("SAW", _cuts(plan, row, unit))):
        if texts:
            lines = [line for text in texts for line in sheet.wrapped(text, _SIZE, width - _ASIDE)]
            notes.append(Note(label, tuple(lines)))
    own = plan.loops.on(row)
    if len(own):
        tags, stations = plan.tree.leaves.tags[own].tolist(), plan.tree.leaves.stations[own].tolist()
        each = zip(tags, stations, plan.loops.clocks[own].tolist(), strict=True)
        notes.append(Note("LOOPS", (), tuple((tag.rsplit("-", 1)[-1], at, clock) for tag, at, clock in each)))
    return notes


def notes_height(notes: list[Note]) -> float:
    """Return the room that notes take, mm."""
    return sum(_PITCH * (len(note.lines) + ceil(len(note.loops) / 3)) + 1.5 for note in notes)


def draw_notes(sheet: Sheet, notes: list[Note], x: float, y: float, width: float, unit: System) -> None:
    """Draw notes from y down."""
    for note in notes:
        sheet.ink(GREY)
        sheet.words(x, y + 3.6, note.label, 9)
        sheet.ink(INK)
        for line in note.lines:
            sheet.fraction(x + _ASIDE, y + 3.6, line, _SIZE)
            y += _PITCH
        lane = (width - 16.0) / 3.0
        for place, (number, station, clock) in enumerate(note.loops):
            at, base = x + 20.0 + place % 3 * lane, y + place // 3 * _PITCH + 3.6
            sheet.ink(ACCENT)
            sheet.words(at - 1.2, base, number, 9.0, bold=True, align="R")
            sheet.ink(INK)
            sheet.length(at, base, station, unit, 11.0, bold=True)
            sheet.dial(at + 22.5, base - 1.3, 1.7, clock)
            sheet.ink(INK)
            sheet.words(at + 25.5, base, hand(clock), _SIZE)
        y += ceil(len(note.loops) / 3) * _PITCH + 1.5


def loop_texts(plan: ShopPlan, unit: System) -> tuple[str, str]:
    """Return what a loop is made of, and how it is made and fixed."""
    wire, inside = plan.loops.wire_mm, plan.loops.inside_mm
    cut = format_length(Loop(wire, inside).stock, unit)
    pin = format_thin(inside, unit)
    how = (
        f"wind it on a {pin} pin, saw the turns apart, tack each square to the bar on the side that its clock shows, "
        "its gap beside the tack and left open: it is closed cold when the leaf hangs"
    )
    return f"{format_thin(wire, unit)} wire, each cut {cut}", how


def pipe_texts(plan: ShopPlan, row: int, unit: System) -> list[str]:
    """Return how a pipe is drawn in, and what goes on where its bore closes; nothing for bar and straight pipe."""
    tree = plan.tree
    start, end, taper = (float(each[row]) for each in (tree.start_diameters, tree.end_diameters, tree.taper_starts))
    if not tree.walls[row] or end > start - 1e-6 or plan.sawn.rods[row] > 1:
        return []
    place = np.flatnonzero(plan.ends.rows == row)
    last = float(plan.ends.stations[place[0]]) if len(place) else float(tree.lengths[row])
    outside = float(plan.ends.diameters[place[0]]) if len(place) else end
    wide, wall = format_length(dart_width(start, outside), unit), size_text(float(tree.walls[row]), 0.0, unit)
    darts = f"draw in by {DARTS} darts with straight sides, from nothing at {format_length(taper, unit)} to {wide} wide"
    said = [f"{darts} at {format_length(last, unit)}; close and weld them. The wall stays {wall}"]
    if len(place):
        at = int(place[0])
        said.append(
            f"there the bore closes, {size_text(outside, 0.0, unit)} outside, and the pipe ends: bevel it, weld on a "
            f"solid end of {size_text(float(plan.ends.bars[at]), 0.0, unit)} bar, cut "
            f"{format_length(float(plan.ends.cuts[at]), unit)}, drawn to {size_text(end, 0.0, unit)} over "
            f"{format_length(float(tree.lengths[row]) - last, unit)}"
        )
    return said


def _cuts(plan: ShopPlan, row: int, unit: System) -> list[str]:
    return [cut_text(cut, unit) for cut in saw_cuts(plan, row)]
