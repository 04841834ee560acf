"""Leaf designs: an outline of arcs and straights, an eye to hang by, and veins to chase.

Every design lies as it hangs: the eye at the origin, the apex toward -y, the face toward the reader, mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Point, Polygon

from armature.leaves.outline.arcs import (
    Path,
    Points,
    arc_through,
    circle,
    flattened,
    path_area,
    path_centroid,
    path_length,
    polygon,
)
from armature.leaves.outline.blades import blade, even
from armature.leaves.outline.fitting import fitted
from armature.leaves.outline.forms import Form
from armature.leaves.outline.veins import veins

CHORD_ERROR = 0.05


@dataclass(frozen=True, eq=False)
class Design:
    """One leaf outline, ready for the cutting table.

    number: from 1, as in the hang list. name: botanical form, or the file it came from. outline: closed,
    counter-clockwise. eye: diameter of the hole at the origin, mm. veins: open paths. blade: length and width of
    the leaf's box without the stalk, mm. form: the drawn proportions, None for an outline that was given.
    """

    number: int
    name: str
    outline: Path
    eye: float
    veins: tuple[Path, ...]
    blade: tuple[float, float]
    form: Form | None = None

    @cached_property
    def shape(self) -> Polygon:
        """The outline with the eye cut out, within the chord error: a shapely polygon."""
        return Polygon(polygon(self.outline).exterior, [polygon(self.eye_path).exterior.coords])

    @property
    def eye_path(self) -> Path:
        """The eye as a path."""
        return circle(0.0, 0.0, self.eye)

    @cached_property
    def area(self) -> float:
        """Sheet left after cutting, mm2: exact, arcs included."""
        return path_area(self.outline) - np.pi * self.eye**2 / 4

    @cached_property
    def centroid(self) -> Points:
        """Centre of gravity (2,), mm from the eye: exact, arcs included; the eye at the origin moves it outward."""
        return path_centroid(self.outline) * path_area(self.outline) / self.area

    @cached_property
    def length(self) -> float:
        """Distance from the eye to the farthest point, mm."""
        return float(np.max(np.hypot(*self.outline.points.T)))

    @cached_property
    def cut_length(self) -> float:
        """Length of cut for outline and eye, mm."""
        return path_length(self.outline) + path_length(self.eye_path)

    @cached_property
    def tilt_deg(self) -> float:
        """Angle in degrees by which the leaf turns from its drawn place when it hangs freely, right-handed."""
        x, y = self.centroid
        return float(np.rad2deg(-np.arctan2(x, -y)))

    @property
    def hangs(self) -> str:
        """How the leaf hangs: `tip down`, `askew` (over 30 deg off), or `flat` where the eye is near the centre."""
        if np.hypot(*self.centroid) < 0.08 * self.length:
            return "flat"
        return "tip down" if abs(self.tilt_deg) <= 30.0 else "askew"


def tab_radius(eye: float, edge: float) -> float:
    """Return the radius in mm of the metal around an eye whose centre lies `edge` hole diameters from the edge."""
    return eye * edge


def designed(form: Form, number: int, eye: float, edge: float, chord_error: float = CHORD_ERROR) -> Design:
    """Return the design of one form: blade, stalk and eye joined, bent along its midrib and fitted with arcs.

    eye: hole diameter in mm. edge: distance of the hole's centre from the edge, in hole diameters.
    """
    radius = tab_radius(eye, edge)
    gap = stalk(form, radius)
    body = blade(form)
    shifted = shapely.transform(body, lambda p: np.round(p + np.array([0.0, gap]), 6))
    ring = _joined(form, shifted, radius, gap)
    bend = Bend(form.curve, gap + form.length)
    outline = fitted(_counter_clockwise(bend(ring)), chord_error)
    inside = polygon(outline).buffer(-0.02 * form.length)
    low, high = shifted.bounds[1], shifted.bounds[3]
    return Design(
        number=number,
        name=form.name,
        outline=outline,
        eye=eye,
        veins=_kept([_bent_vein(v, bend, gap) for v in veins(form, radius - gap)], inside, radius + 1.0),
        blade=(high - low, shifted.bounds[2] - shifted.bounds[0]),
        form=form,
    )


@dataclass(frozen=True)
class Bend:
    """Bends the straight drawing (x, s) along a circular midrib: `angle` deg over `length` mm, s = 0 at the eye."""

    angle: float
    length: float

    def __call__(self, points: Points) -> Points:
        """Return the points (N, 2) as they hang: eye at the origin, apex toward -y."""
        x, s = points[:, 0], points[:, 1]
        rate = np.deg2rad(self.angle) / self.length
        turn = rate * np.maximum(s, 0.0)
        flat = abs(rate) < 1e-9
        across = np.zeros_like(s) if flat else (1 - np.cos(turn)) / rate
        down = s if flat else np.where(s > 0, np.sin(turn) / rate, s)
        return np.stack([across + x * np.cos(turn), -down + x * np.sin(turn)], axis=1)


def stalk(form: Form, radius: float) -> float:
    """Return the distance in mm from the eye to the base of the blade."""
    return max(form.petiole * form.length, radius * 1.35)


def _joined(form: Form, body: Polygon, radius: float, gap: float) -> Points:
    """Blade, tapering stalk and the disc around the eye as one ring (N, 2), with soft shoulders where they meet."""
    width = max(0.032 * form.length, 0.7 * radius)
    into = gap + 0.12 * form.length
    strip = Polygon(
        [(side * half, at) for side, ends in ((1, 1), (-1, -1)) for half, at in _stalk_side(width, gap, into)[::ends]]
    )
    disc = Point(0, 0).buffer(radius, quad_segs=64)
    whole = shapely.union_all([body, strip, disc])
    # Only the shoulders of the stalk are softened: closing the whole outline would fill the teeth.
    close = form.cordate > 0 or form.family == "palmate"
    soft = 0.025 * form.length if close else min(1.1 * radius, 0.4 * gap + 2.0)
    closed = whole.buffer(soft, quad_segs=48).buffer(-soft, quad_segs=48)
    reach = gap + max(0.03 * form.length, 2.0)
    near = shapely.box(-2.2 * radius, -2 * radius, 2.2 * radius, reach)
    whole = whole.union(closed.intersection(near)).buffer(0)
    largest = max(shapely.get_parts(whole), key=lambda p: p.area)
    return np.asarray(largest.exterior.coords)[:-1]


def _stalk_side(width: float, gap: float, into: float) -> list[tuple[float, float]]:
    return [(0.5 * width, 0.0), (0.52 * width, 0.5 * (gap + into)), (0.3 * width, into)]


def _counter_clockwise(ring: Points) -> Points:
    return ring if shapely.LinearRing(ring).is_ccw else ring[::-1]


def _bent_vein(ends: NDArray[np.float64], bend: Bend, gap: float) -> Path:
    a, middle, b = bend(ends + np.array([0.0, gap]))
    return arc_through(a, middle, b)


def _kept(paths: list[Path], inside: Polygon, clear: float) -> tuple[Path, ...]:
    """Veins cut back to where they stay off the edge and off the eye; a vein that leaves the blade is shortened."""
    kept = []
    zone = inside.difference(Point(0, 0).buffer(clear))
    for path in paths:
        points = _sampled(path)
        good = shapely.contains_xy(zone, points[:, 0], points[:, 1])
        first, last = _longest_run(good)
        if last - first > 12:
            run = points[first:last]
            kept.append(arc_through(run[0], run[len(run) // 2], run[-1]))
    return tuple(kept)


def _longest_run(good: NDArray[np.bool_]) -> tuple[int, int]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]])))
    if len(edges) == 0:
        return 0, 0
    starts, ends = edges[::2], edges[1::2]
    best = int(np.argmax(ends - starts))
    return int(starts[best]), int(ends[best])


def _sampled(path: Path, count: int = 121) -> Points:
    return even(flattened(path, 0.005), float(path_length(path)) / count)
