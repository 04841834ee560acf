"""Side pictures of the bare tree as rasters, and what is read from them: sky gaps, lacunarity, box dimension, sky
holes.

A picture is 1,024 px square over the larger of the height and the width. Rasters are painted
by strokes, no renderer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError

from armature.look.figures import Reading, nothing
from armature.look.skeleton import Skeleton
from armature.look.strokes import POINTS, blocks, paint, painted, points_of
from armature.tree import Floats, Ints

PIXELS = 1024
# Points set in all, for time: a grown tree of 450 members takes half a million.
_MOST_POINTS = 8_000_000
_COARSE = 128
# Side of the smallest box of the box dimension, px.
_SMALLEST = 4


@dataclass(frozen=True, eq=False)
class SideView:
    """One side picture.

    azimuth: deg, where the viewer stands. wood: (W,) pixels with wood, row * 1024 + column, row 0 at the foot,
    ascending. thin: boxes of 2 px on the centrelines, row * 512 + column. outline: (1024, 2) first and
    last column inside the tips' outline on each row, first > last where none.
    origin: (3,) mm, middle of the picture's lower edge. scale: mm per pixel.
    """

    azimuth: float
    wood: NDArray[np.int32]
    thin: Ints
    outline: Ints
    origin: Floats
    scale: float


def side_views(skeleton: Skeleton, azimuths: Floats) -> list[SideView]:
    """Return the side pictures seen from the azimuths (K,) deg."""
    low, high = skeleton.points.min(axis=0), skeleton.points.max(axis=0)
    middle = np.array([*(low + high)[:2] / 2.0, low[2]])
    reach = np.hypot(*(skeleton.points[:, :2] - middle[:2]).T).max() * 2.0
    scale = max(float(high[2] - low[2]), float(reach), 1e-9) / (PIXELS - 8)
    return [_side_view(skeleton, float(azimuth), middle, scale) for azimuth in azimuths]


def across(points: Floats, azimuth: float, origin: Floats) -> Floats:
    """Return the distance of points (Q, 3) to the right of the origin as seen from the azimuth, deg: (Q,) mm."""
    turn = np.radians(azimuth)
    away = points - origin
    return np.asarray(away[:, 1] * np.cos(turn) - away[:, 0] * np.sin(turn))


def _side_view(skeleton: Skeleton, azimuth: float, origin: Floats, scale: float) -> SideView:
    flat = np.stack([across(skeleton.points, azimuth, origin), skeleton.points[:, 2] - origin[2]], axis=1) / scale
    flat += [PIXELS / 2.0, 4.0]
    wood = _wood(flat, skeleton.radii / scale, skeleton.heads)
    thin = np.flatnonzero(painted(flat / 2.0, np.zeros(len(flat)), skeleton.heads, PIXELS // 2))
    return SideView(
        azimuth, np.flatnonzero(wood).astype(np.int32), thin, _outline(flat[skeleton.offsets[1:] - 1]), origin, scale
    )


def _wood(flat: Floats, half_widths: Floats, heads: Ints) -> NDArray[np.bool_]:
    """Return whether each pixel shows wood: (1024 * 1024,).

    Of wood that lies many times over the same pixels, segments are taken from all over the tree in turn, until what is
    next painted shows nothing new: less than two thousandths of its points.
    """
    total = int(points_of(flat, half_widths, heads).sum())
    if total <= _MOST_POINTS:
        return painted(flat, half_widths, heads, PIXELS)
    wood, shown = np.zeros(PIXELS * PIXELS, dtype=bool), 0
    turns = total // POINTS + 1
    for turn in range(turns):
        for part in blocks(flat, half_widths, heads[turn::turns]):
            paint(wood, flat, half_widths, part, PIXELS)
        if np.count_nonzero(wood) - shown < 0.002 * POINTS:
            break
        shown = int(np.count_nonzero(wood))
    return wood


def _outline(tips: Floats) -> Ints:
    """Return the first and last column of the convex outline of tips (T, 2) px on each row: (1024, 2)."""
    rows = np.arange(PIXELS) + 0.5
    try:
        ring = tips[ConvexHull(tips).vertices]
    except (QhullError, ValueError):
        return np.stack([np.ones(PIXELS, dtype=np.int64), np.zeros(PIXELS, dtype=np.int64)], axis=1)
    first, last = np.full(PIXELS, np.inf), np.full(PIXELS, -np.inf)
    for one, other in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        low, high = (one, other) if one[1] < other[1] else (other, one)
        hit = (rows >= low[1]) & (rows <= high[1])
        column = low[0] + (rows[hit] - low[1]) / max(high[1] - low[1], 1e-9) * (high[0] - low[0])
        first[hit], last[hit] = np.minimum(first[hit], column), np.maximum(last[hit], column)
    none = first > last
    first[none], last[none] = 1.0, 0.0
    return np.stack([np.ceil(first), np.floor(last)], axis=1).astype(np.int64)


def sky_gap(views: list[SideView]) -> Reading:
    """Return the share of the tips' outline through which the sky is seen, bare, mean over the views."""
    gaps = [_gap(view) for view in views]
    if not np.isfinite(gaps).all():
        return nothing()
    worst = int(np.argmax(gaps))
    return Reading(float(np.mean(gaps)), len(views), azimuth=views[worst].azimuth)


def _gap(view: SideView) -> float:
    area = float(np.maximum(view.outline[:, 1] - view.outline[:, 0] + 1, 0).sum())
    row, column = view.wood // PIXELS, view.wood % PIXELS
    limits = view.outline[row]
    filled = int(((column >= limits[:, 0]) & (column <= limits[:, 1])).sum())
    return 1.0 - filled / area if area > 400.0 else float("nan")


