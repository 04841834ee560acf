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

from armature.errors import CommissionError, FileError
from armature.leaves.outline.arcs import Path, Points, arc_through, line, moved
from armature.leaves.outline.fitting import fitted
from armature.leaves.outline.outlines import CHORD_ERROR, Design

JOIN = 0.02
# No sheet is larger; a number beyond it is a slip of units or a broken file.
FARTHEST = 20_000.0


@dataclass(frozen=True)
class Drawing:
    """What a file holds, in mm, y up: `curves` to cut and `veins` to chase, each (N, 2) points of a drawn line."""

    curves: list[Points]
    veins: list[Points]


def artist_design(
    file: File, number: int, eye: float, edge: float, least: float, chord_error: float = CHORD_ERROR, hole: float = 0.0
) -> Design:
    """Return the design drawn in a DXF or SVG file, its eye moved to the origin.

    eye: hole diameter in mm, used where the drawing has none; then the hole sits where the leaf's top has room.
    edge: least distance of the hole's centre from the edge, in hole diameters. least: thinnest neck allowed, mm.
    chord_error: farthest that the cut arcs may lie from the drawn curve, mm. hole: narrowest eye that takes the loop
    and can be cut, mm.
    Raises CommissionError where the outline is open, crosses itself, is too thin, or leaves no room for the eye.
    """
    drawing = _read(file)
    for points in (*drawing.curves, *drawing.veins):
        if not bool((np.abs(points) <= FARTHEST).all()):
            raise CommissionError(str(file), f"all that is drawn must lie within {FARTHEST / 1000:g} m of the origin")
    rings = _rings(file, drawing.curves)
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
    veins = _vein_paths(drawing.veins, outer, shift)
    return Design(number, file.stem, outline, hole, veins, (high_y - low_y, high_x - low_x))


def _read(file: File) -> Drawing:
    if not file.is_file():
        raise FileError(file, "no such outline file")
    kind = file.suffix.lower()
    if kind == ".dxf":
        from armature.leaves.outline.dxf_in import read_dxf

        return Drawing(*read_dxf(file))
    if kind == ".svg":
        from armature.leaves.outline.svg_in import read_svg

        return Drawing(*read_svg(file))
    raise CommissionError(str(file), "outlines come as .dxf or .svg", file.suffix)


def _rings(file: File, curves: list[Points]) -> list[Polygon]:
    """Closed polygons made of the drawn curves, pieces that meet within 0.02 mm joined."""
    closed = [c for c in curves if len(c) > 3 and np.hypot(*(c[0] - c[-1])) <= JOIN]
    pieces = [LineString(np.round(c / JOIN) * JOIN) for c in curves if not any(c is d for d in closed) and len(c) > 1]
    merged = linemerge(pieces) if pieces else LineString()
    for part in shapely.get_parts(merged):
        points = np.asarray(part.coords)
        if len(points) < 2:
            continue
        gap = float(np.hypot(*(points[0] - points[-1])))
        if gap > JOIN:
            at = f"({points[0][0]:.1f}, {points[0][1]:.1f})"
            raise CommissionError(str(file), f"the outline must close; it is open by {gap:.2f} mm near {at}")
        closed.append(points)
    rings = [Polygon(c) for c in closed]
    if not rings:
        raise CommissionError(str(file), "holds no closed outline")
    for ring in rings:
        if ring.convex_hull.area == 0.0:
            x, y = ring.exterior.coords[0][:2]
            raise CommissionError(str(file), f"a closed curve must have an area; see ({x:.1f}, {y:.1f}) mm")
        if not ring.is_valid:
            raise CommissionError(str(file), f"the outline must not cross itself: {explain_validity(ring)}")
    return rings


def _check_thick(file: File, outer: Polygon, least: float) -> None:
    """A neck thinner than `least` parts the outline when its edge is taken in by half of that."""
    parts = [p for p in shapely.get_parts(outer.buffer(-least / 2)) if p.area > least**2]
    if len(parts) != 1:
        found = "nothing is left" if not parts else f"it falls into {len(parts)} pieces"
        rule = f"no neck of the outline may be thinner than {least:.1f} mm: taken in by half, {found}"
        raise CommissionError(str(file), rule)


def _eye(
    file: File, outer: Polygon, holes: list[Polygon], eye: float, edge: float, least: float
) -> tuple[Points, float]:
    if len(holes) > 1:
        raise CommissionError(str(file), "one eye to a leaf", len(holes))
    if holes:
        hole = holes[0]
        found = float(2 * np.sqrt(hole.area / np.pi))
        centre = np.array([hole.centroid.x, hole.centroid.y])
        room = outer.exterior.distance(hole.centroid)
        if found < least - 0.05:
            rule = f"the eye must be at least {least:.1f} mm wide, to take its loop and to be cut"
            raise CommissionError(str(file), rule, f"{found:.1f} mm")
        if room < edge * found - 0.05:
            rule = f"the eye's centre must be {edge:g} hole diameters ({edge * found:.1f} mm) from the edge"
            raise CommissionError(str(file), rule, f"{room:.1f} mm")
        return centre, found
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
    found: list[Points] = []
    for points in veins:
        drawn = LineString(points)
        if outer.covers(drawn):
            found.append(points)
        else:
            parts = shapely.get_parts(drawn.intersection(outer))
            found += [np.asarray(part.coords) for part in parts if part.geom_type == "LineString"]
    return tuple(_arc(points + shift) for points in found if len(points) > 1)


def _arc(points: Points) -> Path:
    """One drawn vein as an open path: an arc where one arc serves, else its points."""
    straight = Path(points, np.zeros(len(points)), closed=False)
    if np.hypot(*(points[0] - points[-1])) <= JOIN:
        return straight
    single = arc_through(points[0], points[len(points) // 2], points[-1])
    if len(points) == 2 or line(single).hausdorff_distance(LineString(points)) <= CHORD_ERROR * 2:
        return single
    return straight
