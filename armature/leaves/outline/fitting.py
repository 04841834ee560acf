"""Arcs and straights fitted to a densely drawn curve, within a stated chord error.

Runs between corners are covered greedily: the longest pair of arcs, tangent to the run at both ends, that keeps
every drawn point within the error. Such a pair of arcs (a biarc) meets smoothly in the middle (Bolton, "Biarc
curves", Computer-Aided Design 7, 1975, from memory).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from armature.leaves.outline.arcs import Path, Points

CORNER_DEG = 24.0
_STEP = 2.0


def fitted(ring: Points, chord_error: float = 0.05, corner_deg: float = CORNER_DEG) -> Path:
    """Return a closed path of arcs and straights within `chord_error` mm of the drawn ring.

    ring: (N, 2) mm, not repeated at its end. A vertex that turns by more than `corner_deg` stays a sharp corner.
    """
    # Rounded far below the error, so that the last digits of another processor's sines choose no other arcs.
    # Points nearer than a fifth of the error would become pieces at which a cutting table stutters.
    ring = _thinned(np.round(ring, 6), 1e-4)
    drawn, ring = len(ring), _thinned(ring, 0.2 * chord_error)
    error = chord_error if len(ring) == drawn else 0.8 * chord_error
    ring = _filled(ring)
    corners = np.flatnonzero(np.abs(turning(ring)) > corner_deg)
    first = int(corners[0]) if len(corners) else 0
    ring = np.roll(ring, -first, axis=0)
    stops = np.concatenate([corners - first, [len(ring)]]) if len(corners) else np.array([0, len(ring)])
    looped = np.concatenate([ring, ring[:1]])
    smooth = len(corners) == 0
    points: list[Points] = []
    bulges: list[float] = []
    for a, b in pairwise(stops.tolist()):
        run = looped[a : b + 1]
        _fit_run(run, _tangents(run, closed=smooth), error, points, bulges)
    return Path(np.array(points), np.array(bulges))


def turning(ring: Points) -> NDArray[np.float64]:
    """Return the turn in degrees at each vertex of a closed ring, left positive: shape (N,)."""
    ahead = np.roll(ring, -1, axis=0) - ring
    behind = np.roll(ahead, 1, axis=0)
    cross = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
    return np.asarray(np.rad2deg(np.arctan2(cross, np.sum(behind * ahead, axis=1))))


def _thinned(ring: Points, least: float) -> Points:
    gap = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    return np.asarray(ring[gap > least])


def _filled(ring: Points) -> Points:
    """The ring with points on its long edges: the error is measured at points, so none may be far from the next."""
    after = np.roll(ring, -1, axis=0)
    counts = np.maximum(np.ceil(np.hypot(*(after - ring).T) / _STEP).astype(np.int64), 1)
    owner = np.repeat(np.arange(len(ring)), counts)
    share = (np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[owner]
    return np.asarray(ring[owner] + share[:, None] * (after - ring)[owner])


def _tangents(run: Points, closed: bool) -> Points:
    """Unit directions by the circle through each point and its neighbours; at the ends by that circle mirrored."""
    if len(run) == 2:
        return np.asarray(np.repeat(_unit(run[1:] - run[:1]), 2, axis=0), dtype=np.float64)
    step = run[1:] - run[:-1]
    length = np.hypot(*step.T)
    way = step / length[:, None]
    inner = way[:-1] * length[1:, None] + way[1:] * length[:-1, None]
    if closed:
        seam = way[-1] * length[0] + way[0] * length[-1]
        return _unit(np.concatenate([seam[None], inner, seam[None]]))
    inner = _unit(inner)
    first = 2 * np.dot(way[0], inner[0]) * way[0] - inner[0]
    last = 2 * np.dot(way[-1], inner[-1]) * way[-1] - inner[-1]
    return _unit(np.concatenate([first[None], inner, last[None]]))


def _fit_run(run: Points, tangents: Points, error: float, points: list[Points], bulges: list[float]) -> None:
    start, last = 0, len(run) - 1
    while start < last:
        end = _longest(run, tangents, start, error)
        for point, bulge in _pieces(run, tangents, start, end):
            points.append(point)
            bulges.append(bulge)
        start = end


def _longest(run: Points, tangents: Points, start: int, error: float) -> int:
    last = len(run) - 1
    reach = 2
    while start + reach < last and _fits(run, tangents, start, start + reach, error):
        reach *= 2
    good, bad = start + max(reach // 2, 1), min(start + reach, last) + 1
    if bad == last + 1 and _fits(run, tangents, start, last, error):
        return last
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if _fits(run, tangents, start, middle, error) else (good, middle)
    return min(good, last)


def _fits(run: Points, tangents: Points, i: int, j: int, error: float) -> bool:
    if j - i < 2:
        return True
    inner = run[i + 1 : j]
    if float(np.hypot(*(run[j] - run[i]))) < 1e-6:
        return False
    pieces = _pieces(run, tangents, i, j)
    if len(pieces) == 1:
        return bool(np.max(_off_line(inner, run[i], run[j])) <= error)
    joint = pieces[1][0]
    first, second = pieces[0][1], pieces[1][1]
    if max(abs(first), abs(second)) > 0.9:
        return False
    chord = run[j] - run[i]
    before = (inner - joint) @ chord < 0
    off = np.where(before, _off_arc(inner, run[i], joint, first), _off_arc(inner, joint, run[j], second))
    return bool(np.max(off) <= error)


def _pieces(run: Points, tangents: Points, i: int, j: int) -> list[tuple[Points, float]]:
    """One straight or the two arcs of a biarc from point i to point j, as (start, bulge) pairs."""
    p, q, t, u = run[i], run[j], tangents[i], tangents[j]
    v = q - p
    square = float(v @ v)
    along = v / np.sqrt(square)
    if j - i == 1 or (_turn(t, along) < 1e-3 and _turn(along, u) < 1e-3):
        return [(p, 0.0)]
    both, same = float(v @ (t + u)), 1 - float(t @ u)
    if same > 1e-9:
        d = (-both + np.sqrt(both**2 + 2 * same * square)) / (2 * same)
    elif both > 1e-9:
        d = square / (2 * both)
    else:
        return [(p, 0.0)]
    joint = (p + d * t + q - d * u) / 2
    return [(p, _bulge(t, joint - p)), (joint, -_bulge(-u, joint - q))]


def _bulge(tangent: Points, chord: Points) -> float:
    cross = tangent[0] * chord[1] - tangent[1] * chord[0]
    return float(np.tan(np.arctan2(cross, tangent @ chord) / 2))


def _turn(a: Points, b: Points) -> float:
    return float(np.hypot(*(b - a)))


def _unit(vectors: Points) -> Points:
    length = np.hypot(vectors[:, 0], vectors[:, 1])
    return np.asarray(vectors / np.maximum(length, 1e-12)[:, None])


def _off_line(points: Points, a: Points, b: Points) -> NDArray[np.float64]:
    way = (b - a) / np.hypot(*(b - a))
    return np.asarray(np.abs((points[:, 0] - a[0]) * way[1] - (points[:, 1] - a[1]) * way[0]))


def _off_arc(points: Points, a: Points, b: Points, bulge: float) -> NDArray[np.float64]:
    if abs(bulge) < 1e-6:
        return _off_line(points, a, b)
    chord = b - a
    half = 2 * np.arctan(bulge)
    length = np.hypot(*chord)
    left = np.array([-chord[1], chord[0]]) / length
    centre = (a + b) / 2 + left * length / (2 * np.tan(half))
    return np.asarray(np.abs(np.hypot(*(points - centre).T) - length / (2 * abs(np.sin(half)))))
