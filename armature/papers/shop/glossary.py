"""The words of the cards as small drawings: the bar with its START, heel and marks; the clock; lean and roll."""

from __future__ import annotations

from math import cos, radians, sin

from armature.papers import ACCENT, GREY, INK, Point, Sheet

HIGH = 44.0
_BAR = 2.6


def draw_glossary(sheet: Sheet, x: float, y: float, width: float) -> None:
    """Draw the glossary in a band `HIGH` mm high from y down."""
    _straight(sheet, x, y + 4.0, 0.47 * width)
    _clock(sheet, x + 0.60 * width, y + 21.0)
    _joint(sheet, x + 0.80 * width, y + 40.0)


def _name(sheet: Sheet, x: float, y: float, text: str, at: Point, align: str = "C") -> None:
    """Write a word and a leader from it to what it names."""
    sheet.ink(GREY, 0.2)
    sheet.line(x, y + (1.0 if at[1] > y else -3.2), *at)
    sheet.ink(INK)
    sheet.words(x, y, text, 9.5, align=align)


def _straight(sheet: Sheet, x: float, y: float, width: float) -> None:
    """A bar before bending: what is behind START is the heel; chalk, begin and end of a bend, station of a child."""
    bar = y + 16.0
    sheet.ink(INK, 0.35)
    sheet.path([(x, bar - _BAR), (x + width, bar - 0.35 * _BAR), (x + width, bar + 0.35 * _BAR), (x, bar + _BAR)], 0.35)
    sheet.path([(x, bar + _BAR), (x + 2.0, bar + 0.2), (x, bar - _BAR)], 0.35)
    sheet.ink(ACCENT, 0.35)
    sheet.set_dash_pattern(dash=2.0, gap=1.2)
    sheet.line(x + 2.0, bar, x + width, bar)
    sheet.set_dash_pattern()
    start, begin, end, child = (x + share * width for share in (0.10, 0.38, 0.60, 0.80))
    for at in (start, begin, end, child):
        sheet.circle(at, bar, 0.9, style="F")
    _name(sheet, x + 3.0, y + 4.0, "heel", ((x + start) / 2.0, bar - 1.0))
    _name(sheet, start + 9.0, y + 9.0, "START", (start, bar - 1.0))
    _name(sheet, begin, y + 4.0, "begin", (begin, bar - 1.0))
    _name(sheet, end, y + 4.0, "end of a bend", (end, bar - 1.0))
    _name(sheet, child + 6.0, y + 9.0, "mark of a child", (child, bar - 1.0))
    _name(sheet, x + 0.2 * width, bar + 9.0, "chalk line", (x + 0.26 * width, bar + 0.4))
    low = bar + 16.0
    for first, last, text in ((start, child, "at: from START"), (x, x + width, "DRAW TO: heel and all")):
        sheet.ink(GREY, 0.25)
        sheet.line(first, low, last, low)
        for tick in (first, last):
            sheet.line(tick, low - 1.0, tick, low + 1.0)
        sheet.ink(INK)
        sheet.words((first + last) / 2.0 + 8.0, low - 1.0, text, 9.5, align="C")
        low += 6.0


def _clock(sheet: Sheet, x: float, y: float) -> None:
    """The clock, seen along the bar toward its tip."""
    sheet.dial(x, y, 8.0, 60.0)
    sheet.ink(INK)
    sheet.words(x, y - 10.0, "chalk 0°", 9.5, align="C")
    sheet.words(x + 9.5, y - 2.0, "R 60°", 9.5)
    sheet.words(x - 9.5, y + 1.0, "L", 9.5, align="R")
    sheet.ink(GREY)
    sheet.words(x, y + 13.0, "clock: toward the tip", 9.5, align="C")
    sheet.words(x, y + 17.2, "skin: the same, round it", 9.5, align="C")


def _joint(sheet: Sheet, x: float, y: float) -> None:
    """A child on its parent: its mark, its lean, its roll."""
    sheet.path([(x, y), (x, y - 36.0)], 2.2, GREY)
    lean = radians(50.0)
    foot = (x, y - 12.0)
    tip = (x + 26.0 * sin(lean), foot[1] - 26.0 * cos(lean))
    sheet.path([foot, tip], 1.3, INK)
    arc = [(x + 11.0 * sin(lean * n / 8.0), foot[1] - 11.0 * cos(lean * n / 8.0)) for n in range(9)]
    sheet.path(arc, 0.4, ACCENT)
    sheet.ink(INK)
    sheet.words(x + 4.0, foot[1] - 13.0, "lean", 9.5)
    ring = [(tip[0] - 5.0 + 2.6 * cos(n * 0.6), tip[1] + 4.6 + 1.5 * sin(n * 0.6)) for n in range(9)]
    sheet.path(ring, 0.4, ACCENT)
    sheet.ink(INK)
    sheet.words(tip[0] - 1.0, tip[1] + 9.0, "roll", 9.5)
    sheet.ink(ACCENT)
    sheet.circle(*foot, 1.0, style="F")
    sheet.ink(INK)
    sheet.words(x - 2.5, foot[1] + 1.2, "at", 9.5, align="R")
    sheet.words(x - 2.5, y - 32.0, "parent", 9.5, align="R")
