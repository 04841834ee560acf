"""The drawings on a card: the bar with all its bends laid in one plane, and the finished shape from above and aside.

Size letters: K points. Shapes are mm of steel, x along the bar or its base line, y up the paper.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, log10

import numpy as np

from armature.edge import System, format_length
from armature.papers import ACCENT, GREY, INK, PALE, Colour, Sheet
from armature.shop import Floor
from armature.tree import BendList, Floats, Ints

_MOST_LINE = 2.0


@dataclass(frozen=True, eq=False)
class Shape:
    """A line on paper: points (K, 2) mm, and marks on it (numbers with their places) where bends begin."""

    points: Floats
    marks: tuple[tuple[str, float, float], ...] = ()


def flat_shape(bends: BendList, rows: Ints, tail: float) -> Shape:
    """Return one member with every bend in the plane of the paper; a bend turned past a right angle goes the other way.

    rows: the member's places in the bend list, in order.
    """
    at, heading, facing = np.zeros(2), 0.0, 0.0
    points, marks = [at], []
    for number, row in enumerate(rows.tolist(), start=1):
        facing += float(bends.turns[row])
        side = 1.0 if np.cos(np.radians(facing)) >= 0.0 else -1.0
        at = at + bends.feeds[row] * np.array([np.cos(heading), np.sin(heading)])
        points.append(at)
        marks.append((str(number), float(at[0]), float(at[1])))
        steps = np.linspace(0.0, np.radians(bends.bends[row]), 9)[1:]
        centre = at + side * bends.radii[row] * np.array([-np.sin(heading), np.cos(heading)])
        arc = heading + side * steps
        ring = centre + side * bends.radii[row] * np.stack([np.sin(arc), -np.cos(arc)], axis=1)
        points.extend(ring)
        at, heading = ring[-1], float(arc[-1])
    points.append(at + tail * np.array([np.cos(heading), np.sin(heading)]))
    return Shape(_levelled(np.array(points)), _level_marks(np.array(points), marks))


def finished_shapes(laid: Floor, row: int) -> tuple[Shape, Shape]:
    """Return the finished member as it lies on the floor, and seen from the side, both along the same base line."""
    _, local = laid.line(row)
    return Shape(local[:, [0, 1]]), Shape(local[:, [0, 2]])


def draw_shapes(
    sheet: Sheet,
    shapes: list[tuple[str, Shape]],
    x: float,
    y: float,
    width: float,
    height: float,
    unit: System,
    bar: float,
) -> None:
    """Draw shapes under one another in a frame, all at one scale, with their names and a scale bar."""
    spans = [np.ptp(shape.points, axis=0) for _, shape in shapes]
    label, gap = 4.2, 1.5
    thick = _MOST_LINE if bar > 0.0 else 0.0
    gap += thick
    room = height - 6.0 - len(shapes) * (label + gap)
    across, up = max(span[0] for span in spans), sum(span[1] for span in spans)
    scale = min((width - 6.0) / max(across, 1.0), room / max(up, 1e-6), 1.0)
    spare = (room - scale * up) / len(shapes)
    top = y
    for (name, shape), span in zip(shapes, spans, strict=True):
        sheet.ink(GREY)
        sheet.words(x, top + label - 1.2, name, 9)
        middle = top + label + thick / 2.0 + (spare + scale * span[1]) / 2.0
        _draw(sheet, shape, x + 3.0, middle, scale, bar)
        top += label + gap + spare + scale * span[1]
    _scale_bar(sheet, x, y + height - 3.0, scale, width, unit)


def _draw(sheet: Sheet, shape: Shape, x: float, middle: float, scale: float, bar: float) -> None:
    low, high = shape.points.min(axis=0), shape.points.max(axis=0)

    def place(px: float, py: float) -> tuple[float, float]:
        return x + (px - low[0]) * scale, middle - (py - (low[1] + high[1]) / 2.0) * scale

    line = [place(*point) for point in shape.points.tolist()]
    sheet.path([line[0], line[-1]], 0.15, PALE)
    sheet.path(line, min(max(bar * scale, 0.7), _MOST_LINE), INK)
    sheet.ink(INK)
    sheet.circle(*line[0], 0.9, style="F")
    for number, px, py in shape.marks:
        at = place(px, py)
        sheet.ink(ACCENT, 0.3)
        sheet.circle(*at, 0.8, style="DF")
        sheet.words(at[0], at[1] - 1.6, number, 9, bold=True, align="C")


def _scale_bar(sheet: Sheet, x: float, y: float, scale: float, width: float, unit: System) -> None:
    step = _round_length(0.3 * width / max(scale, 1e-9), unit)
    sheet.ink(GREY, 0.4)
    sheet.line(x, y, x + step * scale, y)
    for end in (x, x + step * scale):
        sheet.line(end, y - 1.0, end, y + 1.0)
    sheet.words(x + step * scale + 2.0, y + 1.2, f"= {format_length(step, unit, feet=True)}", 9)


def _round_length(about: float, unit: System) -> float:
    """Return a round length a little under `about` mm: 1, 2 or 5 times a power of ten, or so many inches."""
    base = 25.4 if unit == "inch" else 1.0
    value = max(about / base, 1e-6)
    power = 10.0 ** floor(log10(value))
    steps = [1.0, 2.0, 3.0, 6.0] if unit == "inch" else [1.0, 2.0, 5.0]
    return float(max(step for step in steps if step * power <= value * 1.0001)) * power * base


def _levelled(points: Floats) -> Floats:
    turn = _level_turn(points)
    return np.asarray((points - points[0]) @ turn.T)


def _level_marks(points: Floats, marks: list[tuple[str, float, float]]) -> tuple[tuple[str, float, float], ...]:
    turn = _level_turn(points)
    turned = []
    for number, x, y in marks:
        px, py = turn @ (np.array([x, y]) - points[0])
        turned.append((number, float(px), float(py)))
    return tuple(turned)


def _level_turn(points: Floats) -> Floats:
    """The turn that lays start and tip level, so that the drawing takes little height."""
    chord = points[-1] - points[0]
    angle = -float(np.arctan2(chord[1], chord[0]))
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


def colour_of(number: int) -> Colour:
    """Return one of eight colours that stay apart in print, for sections."""
    wheel = (
        (27, 94, 140),
        (200, 90, 30),
        (60, 130, 60),
        (150, 40, 110),
        (110, 90, 40),
        (30, 140, 140),
        (190, 30, 50),
        (90, 90, 90),
    )
    return wheel[number % len(wheel)]
