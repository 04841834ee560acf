"""Seats of twigs forged by feel: who goes where, with a picture of each twig beside its number."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from armature.answer import Seating, free_seats
from armature.edge import System, format_length
from armature.made import Felt
from armature.papers import GREY, INK, PAGES, Sheet
from armature.tree import joints, sampled

_EDGE, _HEAD, _ROW, _PICTURE = 14.0, 30.0, 19.0, 62.0
_MOST = 12


def seat_lines(felt: Felt, seating: Seating, units: System) -> Iterator[str]:
    """Yield who goes where, what is left over, what is still to be forged, and what is still too near."""
    listed, tree = joints(seating.answer.tree), seating.answer.tree
    for bar, row, cost in _in_order(seating):
        joint = f"at {format_length(float(listed.feet[row]), units)}, clock {listed.clocks[row]:.0f}°"
        joint += f", lean {listed.leans[row]:.0f}°, roll {listed.rolls[row]:.0f}°"
        yield f"- {felt.names[bar]} is {tree.tags[row]}: {joint}; {format_length(cost, units)} off"
    if len(seating.left):
        yield f"left over: {_few([felt.names[bar] for bar in seating.left.tolist()])}"
    still = tree.tags[free_seats(tree, seating.answer.exists)].tolist()
    yield f"still to forge: {_few(still)}" if still else "every twig has its seat"
    for meeting in seating.answer.meetings[:_MOST]:
        yield f"- {tree.tags[meeting.one]} and {tree.tags[meeting.other]} come to {meeting.gap:.0f} mm of each other"


def _in_order(seating: Seating) -> list[tuple[int, int, float]]:
    each = zip(seating.bars.tolist(), seating.seats.tolist(), seating.costs.tolist(), strict=True)
    return sorted(each, key=lambda one: one[1])


def _few(names: list[str]) -> str:
    more = f" and {len(names) - _MOST} more" if len(names) > _MOST else ""
    return f"{len(names)}: {', '.join(names[:_MOST])}{more}"


def seats_pdf(title: str, felt: Felt, seating: Seating, units: System) -> bytes:
    """Return the PDF: a line for each twig with its picture as it lies on its base line."""
    page = "Letter" if units == "inch" else "A4"
    sheet = Sheet(page, f"{title}: seats", [title, *felt.names])
    width, height = PAGES[page]
    listed, tree = joints(seating.answer.tree), seating.answer.tree
    longest = max(float(chains.lengths[0]) for chains in felt.chains)
    base = height
    for bar, row, _ in _in_order(seating):
        if base + _ROW > height - _EDGE:
            sheet.add_page()
            sheet.ink(INK)
            sheet.fitted(_EDGE, 20.0, "Seats of twigs", 20, width - 2.0 * _EDGE, bold=True)
            base = _HEAD
        sheet.rule(_EDGE, base, width - 2.0 * _EDGE, 0.2)
        _picture(sheet, felt, bar, _EDGE, base + _ROW / 2.0, _PICTURE / longest)
        at = _EDGE + _PICTURE + 6.0
        sheet.ink(INK)
        sheet.fitted(at, base + 7.5, felt.names[bar], 18, 34.0, bold=True)
        sheet.fitted(at + 36.0, base + 7.5, f"goes to {tree.tags[row]}", 18, width - _EDGE - at - 36.0, bold=True)
        told = f"at {format_length(float(listed.feet[row]), units)}, clock {listed.clocks[row]:.0f}°,"
        told += f" lean {listed.leans[row]:.0f}°, roll {listed.rolls[row]:.0f}° on {tree.tags[tree.parents[row]]}"
        sheet.ink(GREY)
        sheet.fraction(at, base + 14.5, told, 11, room=width - _EDGE - at)
        base += _ROW
    return sheet.printed()


def _picture(sheet: Sheet, felt: Felt, bar: int, x: float, y: float, scale: float) -> None:
    points = sampled(felt.chains[bar], 0.5).points
    rise = points[:, 1] - (points[:, 1].min() + points[:, 1].max()) / 2.0
    high = max(float(np.ptp(points[:, 1])) * scale / (_ROW - 5.0), 1.0)
    line = np.stack([x + points[:, 0] * scale / high, y - rise * scale / high], axis=1)
    sheet.path([(float(a), float(b)) for a, b in line.tolist()], 0.6, INK)
