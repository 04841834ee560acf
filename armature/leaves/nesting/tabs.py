"""What holds leaves while the table cuts: small tabs left in the outline, or pins through the waste."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

from armature.leaves.nesting.plates import Plate
from armature.leaves.outline import Path, Points, path_length

# Pins: hole, room around it, and how far apart they are wanted at least, mm. Common practice, no source.
PIN, _ROOM, _APART = 4.0, 4.0, 120.0
_MOST_PINS = 16


def tabbed(path: Path, count: int, width: float, kerf: float) -> list[Path]:
    """Return a closed path as `count` open ones that leave `width` mm of metal standing between each two.

    The torch rounds both ends of a gap by half a kerf, so the gap drawn is width and kerf together. The first tab lies
    half a piece behind the start, off the lead-in. Without
    tabs the path comes back whole; where they would leave no cut between them, as few as leave some.
    """
    whole = path_length(path)
    gap = width + kerf
    count = min(count, int(whole / (4.0 * gap)))
    if count < 1:
        return [path]
    step = whole / count
    pieces = [(k * step + gap / 2 - step / 2, (k + 1) * step - gap / 2 - step / 2) for k in range(count)]
    return [part(path, start % whole, (end - start)) for start, end in pieces]


def part(path: Path, start: float, length: float) -> Path:
    """Return the open path along a closed one from `start` mm on, `length` mm long, in arcs and straights."""
    points, bulges, runs = _pieces(path)
    ends = np.cumsum(runs)
    kept: list[tuple[Points, float]] = []
    at, left = start % float(ends[-1]), length
    row = int(np.searchsorted(ends, at, side="right")) % len(runs)
    inside = at - (float(ends[row]) - float(runs[row]))
    last = points[row]
    while left > 1e-9:
        run = min(float(runs[row]) - inside, left)
        a, b, bulge = _sub(
            points[row], points[(row + 1) % len(points)], float(bulges[row]), float(runs[row]), inside, run
        )
        if run > 1e-9:
            kept.append((a, bulge))
            last = b
        left, inside, row = left - run, 0.0, (row + 1) % len(runs)
    return Path(np.array([p for p, _ in kept] + [last]), np.array([b for _, b in kept] + [0.0]), closed=False)


def _pieces(path: Path) -> tuple[Points, Points, Points]:
    after = np.roll(path.points, -1, axis=0)
    chords = np.hypot(*(after - path.points).T)
    angles = 4.0 * np.arctan(np.abs(path.bulges))
    wide = np.where(angles > 1e-9, angles, 1.0)
    arcs = np.where(angles > 1e-9, chords * wide / (2.0 * np.sin(wide / 2.0)), chords)
    return path.points, path.bulges, arcs


def _sub(a: Points, b: Points, bulge: float, whole: float, start: float, run: float) -> tuple[Points, Points, float]:
    """Ends and bulge of a part of one piece."""
    shares = start / whole, (start + run) / whole
    angle = 4.0 * np.arctan(bulge)
    if abs(angle) < 1e-9:
        return a + (b - a) * shares[0], a + (b - a) * shares[1], 0.0
    chord = b - a
    left = np.array([-chord[1], chord[0]])
    centre = (a + b) / 2 + left / (2.0 * np.tan(angle / 2.0))
    ends = []
    for share in shares:
        c, s = np.cos(angle * share), np.sin(angle * share)
        spoke = a - centre
        ends.append(centre + np.array([c * spoke[0] - s * spoke[1], s * spoke[0] + c * spoke[1]]))
    return ends[0], ends[1], float(np.tan(angle * run / whole / 4.0))


def pins(plate: Plate, shapes: Sequence[Polygon]) -> Points:
    """Return the middles (N, 2) of holes for pins or screws, in the waste and as far apart as it lets them be, mm.

    Each keeps 4 mm of metal to every leaf and to the plate's edge; none where the waste is nowhere so wide.
    """
    reach = PIN / 2 + _ROOM
    x = np.arange(reach, plate.width - reach + 0.1, 4.0)
    y = np.arange(reach, plate.height - reach + 0.1, 4.0)
    spots = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    if len(spots) == 0:
        return np.zeros((0, 2))
    tree = shapely.STRtree(list(shapes))
    close, _ = tree.query(shapely.points(spots), predicate="dwithin", distance=reach)
    spots = np.delete(spots, np.unique(close), axis=0)
    picked: list[Points] = []
    away = np.hypot(*(spots - [plate.width, plate.height]).T) if len(spots) else np.zeros(0)
    # The first nearest a corner, each next one the farthest from all others.
    away = -np.abs(away) if len(away) else away
    while len(spots) and len(picked) < _MOST_PINS:
        k = int(np.argmax(np.round(away, 6)))
        if picked and away[k] < _APART:
            break
        picked.append(spots[k])
        new = np.hypot(*(spots - spots[k]).T)
        away = new if len(picked) == 1 else np.minimum(away, new)
    return np.array(picked).reshape(-1, 2)
