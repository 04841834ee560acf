"""A tree built bar by bar from the text of joints.csv and bends.csv, as a smith would: an independent reading of both.

Uses nothing of the package, only the definitions of the columns and plain rotations.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass, field

Vector = tuple[float, float, float]


@dataclass
class Piece:
    """A straight or, with a radius, an arc: where it begins, its direction and chalk direction there, its hinge."""

    station: float
    point: Vector
    d: Vector
    chalk: Vector
    radius: float = 0.0
    hinge: Vector = (0.0, 0.0, 0.0)

    def at(self, station: float) -> tuple[Vector, Vector, Vector]:
        """Return point, direction and chalk direction at a station of the bar."""
        run = station - self.station
        if self.radius == 0.0:
            return added(self.point, self.d, 1.0, run), self.d, self.chalk
        angle = math.degrees(run / self.radius)
        aside = added(self.d, cross(self.hinge, self.d), sine(angle), 1.0 - cosine(angle))
        point = added(self.point, aside, 1.0, self.radius)
        return point, spun(self.d, self.hinge, angle), spun(self.chalk, self.hinge, angle)


@dataclass
class Bar:
    """One bar at the anvil: its pieces, tip and length."""

    pieces: list[Piece] = field(default_factory=list)
    tip: Vector = (0.0, 0.0, 0.0)
    length: float = 0.0

    def at(self, station: float) -> tuple[Vector, Vector, Vector]:
        """Return point, direction and chalk direction at a station."""
        return next((p for p in reversed(self.pieces) if p.station <= station), self.pieces[0]).at(station)


def built(joints_text: str, bends_text: str) -> dict[str, Bar]:
    """Return every bar by its tag, in the order of the joints."""
    bends: dict[str, list[dict[str, float]]] = {}
    for row in csv.DictReader(io.StringIO(bends_text)):
        bends.setdefault(row["tag"], []).append({key: float(value) for key, value in row.items() if key != "tag"})
    bars: dict[str, Bar] = {}
    for row in csv.DictReader(io.StringIO(joints_text)):
        number = {key: float(value) for key, value in row.items() if key not in ("child", "parent")}
        point, t, c = (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
        if row["parent"] == "base":
            point = number["base_x_mm"], number["base_y_mm"], number["base_z_mm"]
        else:
            point, t, c = bars[row["parent"]].at(number["station_mm"])
        u = added(c, cross(t, c), cosine(number["clock_deg"]), sine(number["clock_deg"]))
        d = added(t, u, cosine(number["lean_deg"]), sine(number["lean_deg"]))
        n = spun(added(u, t, cosine(number["lean_deg"]), -sine(number["lean_deg"])), d, number["roll_deg"])
        start = added(point, d, 1.0, number["setback_mm"])
        bars[row["child"]] = bent_bar(start, d, n, bends.get(row["child"], []), number["tail_mm"])
    return bars


def bent_bar(start: Vector, d: Vector, chalk: Vector, bends: list[dict[str, float]], tail: float) -> Bar:
    """Return one bar: feed, turn, bend, and so on to the tail. The chalk line keeps its place on the bar."""
    bar, point, turn = Bar(), start, 0.0
    for row in bends:
        bar.pieces.append(Piece(bar.length, point, d, chalk))
        bar.length += row["feed_mm"]
        turn += row["turn_deg"]
        hinge = cross(d, spun(chalk, d, turn))
        arc = Piece(bar.length, added(point, d, 1.0, row["feed_mm"]), d, chalk, row["radius_mm"], hinge)
        bar.pieces.append(arc)
        bar.length += row["radius_mm"] * math.radians(row["bend_deg"])
        point, d, chalk = arc.at(bar.length)
    bar.pieces.append(Piece(bar.length, point, d, chalk))
    bar.length += tail
    bar.tip = added(point, d, 1.0, tail)
    return bar


def spun(v: Vector, axis: Vector, angle: float) -> Vector:
    """Return a vector turned about a unit axis, right-handed."""
    along = sum(a * b for a, b in zip(v, axis, strict=True)) * (1.0 - cosine(angle))
    return added(added(v, cross(axis, v), cosine(angle), sine(angle)), axis, 1.0, along)


def added(a: Vector, b: Vector, p: float, q: float) -> Vector:
    """Return p a + q b."""
    return (p * a[0] + q * b[0], p * a[1] + q * b[1], p * a[2] + q * b[2])


def cross(a: Vector, b: Vector) -> Vector:
    """Return the vector product."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def sine(angle: float) -> float:
    """Return the sine of degrees."""
    return math.sin(math.radians(angle))


def cosine(angle: float) -> float:
    """Return the cosine of degrees."""
    return math.cos(math.radians(angle))
