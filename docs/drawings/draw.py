"""The drawings of docs/glossary.md, as SVG: run `python docs/drawings/draw.py` after a change here.

Angles and places are drawn true: each drawing is worked out from the definitions that joints.csv and bends.csv use.
"""

from __future__ import annotations

import math
from pathlib import Path

HERE = Path(__file__).parent
STEEL, EDGE, CHALK, MEASURE, PALE = "#c9c2b8", "#5d544c", "#1f6fb2", "#a3431f", "#efe9df"
Point = tuple[float, float]


def text(at: Point, says: str, colour: str = EDGE, anchor: str = "middle") -> str:
    """A word at a place."""
    return f'<text x="{at[0]:.1f}" y="{at[1]:.1f}" fill="{colour}" text-anchor="{anchor}">{says}</text>'


def line(points: list[Point], colour: str, wide: float, dashes: str = "") -> str:
    """A line through points."""
    places = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<polyline points="{places}" fill="none" stroke="{colour}" stroke-width="{wide}"{dashed}/>'


def bar(points: list[Point], wide: float) -> str:
    """A bar along points."""
    return line(points, EDGE, wide + 2) + line(points, STEEL, wide)


def measure(start: Point, end: Point, says: str, off: float = -7.0) -> str:
    """A dimension line with a tick at each end and its word in the middle."""
    (x0, y0), (x1, y1) = start, end
    run = math.hypot(x1 - x0, y1 - y0)
    nx, ny = -(y1 - y0) / run * 5, (x1 - x0) / run * 5
    ticks = [line([(x - nx, y - ny), (x + nx, y + ny)], MEASURE, 1.2) for x, y in (start, end)]
    middle = ((x0 + x1) / 2, (y0 + y1) / 2 + off)
    return line([start, end], MEASURE, 1.2) + "".join(ticks) + text(middle, says, MEASURE)


def arc(middle: Point, radius: float, first: float, last: float, colour: str, wide: float = 1.2) -> str:
    """An arc in degrees, clockwise on paper from the x axis."""
    steps = 48
    turns = [math.radians(first + (last - first) * k / steps) for k in range(steps + 1)]
    return line([(middle[0] + radius * math.cos(a), middle[1] + radius * math.sin(a)) for a in turns], colour, wide)


def dot(at: Point, colour: str = EDGE) -> str:
    """A point."""
    return f'<circle cx="{at[0]:.1f}" cy="{at[1]:.1f}" r="3.2" fill="{colour}"/>'


def along(start: Point, degrees: float, run: float) -> Point:
    """The point that lies so far from another, at an angle clockwise on paper."""
    return start[0] + run * math.cos(math.radians(degrees)), start[1] + run * math.sin(math.radians(degrees))


