"""Plane curves for the cutting table: straights and circular arcs, never point soup.

K points; the piece from point k to point k+1 carries `bulges[k]`, the tangent of a quarter of its arc's angle
(0 a straight, positive bending to the left, 1 a half circle), as in the polylines of the DXF reference.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import LineString, Polygon

Points = NDArray[np.float64]
_FLAT = 1e-9


@dataclass(frozen=True, eq=False)
class Path:
    """A chain of straights and arcs in the plane.

    points: (K, 2) mm. bulges: (K,), the last one used only where the path is closed.
    """

    points: Points
    bulges: NDArray[np.float64]
    closed: bool = True


def circle(x: float, y: float, diameter: float) -> Path:
    """Return a full circle as two half-circle arcs, counter-clockwise.

    >>> round(path_area(circle(0, 0, 2)), 6)
    3.141593
    """
    r = diameter / 2
    return Path(np.array([[x + r, y], [x - r, y]]), np.array([1.0, 1.0]))


def path_length(path: Path) -> float:
    """Return the length in mm along straights and arcs."""
    start, end, bulge = _pieces(path)
    chord = np.hypot(*(end - start).T)
    half = 2 * np.arctan(np.abs(bulge))
    return float(np.sum(np.where(half > _FLAT, chord * half / np.maximum(np.sin(half), _FLAT), chord)))


def path_area(path: Path) -> float:
    """Return the enclosed area in mm2, positive for a counter-clockwise path: exact, arcs included."""
    return _area_and_moment(path)[0]


def path_centroid(path: Path) -> Points:
    """Return the centroid (2,) of the enclosed area in mm: exact, arcs included."""
    area, moment = _area_and_moment(path)
    return moment / area


@lru_cache(maxsize=4096)
def flattened(path: Path, chord_error: float = 0.05) -> Points:
    """Return points (N, 2) whose chords stay within `chord_error` mm of the path; a closed path is not repeated.

    The same path is asked for on every leaf of its design: the points are kept, and cannot be written to.
    """
    start, end, bulge = _pieces(path)
    out = [start[:1]] if len(start) else [path.points]
    for a, b, k in zip(start, end, bulge, strict=True):
        out.append(_arc_points(a, b, float(k), chord_error))
    points = np.concatenate(out)
    points = points[:-1] if path.closed else points
    points.setflags(write=False)
    return points


def polygon(path: Path, chord_error: float = 0.05) -> Polygon:
    """Return the enclosed area as a shapely polygon."""
    return Polygon(flattened(path, chord_error))


def line(path: Path, chord_error: float = 0.05) -> LineString:
    """Return an open path as a shapely line."""
    return LineString(flattened(path, chord_error))


def moved(path: Path, turn_deg: float, shift: ArrayLike) -> Path:
    """Return the path turned about the origin by `turn_deg`, then shifted by (dx, dy) mm."""
    a = np.deg2rad(turn_deg)
    turn = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    return Path(path.points @ turn.T + np.asarray(shift, dtype=float), path.bulges, path.closed)


def reversed_path(path: Path) -> Path:
    """Return the same curve run the other way."""
    points = path.points[::-1]
    bulges = -path.bulges[::-1]
    return Path(points, np.roll(bulges, -1), path.closed)


def arc_through(a: ArrayLike, middle: ArrayLike, b: ArrayLike) -> Path:
    """Return the open arc from a to b whose middle bulges toward `middle`.

    >>> float(round(arc_through((0, 0), (1, -1), (2, 0)).bulges[0], 6))
    1.0
    """
    p, m, q = (np.asarray(v, dtype=float) for v in (a, middle, b))
    chord = q - p
    length = float(np.hypot(*chord))
    sagitta = float(chord[0] * (p[1] - m[1]) - chord[1] * (p[0] - m[0])) / length
    return Path(np.stack([p, q]), np.array([2 * sagitta / length, 0.0]), closed=False)


def _pieces(path: Path) -> tuple[Points, Points, NDArray[np.float64]]:
    if path.closed:
        return path.points, np.roll(path.points, -1, axis=0), path.bulges
    return path.points[:-1], path.points[1:], path.bulges[:-1]


def _area_and_moment(path: Path) -> tuple[float, Points]:
    start, end, bulge = _pieces(path)
    origin = start[0]
    p, q = start - origin, end - origin
    cross = p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0]
    moment = np.sum((p + q) * cross[:, None], axis=0) / 6
    chord = q - p
    length = np.hypot(*chord.T)
    segment, rise = _segments(length, np.abs(bulge))
    sign = np.sign(bulge)
    # A bulge to the left of travel turns left, so its arc lies on the right of the chord.
    right = np.stack([chord[:, 1], -chord[:, 0]], axis=1) / np.maximum(length, 1e-300)[:, None] * sign[:, None]
    segment = segment * sign
    centre = (p + q) / 2 + right * rise[:, None]
    area = float(np.sum(cross) / 2 + np.sum(segment))
    return area, moment + np.sum(centre * segment[:, None], axis=0) + origin * area


def _segments(length: NDArray[np.float64], bulge: NDArray[np.float64]) -> tuple[Points, Points]:
    """Area of each circular segment on its chord, and how far its centroid lies off the chord."""
    angle = 4 * np.arctan(bulge)
    # Below a thousandth of a radian the difference of angle and sine drowns in rounding; the segment is a parabola's.
    flat = angle < 1e-3
    wide = np.where(flat, 1.0, angle)
    radius = length / (2 * np.sin(wide / 2))
    slice_ = wide - np.sin(wide)
    area = np.where(flat, length**2 * bulge / 3, radius**2 / 2 * slice_)
    rise = radius * (4 * np.sin(wide / 2) ** 3 / (3 * slice_) - np.cos(wide / 2))
    return area, np.where(flat, 0.2 * length * bulge, rise)


def _arc_points(a: Points, b: Points, bulge: float, chord_error: float) -> Points:
    if abs(bulge) < _FLAT:
        return b[None]
    # Numbers one by one: arrays of one are much slower.
    (ax, ay), (bx, by) = a.tolist(), b.tolist()
    angle = 4 * math.atan(bulge)
    length = math.hypot(bx - ax, by - ay)
    radius = length / (2 * abs(math.sin(angle / 2)))
    step = 2 * math.acos(max(1 - chord_error / radius, -1.0)) if radius > chord_error else math.pi / 2
    count = max(math.ceil(abs(angle) / step), 1)
    if count == 1:
        return b[None]
    off = 1 / (2 * math.tan(angle / 2))
    x, y = (ax + bx) / 2 - (by - ay) * off, (ay + by) / 2 + (bx - ax) * off
    turns = angle * np.arange(1, count) / count
    c, s = np.cos(turns), np.sin(turns)
    points = np.empty((count, 2))
    points[:-1, 0] = x + c * (ax - x) - s * (ay - y)
    points[:-1, 1] = y + s * (ax - x) + c * (ay - y)
    points[-1] = b
    return points