def lacunarity(views: list[SideView]) -> Reading:
    """Return the mean square over the squared mean of the wood in a gliding box of 1/32 of the picture, mean over the
    views.

    Boxes with their middle inside the tips' outline. Allain and Cloitre, Phys. Rev. A 44 (1991). 1 for an even picture.
    """
    lacunarities = [_lacunarity(view) for view in views]
    if not np.isfinite(lacunarities).all():
        return nothing()
    return Reading(float(np.mean(lacunarities)), len(views), azimuth=views[int(np.argmin(lacunarities))].azimuth)


def _lacunarity(view: SideView) -> float:
    # Boxes glide in steps of 4 px: an eighth of their side.
    side = PIXELS // 4
    counts = np.bincount(view.wood // PIXELS // 4 * side + view.wood % PIXELS // 4, minlength=side * side)
    masses = box_sums(counts.reshape(side, side).astype(np.int32), side // 32)
    middle = np.arange(len(masses)) + side // 64
    limits = view.outline[::4][middle] // 4
    inside = (middle >= limits[:, :1]) & (middle <= limits[:, 1:])
    filled = masses[inside].astype(np.float64)
    mean = filled.mean() if len(filled) else 0.0
    return float((filled * filled).mean() / mean**2) if mean > 0.0 else float("nan")


def box_sums(picture: NDArray[np.int32], size: int) -> NDArray[np.int32]:
    """Return the sum of a picture (H, W) in every box of `size` px: (H - size + 1, W - size + 1)."""
    total = np.zeros((picture.shape[0] + 1, picture.shape[1] + 1), dtype=np.int32)
    np.cumsum(np.cumsum(picture, axis=0, dtype=np.int32), axis=1, out=total[1:, 1:])
    return total[size:, size:] - total[:-size, size:] - total[size:, :-size] + total[:-size, :-size]


def box_dimension(boxes: NDArray[np.bool_]) -> float:
    """Return the box dimension of a picture, from its boxes of 4 px of 1,024, (256, 256), and those of 8 to 128 px.

    Minus the slope of log count over log size. Koch's curve has log 4 / log 3, Sierpinski's triangle log 3 / log 2.
    """
    sizes = [4, 8, 16, 32, 64, 128]
    counts = []
    for _ in sizes:
        counts.append(int(boxes.sum()))
        boxes = boxes[::2, ::2] | boxes[1::2, ::2] | boxes[::2, 1::2] | boxes[1::2, 1::2]
    return float(-np.polyfit(np.log(sizes), np.log(np.maximum(counts, 1)), 1)[0])


def boxes_of(pixels: NDArray[np.int32] | Ints, side: int) -> NDArray[np.bool_]:
    """Return which boxes of 4 px of 1,024 hold pixels (row * side + column) of a picture of side 1,024 or 512."""
    boxes = np.zeros((PIXELS // _SMALLEST, PIXELS // _SMALLEST), dtype=bool)
    share = side // (PIXELS // _SMALLEST)
    boxes[pixels // (side * share), pixels % side // share] = True
    return boxes


def box_dimension_outline(views: list[SideView]) -> Reading:
    """Return the box dimension of the silhouette with its thickness, mean over the views."""
    return Reading(float(np.mean([box_dimension(boxes_of(view.wood, PIXELS)) for view in views])), len(views))


def box_dimension_lines(views: list[SideView]) -> Reading:
    """Return the box dimension of the centrelines alone, mean over the views."""
    return Reading(float(np.mean([box_dimension(boxes_of(view.thin, PIXELS // 2)) for view in views])), len(views))


def sky_hole(skeleton: Skeleton, views: list[SideView]) -> Reading:
    """Return the radius of the largest round hole of sky inside the tips' outline over that of a disc of the outline's
    area.

    The place lies on the upright plane through the middle of the tree, square to the view.
    """
    best, place, azimuth = 0.0, np.zeros((0, 3)), float("nan")
    for view in views:
        step = PIXELS // _COARSE
        middle = np.arange(_COARSE) * step + step // 2
        limits = view.outline[middle]
        inside = (middle >= limits[:, :1]) & (middle <= limits[:, 1:])
        if inside.sum() < 30:
            return nothing()
        empty = inside.copy()
        empty[view.wood // PIXELS // step, view.wood % PIXELS // step] = False
        from scipy.ndimage import distance_transform_edt

        deep = distance_transform_edt(np.pad(empty, 1))[1:-1, 1:-1]
        radius = float(deep.max()) / np.sqrt(float(inside.sum()) / np.pi)
        if radius > best:
            row, column = np.unravel_index(int(deep.argmax()), deep.shape)
            best, azimuth = radius, view.azimuth
            place = _place(view, float(middle[column]), float(middle[row]))
    about = (
        np.argsort(((skeleton.tips - place[0]) ** 2).sum(axis=1), kind="stable")[:8] if len(place) else np.zeros(0, int)
    )
    return Reading(best, len(views), high_rows=about, high_places=place, azimuth=azimuth)


def _place(view: SideView, column: float, row: float) -> Floats:
    turn = np.radians(view.azimuth)
    right = np.array([-np.sin(turn), np.cos(turn), 0.0])
    at = view.origin + right * (column - PIXELS / 2.0) * view.scale + np.array([0.0, 0.0, (row - 4.0) * view.scale])
    return np.asarray(at[None])