def bend() -> tuple[int, int, str]:
    """A bar with one bend, straight above and bent below: feed, mark, bend, radius, tail, and the chalk line."""
    parts = [text((40, 24), "straight, with its chalk line: a row of centre-punch marks", CHALK, "start")]
    parts += [bar([(60, 60), (620, 60)], 24), line([(60, 60), (620, 60)], CHALK, 3, "2 10")]
    parts += [text((60, 96), "start"), text((620, 96), "tip"), measure((60, 118), (260, 118), "mark = feed")]
    radius, turn = 90.0, 50.0
    begin = (260.0, 300.0)
    centre = (begin[0], begin[1] - radius)
    curve = [
        (centre[0] + radius * math.sin(a), centre[1] + radius * math.cos(a))
        for a in (math.radians(turn * k / 30) for k in range(31))
    ]
    tip = along(curve[-1], -turn, 230)
    whole = [(60.0, 300.0), begin, *curve, tip]
    parts += [line([(260, 72), (260, 286)], MEASURE, 0.8, "4 4"), bar(whole, 24)]
    inner = [(60.0, 291.0), (260.0, 291.0)]
    inner += [
        (centre[0] + (radius - 9) * math.sin(a), centre[1] + (radius - 9) * math.cos(a))
        for a in (math.radians(turn * k / 30) for k in range(31))
    ]
    inner.append(along(inner[-1], -turn, 230))
    parts += [line(inner, CHALK, 3, "2 10"), dot((60, 300)), text((60, 336), "start")]
    parts += [measure((60, 350), begin[:1] + (350,), "feed", 18)]
    parts += [line([centre, begin], MEASURE, 0.8, "4 4"), line([centre, curve[-1]], MEASURE, 0.8, "4 4")]
    parts += [
        dot(centre, MEASURE),
        text((centre[0] - 12, centre[1] - 8), "radius, to the middle of the bar", MEASURE, "end"),
    ]
    parts += [arc(centre, 34, 90 - turn, 90, MEASURE), text((centre[0] + 24, centre[1] + 56), "bend", MEASURE)]
    off = along(curve[-1], 90 - turn, 34)
    parts += [measure(off, along(off, -turn, 230), "", 0), text((off[0] + 118, off[1] - 60), "tail", MEASURE)]
    parts += [
        text((tip[0] + 22, tip[1] - 2), "tip", EDGE, "start"),
        text((550, 312), "The first bend goes toward the chalk line: turn 0.", CHALK),
    ]
    return 760, 380, "".join(parts)


def joint() -> tuple[int, int, str]:
    """A child on its parent, seen from the side: station, lean, setback, start, heel."""
    parts = []
    half, lean, point = 34.0, 50.0, (330.0, 250.0)
    parts += [f'<rect x="40" y="{point[1] - half}" width="600" height="{2 * half}" fill="{STEEL}" stroke="{EDGE}"/>']
    parts += [line([(40, 250), (640, 250)], EDGE, 1, "9 5"), text((560, 306), "parent, toward its tip →")]
    half_child, setback = 15.0, half / math.sin(math.radians(lean))
    start = along(point, -lean, setback)
    tip = along(point, -lean, 260)
    heel = along(start, -lean, -half_child / math.tan(math.radians(lean)))
    parts += [line([along(start, -lean, -half_child / math.tan(math.radians(lean))), tip], EDGE, 2 * half_child + 2)]
    parts += [line([heel, tip], PALE, 2 * half_child)]
    parts += [f'<rect x="41" y="{point[1] - half + 1}" width="598" height="26" fill="{STEEL}"/>']
    parts += [line([point, tip], EDGE, 1, "9 5"), dot(point), dot(start)]
    parts += [text((point[0] + 8, point[1] + 24), "P, where the axes meet", EDGE, "start")]
    parts += [measure((40, 324), (point[0], 324), "station, from the parent's start", 20)]
    parts += [line([point, (point[0], 330)], MEASURE, 0.8, "4 4")]
    parts += [arc(point, 120, -lean, 0, MEASURE), text((point[0] + 146, point[1] - 48), "lean", MEASURE)]
    shift = 58.0
    side = [along(each, -lean - 90, shift) for each in (point, start)]
    parts += [line([start, side[1]], MEASURE, 0.6, "3 4"), line([point, side[0]], MEASURE, 0.6, "3 4")]
    parts += [measure(side[0], side[1], "", 0), text((side[0][0] - 12, side[0][1] - 22), "setback", MEASURE, "end")]
    parts += [
        line([start, (470, 176)], EDGE, 0.8),
        text((476, 180), "start: punched on the bar, on the parent's skin", EDGE, "start"),
    ]
    parts += [line([(heel[0] - 6, heel[1] - 6), (250, 130)], EDGE, 0.8)]
    parts += [
        text((244, 126), "heel: what the saddle reaches", EDGE, "end"),
        text((244, 144), "back behind the start", EDGE, "end"),
    ]
    parts += [text((tip[0] + 10, tip[1] + 4), "child, toward its tip", EDGE, "start")]
    return 800, 360, "".join(parts)


