"""The cutting table's work: eyes before outlines, lead-ins that stay in the waste, an order that travels little."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import Polygon

from armature.leaves.nesting.heat import cooled_order
from armature.leaves.nesting.plates import Plate, placed_shapes
from armature.leaves.outline import CHORD_ERROR, Design, Path, Points, circle, fitted, moved, path_length, polygon

_REACH = 40.0
_SHRINK = (1.0, 0.7, 0.5, 0.35)


@dataclass(frozen=True, eq=False)
class Cut:
    """One leaf on a plate: its row there, eye and outline as the torch runs, and where each is pierced, mm.

    Each path starts where its lead-in ends. lead, eye_lead: (2, 2) from the pierce to the path. veins: to etch.
    """

    row: int
    eye: Path
    outline: Path
    lead: Points
    eye_lead: Points
    veins: tuple[Path, ...]

    @property
    def length(self) -> float:
        """Length of cut, lead-ins included, mm."""
        leads = float(np.hypot(*(self.lead[1] - self.lead[0])) + np.hypot(*(self.eye_lead[1] - self.eye_lead[0])))
        return path_length(self.eye) + path_length(self.outline) + leads


def plate_cuts(plate: Plate, designs: Sequence[Design], offset: float, lead_in: float) -> list[Cut]:
    """Return the leaves of a plate in cutting order: swept up one column and down the next, none beside the one before.

    offset: half the kerf where the path is compensated, else 0. lead_in: mm; shorter where the waste is narrow.
    """
    shapes = placed_shapes(plate, designs, 0.05)
    paths = {d.number: (cut_path(d.outline, offset), circle(0, 0, d.eye - 2 * offset)) for d in designs}
    veins = {d.number: d.veins for d in designs}
    tree = shapely.STRtree(shapes)
    edge = shapely.box(0, 0, plate.width, plate.height).exterior
    cuts = []
    for row in cooled_order(travel_order(plate, designs), shapes):
        number, turn, shift = int(plate.designs[row]), float(plate.turns[row]), plate.shifts[row]
        outline, eye = (moved(path, turn, shift) for path in paths[number])
        near = [shapes[k] for k in tree.query(shapes[row], "dwithin", _REACH).tolist() if k != row]
        waste = shapely.GeometryCollection([*near, edge])
        start, lead = _led_in(outline, shapes[row], waste, lead_in)
        inside = np.array([eye.points[0] + (shift - eye.points[0]) * 0.7, eye.points[0]])
        cuts.append(Cut(row, eye, start, lead, inside, tuple(moved(v, turn, shift) for v in veins[number])))
    return cuts


def cut_path(outline: Path, offset: float) -> Path:
    """Return the outline moved outward by `offset` mm, again in arcs and straights within the chord error."""
    if offset == 0.0:
        return outline
    grown = polygon(outline, CHORD_ERROR / 5).buffer(offset, quad_segs=32)
    assert isinstance(grown, Polygon)
    ring = np.asarray(shapely.geometry.polygon.orient(grown).exterior.coords)[:-1]
    return fitted(ring, CHORD_ERROR)


def travel_order(plate: Plate, designs: Sequence[Design]) -> list[int]:
    """Return the rows of a plate's leaves, column by column, up and down in turn."""
    column = max((d.length for d in designs), default=1.0)
    middles = np.array([s.centroid.coords[0] for s in placed_shapes(plate, designs, 0.5)]).reshape(-1, 2)
    which = np.floor(middles[:, 0] / column).astype(int)
    upward = np.where(which % 2 == 0, middles[:, 1], -middles[:, 1])
    return [int(k) for k in np.lexsort((np.arange(len(plate)), np.round(upward, 3), which))]


def _led_in(outline: Path, shape: Polygon, waste: shapely.Geometry, lead_in: float) -> tuple[Path, Points]:
    """The outline begun where the waste beside it is widest, and the lead-in from there."""
    points = outline.points
    out = _outward(outline)
    for share in _SHRINK:
        starts = points + share * lead_in * out
        spots = shapely.points(starts)
        # Half a lead-in of room on every side: a pierce throws a crater wider than the kerf.
        room = np.minimum(shapely.distance(spots, waste), 2.0 * shapely.distance(spots, shape))
        best = int(np.argmax(np.round(room, 4)))
        if room[best] >= 0.5 * share * lead_in or share == _SHRINK[-1]:
            break
    begun = Path(np.roll(points, -best, axis=0), np.roll(outline.bulges, -best))
    return begun, np.stack([starts[best], points[best]])


def _outward(outline: Path) -> Points:
    """Unit direction away from the leaf at each vertex: between the two pieces' normals, outlines counter-clockwise."""
    points, bulges = outline.points, outline.bulges
    chord = np.roll(points, -1, axis=0) - points
    heading = np.arctan2(chord[:, 1], chord[:, 0])
    leave = heading - 2 * np.arctan(bulges)
    arrive = np.roll(heading + 2 * np.arctan(bulges), 1)
    way = np.stack([np.cos(leave) + np.cos(arrive), np.sin(leave) + np.sin(arrive)], axis=1)
    size = np.hypot(*way.T)
    way = np.where(size[:, None] > 1e-9, way / np.maximum(size, 1e-9)[:, None], 0.0)
    return np.stack([way[:, 1], -way[:, 0]], axis=1)
