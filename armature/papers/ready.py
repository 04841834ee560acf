"""Ready drawings for the shop's sheets: lines, dials and codes as PDF operators about an origin of their own.

The same dial or code comes back on hundreds of cards: put together once, it is only set again.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import cache
from math import cos, radians, sin

from fpdf.drawing_primitives import DeviceCMYK, DeviceGray, DeviceRGB, convert_to_device_color

POINT = 25.4 / 72.0
INK, GREY, PALE, ACCENT = (0, 0, 0), (105, 105, 105), (222, 222, 222), (176, 58, 26)
_K = 1.0 / POINT
_DARK = re.compile(b"\x01+")

Point = tuple[float, float]
Colour = tuple[int, int, int]


def strokes(
    lines: Iterable[Sequence[Point]], colour: Colour, width: float, dash: Sequence[float] = (), fill: bool = False
) -> str:
    """Return PDF operators that stroke lines (or fill them) about an origin of their own, mm, y up, for `stamp`."""
    path = " ".join(
        " l ".join([f"{x * _K:.2f} {y * _K:.2f}" for x, y in line]).replace(" l ", " m ", 1) + " l" for line in lines
    )
    shade = shade_of(colour).serialize()
    if fill:
        return f"{shade.lower()} {path} f"
    broken = f"[{' '.join(f'{each * _K:.2f}' for each in dash)}] 0 d " if dash else ""
    return f"{shade.upper()} {width * _K:.2f} w {broken}{path} S{' [] 0 d' if dash else ''}"


@cache
def _face(radius: float) -> str:
    ring = [_hand(radius, step * 10.0) for step in range(37)]
    ticks = [[_hand(radius * (0.8 if hour else 0.6), hour), _hand(radius, hour)] for hour in (0, 90, 180, 270)]
    return strokes([ring, *ticks], GREY, 0.25)


@cache
def dial(radius: float, angle: float | None) -> str:
    """Return a clock of a radius, mm, with its hand at an angle, deg clockwise from 12, or without."""
    face = _face(radius)
    if angle is None:
        return face
    tip = _hand(radius * 0.92, angle)
    head = [tip, _hand(radius * 0.55, angle - 22.0), _hand(radius * 0.55, angle + 22.0)]
    return f"{face} {strokes([[(0.0, 0.0), tip]], ACCENT, 0.7)} {strokes([head], ACCENT, 0.0, fill=True)}"


def _hand(radius: float, angle: float) -> Point:
    return radius * sin(radians(angle)), radius * cos(radians(angle))


@cache
def shade_of(colour: Colour) -> DeviceGray | DeviceRGB | DeviceCMYK:
    """Return the one object that stands for a colour in the PDF."""
    return convert_to_device_color(*colour)


@cache
def shading(colour: Colour) -> str:
    """Return the operators that set a colour for lines and fills."""
    shade = shade_of(colour).serialize()
    return f"{shade.upper()} {shade.lower()}"


@cache
def qr_path(text: str) -> tuple[int, str]:
    """Return the side of a code in squares, and its dark runs as rectangles of a PDF path, a unit a square.

    The mask is fixed: choosing the best of eight takes most of the time, and any of them scans.
    """
    import segno

    code = segno.make(text, error="m", mask=3, micro=False, boost_error=False)
    # A hair of overlap keeps viewers from drawing white lines between the rows.
    runs = [
        f"{run.start()} {row} {run.end() - run.start()} 1.02 re"
        for row, line in enumerate(code.matrix)
        for run in _DARK.finditer(bytes(line))
    ]
    return len(code.matrix), " ".join(runs)
