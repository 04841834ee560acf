"""tapes.pdf: a paper tape for each bar that carries others, full size, with every mark and how far round it lies."""

from __future__ import annotations

from math import ceil, radians

import numpy as np

from armature.edge import System, format_length
from armature.papers import ACCENT, GREY, INK, PAGES, PALE, Sheet
from armature.papers.shop.marking import punched
from armature.papers.shop.words import hand
from armature.shop import ShopPlan

_EDGE, _TALL, _FOOT = 12.0, 27.0, 14.0
_STEP = {"inch": 25.4, "mm": 50.0}


def tapes(plan: ShopPlan) -> bytes:
    """Return the PDF of paper tapes: cut the strips, glue them end to end, wrap START to START along the chalk line."""
    unit: System = plan.commission.units
    sheet = Sheet(plan.page, f"{plan.title}: paper tapes", [plan.title], landscape=True)
    height, width = PAGES[plan.page]
    room = width - 2.0 * _EDGE
    y = height
    carriers = [row for row in range(len(plan.tree)) if len(plan.children(row))]
    for row in carriers:
        length = float(plan.written.lengths[row])
        marks = punched(plan, row)
        strips = ceil(length / room)
        for number in range(strips):
            if y + _TALL > height - _FOOT:
                y = _page(sheet, plan, unit)
            _strip(sheet, plan, row, marks, number, strips, y, room, unit)
            y += _TALL
    return sheet.printed()


def _page(sheet: Sheet, plan: ShopPlan, unit: System) -> float:
    sheet.add_page()
    height, width = PAGES[plan.page]
    sheet.ink(INK)
    sheet.fitted(_EDGE, 12.0, f"{plan.title}: paper tapes, full size", 14, 120.0, bold=True)
    sheet.ink(GREY)
    side = _STEP[unit]
    said = "Print at 100 %. Lay 0 on START along the chalk line; beside each mark: how far round, by clock and by skin."
    sheet.fitted(_EDGE, 18.0, said, 10, width - 2.0 * _EDGE)
    sheet.ink(INK, 0.4)
    sheet.line(_EDGE, height - 8.0, _EDGE + side, height - 8.0)
    for x in (_EDGE, _EDGE + side):
        sheet.line(x, height - 10.0, x, height - 6.0)
    sheet.words(_EDGE + side + 3.0, height - 7.0, f"This line is {format_length(side, unit)} long.", 10)
    return 21.0


def _strip(
    sheet: Sheet,
    plan: ShopPlan,
    row: int,
    marks: list[tuple[float, float | None, str]],
    number: int,
    strips: int,
    y: float,
    room: float,
    unit: System,
) -> None:
    """Draw one strip: its edge is the chalk line, with a tick for each mark and what goes there."""
    first = number * room
    last = min(first + room, float(plan.written.lengths[row]))
    line = y + 6.5
    sheet.ink(GREY)
    part = f", strip {number + 1} of {strips}" if strips > 1 else ""
    sheet.words(_EDGE, y + 4.4, f"{plan.tree.tags[row]}{part}", 11, bold=True)
    sheet.path([(_EDGE, line), (_EDGE + last - first, line)], 0.4, INK)
    step = _STEP[unit]
    for at in np.arange(ceil(first / step) * step, last + 1e-6, step).tolist():
        sheet.path([(_EDGE + at - first, line), (_EDGE + at - first, line + 1.6)], 0.15, GREY)
    free = [-100.0, -100.0]
    for station, clock, name in marks:
        if not first <= station < first + room:
            continue
        x = _EDGE + station - first
        sheet.path([(x, line - 1.5), (x, line + 4.0)], 0.35, ACCENT)
        text = name if clock is None else f"{name}  {hand(clock)}"
        wide = max(sheet.width(text, 9.5), 22.0)
        lane = 0 if x >= free[0] + 1.0 else 1
        left = min(max(x, free[lane] + 1.0), _EDGE + room - wide)
        free[lane] = left + wide
        base = line + 8.2 + 8.6 * lane
        sheet.ink(INK)
        sheet.words(left, base, text, 9.5, bold=True)
        skin = 0.0 if clock is None else radians(clock) * plan.thickness(row, station) / 2.0
        way = "" if clock is None else f", {'R' if skin >= 0.0 else 'L'} {format_length(abs(skin), unit)}"
        sheet.ink(GREY)
        sheet.fraction(left, base + 4.0, f"{format_length(station, unit)}{way}", 9.0)
    sheet.path([(_EDGE, y + _TALL - 0.6), (_EDGE + room, y + _TALL - 0.6)], 0.1, PALE)
