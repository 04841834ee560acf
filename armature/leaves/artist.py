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
from armature.leaves.arcs import Path, Points, arc_through, line, moved
from armature.leaves.fitting import fitted
from armature.leaves.outlines import CHORD_ERROR, Design

JOIN = 0.02


@dataclass(frozen=True)
class Drawing:
    """What a file holds, in mm, y up: `curves` to cut and `veins` to chase, each (N, 2) points of a drawn line."""

    curves: list[Points]
    veins: list[Points]


def artist_design(
    file: File, number: int, eye: float, edge: float, least: float, chord_error: float = CHORD_ERROR
) -> Design:
    """Return the design drawn in a DXF or SVG file, its eye moved to the origin.

    eye: hole diameter in mm, used where the drawing has none; then the hole sits where the leaf's top has room.
    edge: least distance of the hole's centre from the edge, in hole diameters. least: thinnest neck allowed, mm.
    chord_error: farthest that the cut arcs may lie from the drawn curve, mm.
    Raises CommissionError where the outline is open, crosses itself, is too thin, or leaves no room for the eye.
    """
    drawing = _read(file)
    rings = _rings(file, drawing.curves)
    outer = max(rings, key=lambda ring: ring.area)
    holes = [ring for ring in rings if ring is not outer and outer.contains(ring)]
    strays = [ring for ring in rings if ring is not outer and not outer.contains(ring)]
    if strays:
        raise CommissionError(str(file), "one outline to a file; cut curves outside it", len(strays))
    _check_thick(file, outer, least)
    centre, hole = _eye(file, outer, holes, eye, edge)
    shift = -centre
    ring = np.asarray(shapely.geometry.polygon.orient(outer).exterior.coords)[:-1]
    outline = moved(fitted(ring, chord_error), 0.0, shift)
    low_x, low_y, high_x, high_y = outer.bounds
    return Design(number, file.stem, outline, hole, _vein_paths(drawing.veins, shift), (high_y - low_y, high_x - low_x))


def _read(file: File) -> Drawing:
    if not file.is_file():
        raise FileError(file, "no such outline file")
    kind = file.suffix.lower()
    if kind == ".dxf":
        from armature.leaves.dxf_in import read_dxf

        return Drawing(*read_dxf(file))
    if kind == ".svg":
        from armature.leaves.svg_in import read_svg

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


def _eye(file: File, outer: Polygon, holes: list[Polygon], eye: float, edge: float) -> tuple[Points, float]:
    if len(holes) > 1:
        raise CommissionError(str(file), "one eye to a leaf", len(holes))
    if holes:
        hole = holes[0]
        found = float(2 * np.sqrt(hole.area / np.pi))
        centre = np.array([hole.centroid.x, hole.centroid.y])
        room = outer.exterior.distance(hole.centroid)
        if room < edge * found - 0.05:
            rule = f"the eye's centre must be {edge:g} hole diameters ({edge * found:.1f} mm) from the edge"
            raise CommissionError(str(file), rule, f"{room:.1f} mm")
        return centre, found
    inner = outer.buffer(-edge * eye)
    if inner.is_empty:
        raise CommissionError(str(file), f"no room for an eye of {eye:.1f} mm that far from the edge")
    highest = max((np.asarray(p.exterior.coords) for p in shapely.get_parts(inner)), key=lambda c: c[:, 1].max())
    top = highest[np.argmax(highest[:, 1])]
    return np.asarray(top), eye


def _vein_paths(veins: list[Points], shift: Points) -> tuple[Path, ...]:
    return tuple(_arc(points + shift) for points in veins)


def _arc(points: Points) -> Path:
    """One drawn vein as an open path: an arc where one arc serves, else its points."""
    single = arc_through(points[0], points[len(points) // 2], points[-1])
    if len(points) == 2 or line(single).hausdorff_distance(LineString(points)) <= CHORD_ERROR * 2:
        return single
    return Path(points, np.zeros(len(points)), closed=False)
