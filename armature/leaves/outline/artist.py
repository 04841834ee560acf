"""Outlines drawn by the artist: DXF or SVG files turned into designs, checked before any sheet is cut.

In a DXF the outline is the largest closed curve (polylines, lines and arcs that meet, circles, splines), the eye the
circle inside it, veins lie on a layer whose name holds `vein` or `etch`. In an SVG, paths and shapes alike; veins are
those whose id, class or layer holds either word. Apex down, as the leaf hangs; a file's own units are used.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path as File

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.ops import linemerge
from shapely.validation import explain_validity

from armature.edge import CommissionError, FileError
from armature.leaves.outline.arcs import Path, Points, arc_through, line, moved, polygon
from armature.leaves.outline.fitting import fitted
from armature.leaves.outline.outlines import CHORD_ERROR, Design

JOIN = 0.02
# A gap that a hand leaves and an eye does not see, mm.
GAP = 1.0
_MOST_ENDS = 400
# No sheet is larger; a number beyond it is a slip of units or a broken file.
FARTHEST = 20_000.0


@dataclass(frozen=True)
class Drawing:
    """What a file holds, in mm, y up: `curves` to cut and `veins` to chase, each (N, 2) points of a drawn line."""

    curves: list[Points]
    veins: list[Points]


def artist_design(
    file: File,
    number: int,
    eye: float,
    edge: float,
    least: float,
    chord_error: float = CHORD_ERROR,
    hole: float = 0.0,
    gap: float = GAP,
    dxf_units: str = "",
) -> Design:
    """Return the design drawn in a DXF or SVG file, its eye moved to the origin.

    eye: hole diameter in mm, used where the drawing has none; then the hole sits where the leaf's top has room.
    edge: least distance of the hole's centre from the edge, in hole diameters. least: thinnest neck allowed, mm.
    chord_error: farthest that the cut arcs may lie from the drawn curve, mm. hole: narrowest eye that takes the loop
    and can be cut, mm. gap: widest gap of the outline that is closed, mm. dxf_units: unit of a DXF that states none.
    Raises CommissionError where the outline is open, crosses itself, is too thin, or leaves no room for the eye.
    """
    drawing = _read(file, dxf_units)
    for points in (*drawing.curves, *drawing.veins):
        if not bool((np.abs(points) <= FARTHEST).all()):
            raise CommissionError(str(file), f"all that is drawn must lie within {FARTHEST / 1000:g} m of the origin")
    rings, lines = _rings(file, drawing.curves, gap)
    outer = max(rings, key=lambda ring: ring.area)
    holes = [ring for ring in rings if ring is not outer and outer.contains(ring)]
    strays = [ring for ring in rings if ring is not outer and not outer.contains(ring)]
    strays += [ring for ring in holes if ring.area > 0.25 * outer.area]
    if strays:
        raise CommissionError(str(file), "one outline to a file and one eye in it; other closed curves", len(strays))
    _check_thick(file, outer, least)
    centre, hole = _eye(file, outer, holes, max(eye, hole), edge, hole)
    shift = -centre
    ring = np.asarray(shapely.geometry.polygon.orient(outer).exterior.coords)[:-1]
    outline = moved(fitted(ring, chord_error), 0.0, shift)
    low_x, low_y, high_x, high_y = outer.bounds
    veins = _vein_paths([*drawing.veins, *lines], outer, shift)
    if not polygon(outline).is_valid:
        at = explain_validity(polygon(outline))
        raise CommissionError(str(file), f"the outline comes too near itself to be cut: {at}")
    return Design(number, file.stem, outline, hole, veins, (high_y - low_y, high_x - low_x))


def _read(file: File, dxf_units: str) -> Drawing:
    if not file.is_file():
        raise FileError(file, "no such outline file")
    kind = file.suffix.lower()
    if kind == ".dxf":
        from armature.leaves.outline.dxf_in import read_dxf

        return Drawing(*read_dxf(file, dxf_units))
    if kind == ".svg":
        from armature.leaves.outline.svg_in import read_svg

        return Drawing(*read_svg(file))
    raise CommissionError(str(file), "outlines come as .dxf or .svg", file.suffix)


def _rings(file: File, curves: list[Points], gap: float) -> tuple[list[Polygon], list[Points]]:
    """Return closed polygons made of the drawn curves, and open lines inside the largest, which are veins.

    Pieces that meet within 0.02 mm are joined, then ends nearer than `gap`, the nearest first.
    """
    closed = [c for c in curves if len(c) > 3 and np.hypot(*(c[0] - c[-1])) <= JOIN]
    pieces = [LineString(np.round(c / JOIN) * JOIN) for c in curves if not any(c is d for d in closed) and len(c) > 1]
    merged = linemerge(pieces) if pieces else LineString()
    joined = _bridged([np.asarray(part.coords) for part in shapely.get_parts(merged) if not part.is_empty], gap)
    closed += [points for points in joined if np.hypot(*(points[0] - points[-1])) <= JOIN]
    lines = [points for points in joined if np.hypot(*(points[0] - points[-1])) > JOIN]
    rings = [_ring(file, points) for points in closed if len(points) > 3]
    outer = max(rings, key=lambda ring: ring.area) if rings else None
    for points in lines:
        if outer is None or not outer.buffer(gap).covers(LineString(points)):
            apart, at = float(np.hypot(*(points[0] - points[-1]))), f"({points[0][0]:.1f}, {points[0][1]:.1f})"
            rule = f"the outline must close, gaps to {gap:g} mm aside; it is open by {apart:.2f} mm near {at}"
            raise CommissionError(str(file), rule)
    if not rings:
        raise CommissionError(str(file), "holds no closed outline")
    return rings, lines


def _bridged(lines: list[Points], gap: float) -> list[Points]:
    """Return lines of which ends nearer than `gap` are joined by a straight, the nearest first.

    A line whose own ends are that near is closed, unless it is hardly longer than the gap.
    """
    lines = list(lines)
    while True:
        ends = [(k, side, line_[-side]) for k, line_ in enumerate(lines) for side in (0, 1) if not _is_closed(line_)]
        if len(ends) < 2 or len(ends) > _MOST_ENDS:
            return lines
        places = np.array([end[2] for end in ends])
        away = np.hypot(*(places[:, None] - places[None]).transpose(2, 0, 1))
        away[np.tril_indices(len(ends))] = np.inf
        for own in range(0, len(ends), 2):
            length = float(np.hypot(*np.diff(lines[ends[own][0]], axis=0).T).sum())
            away[own, own + 1] = away[own, own + 1] if length > 4.0 * gap else np.inf
        one, other = np.unravel_index(int(np.argmin(away)), away.shape)
        if not away[one, other] <= gap:
            return lines
        (k, side, _), (m, far, _) = ends[int(one)], ends[int(other)]
        if k == m:
            lines[k] = np.concatenate([lines[k], lines[k][:1]])
        else:
            first, second = lines[k] if side else lines[k][::-1], lines[m][::-1] if far else lines[m]
            lines[k] = np.concatenate([first, second])
            del lines[m]


def _is_closed(points: Points) -> bool:
    return bool(np.hypot(*(points[0] - points[-1])) <= JOIN)


def _ring(file: File, points: Points) -> Polygon:
    ring = Polygon(points)
    if ring.convex_hull.area == 0.0:
        x, y = ring.exterior.coords[0][:2]
        raise CommissionError(str(file), f"a closed curve must have an area; see ({x:.1f}, {y:.1f}) mm")
    if not ring.is_valid:
        raise CommissionError(str(file), f"the outline must not cross itself: {explain_validity(ring)}")
    return ring


def _check_thick(file: File, outer: Polygon, least: float) -> None:
    """A neck thinner than `least` parts the outline when its edge is taken in by half of that."""
    parts = [p for p in shapely.get_parts(outer.buffer(-least / 2)) if p.area > least**2]
    if len(parts) != 1:
        fault = "nothing is left" if not parts else f"it falls into {len(parts)} pieces"
        rule = f"no neck of the outline may be thinner than {least:.1f} mm: taken in by half, {fault}"
        raise CommissionError(str(file), rule)


def _eye(
    file: File, outer: Polygon, holes: list[Polygon], eye: float, edge: float, least: float
) -> tuple[Points, float]:
    if len(holes) > 1:
        raise CommissionError(str(file), "one eye to a leaf", len(holes))
    if holes:
        hole = holes[0]
        diameter = float(2 * np.sqrt(hole.area / np.pi))
        centre = np.array([hole.centroid.x, hole.centroid.y])
        room = outer.exterior.distance(hole.centroid)
        if diameter < least - 0.05:
            rule = f"the eye must be at least {least:.1f} mm wide, to take its loop and to be cut"
            raise CommissionError(str(file), rule, f"{diameter:.1f} mm")
        if room < edge * diameter - 0.05:
            rule = f"the eye's centre must be {edge:g} hole diameters ({edge * diameter:.1f} mm) from the edge"
            raise CommissionError(str(file), rule, f"{room:.1f} mm")
        return centre, diameter
    inner = outer.buffer(-edge * eye)
    if inner.is_empty:
        low_x, low_y, high_x, high_y = outer.bounds
        rule = f"no room for an eye of {eye:.1f} mm, {edge:g} hole diameters from the edge, on an outline so large"
        raise CommissionError(str(file), rule, f"{high_x - low_x:.1f} x {high_y - low_y:.1f} mm")
    highest = max((np.asarray(p.exterior.coords) for p in shapely.get_parts(inner)), key=lambda c: c[:, 1].max())
    top = highest[np.argmax(highest[:, 1])]
    return np.asarray(top), eye


def _vein_paths(veins: list[Points], outer: Polygon, shift: Points) -> tuple[Path, ...]:
    """Veins as paths, cut back to the outline where they run beyond it."""
    lines: list[Points] = []
    for points in veins:
        drawn = LineString(points)
        if outer.covers(drawn):
            lines.append(points)
        else:
            parts = shapely.get_parts(drawn.intersection(outer))
            lines += [np.asarray(part.coords) for part in parts if part.geom_type == "LineString"]
    return tuple(_arc(points + shift) for points in lines if len(points) > 1)


def _arc(points: Points) -> Path:
    """One drawn vein as an open path: an arc where one arc serves, else its points."""
    straight = Path(points, np.zeros(len(points)), closed=False)
    if np.hypot(*(points[0] - points[-1])) <= JOIN:
        return straight
    single = arc_through(points[0], points[len(points) // 2], points[-1])
    if len(points) == 2 or line(single).hausdorff_distance(LineString(points)) <= CHORD_ERROR * 2:
        return single
    return straight