def clock() -> tuple[int, int, str]:
    """Clock and roll, each seen along a bar from its start toward its tip."""
    parts = []
    for middle, radius, turn, word, says in (
        ((180.0, 180.0), 70.0, 60.0, "clock", "the parent, seen from its start toward its tip"),
        ((560.0, 180.0), 44.0, 40.0, "roll", "the child, seen from its start toward its tip"),
    ):
        parts += [f'<circle cx="{middle[0]}" cy="{middle[1]}" r="{radius}" fill="{STEEL}" stroke="{EDGE}"/>']
        top = along(middle, -90, radius)
        parts += [dot(middle), text((middle[0], 320), says)]
        zero, other = along(middle, -90, radius + 60), along(middle, -90 + turn, radius + 76)
        parts += [line([middle, zero], EDGE if word == "roll" else CHALK, 1.2, "6 4")]
        parts += [line([middle, other], CHALK if word == "roll" else EDGE, 1.2, "6 4")]
        parts += [arc(middle, radius + 36, -90, -90 + turn, MEASURE)]
        parts += [text(along(middle, -90 + turn / 2, radius + 56), word, MEASURE, "start")]
        mark = top if word == "clock" else along(middle, -90 + turn, radius)
        parts += [f'<circle cx="{mark[0]:.1f}" cy="{mark[1]:.1f}" r="5" fill="{CHALK}"/>']
        if word == "clock":
            parts += [text((zero[0], zero[1] - 8), "chalk line: clock 0", CHALK)]
            parts += [text((other[0] + 6, other[1]), "the child", EDGE, "start")]
        else:
            parts += [text((zero[0], zero[1] - 8), "away from the parent's axis: roll 0")]
            parts += [text((other[0] + 6, other[1]), "its chalk line", CHALK, "start")]
    parts += [
        text(
            (370, 350), "Both turn as a right-hand screw that is driven toward the tip: clockwise, seen this way.", EDGE
        )
    ]
    return 740, 370, "".join(parts)


def order() -> tuple[int, int, str]:
    """The order of work, from the commission to the hanging of leaves."""
    steps = (
        ("commission", "one TOML file"), ("grow, judge", "the shape"), ("assess", "will it stand"),
        ("plan", "bars, bends, plates"), ("make", "the job folder"),
        ("saw", "bars.csv"), ("draw out", "cards: cut, taper"), ("punch and bend", "marks and turns"),
        ("weld", "station to roll"), ("coat, carry, raise", "erection.pdf"), ("hang leaves", "tags, finder"),
    )  # fmt: skip
    parts = []
    for number, (word, says) in enumerate(steps):
        row, column = divmod(number, 5 if number < 5 else 6)
        row, column = (0, number) if number < 5 else (1, number - 5)
        wide = 148 if row == 0 else 122
        x, y = 20 + column * (wide + 10), 30 + row * 130
        parts += [f'<rect x="{x}" y="{y}" width="{wide}" height="80" rx="8" fill="{PALE}" stroke="{EDGE}"/>']
        parts += [text((x + wide / 2, y + 34), word, MEASURE if row else CHALK), text((x + wide / 2, y + 58), says)]
        if number not in (4, 10):
            parts += [text((x + wide + 5, y + 45), "→")]
    parts += [text((20, 22), "at the desk", EDGE, "start"), text((20, 152), "in the shop and on site", EDGE, "start")]
    return 820, 260, "".join(parts)


DRAWINGS = {"bend": bend, "joint": joint, "clock": clock, "order": order}


def drawn(name: str) -> str:
    """The SVG of one drawing."""
    wide, high, inside = DRAWINGS[name]()
    style = 'font-family="DejaVu Sans, Helvetica, sans-serif" font-size="13"'
    ground = f'<rect width="{wide}" height="{high}" fill="#fffdf8"/>'
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" viewBox="0 0 {wide} {high}" {style}>'
    )
    return f"{head}{ground}{inside}</svg>\n"


if __name__ == "__main__":
    for each in DRAWINGS:
        (HERE / f"{each}.svg").write_text(drawn(each), encoding="utf-8")
