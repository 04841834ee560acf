"""Leaves in the round: sheets dished and curled as the hammer leaves them, for pictures and meshes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPoint

from armature.leaves.outline.outlines import Design


@dataclass(frozen=True, eq=False)
class LeafMesh:
    """A leaf as triangles: vertices (V, 3) mm, eye at the origin, apex toward -z, face toward +y; faces (F, 3) rows."""

    vertices: NDArray[np.float64]
    faces: NDArray[np.int64]


def leaf_mesh(
    design: Design, dish: float = 0.12, curl: float = 0.35, spacing: float | None = None, sag: float = 0.0025
) -> LeafMesh:
    """Return one design as a dished, curled sheet without thickness.

    dish: depth of the hollow across the leaf over its width. curl: bend along the leaf in radians over its whole
    length, apex forward. spacing: mm between inner points, by default a fifteenth of the length. sag: by which the rim
    may leave the outline, as a share of the length. The eye is left out: it is smaller than a triangle.
    """
    spacing = spacing or design.length / 15.0
    shape = design.shape
    rim = shapely.simplify(shapely.Polygon(shape.exterior), sag * design.length)
    inner = rim.buffer(-0.45 * spacing)
    grid = _grid(inner.bounds, spacing) if not inner.is_empty else np.zeros((0, 2))
    grid = grid[shapely.contains_xy(inner, grid[:, 0], grid[:, 1])] if len(grid) else grid
    points = np.concatenate([np.asarray(rim.segmentize(spacing * 1.5).exterior.coords)[:-1], grid])
    faces = _triangles(points, rim)
    return LeafMesh(_dished(points, design, dish, curl), faces)


def _grid(bounds: tuple[float, float, float, float], spacing: float) -> NDArray[np.float64]:
    x = np.arange(bounds[0], bounds[2] + spacing, spacing)
    y = np.arange(bounds[1], bounds[3] + spacing, spacing * 0.866)
    gx, gy = np.meshgrid(x, y)
    gx = gx + (np.arange(len(y)) % 2)[:, None] * spacing / 2
    return np.stack([gx.ravel(), gy.ravel()], axis=1)


def _triangles(points: NDArray[np.float64], rim: shapely.Polygon) -> NDArray[np.int64]:
    from scipy.spatial import Delaunay

    faces = Delaunay(points).simplices.astype(np.int64)
    middles = points[faces].mean(axis=1)
    a, b, c = points[faces[:, 0]], points[faces[:, 1]], points[faces[:, 2]]
    area = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    keep = shapely.contains_xy(rim, middles[:, 0], middles[:, 1]) & (np.abs(area) > 1e-6)
    faces, area = faces[keep], area[keep]
    faces[area < 0] = faces[area < 0][:, ::-1]
    return np.asarray(faces, dtype=np.int64)


def _dished(points: NDArray[np.float64], design: Design, dish: float, curl: float) -> NDArray[np.float64]:
    """Across, a hollow between midrib and edges; along, an even bend of the midrib, length kept."""
    x, down = points[:, 0], -points[:, 1]
    axis = np.interp(down, *_midline(design))
    off = (x - axis) / (design.blade[1] / 2)
    hollow = dish * design.blade[1] * off**2 * np.clip(down / design.length * 4, 0, 1)
    rate = curl / design.length
    angle = rate * np.maximum(down, 0.0)
    forward = (1 - np.cos(angle)) / rate if abs(rate) > 1e-12 else np.zeros_like(down)
    drop = np.where(down > 0, np.sin(angle) / rate if abs(rate) > 1e-12 else down, down)
    return np.stack([x, forward + hollow * np.cos(angle), -drop + hollow * np.sin(angle)], axis=1)


def _midline(design: Design) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middle of the outline at some depths below the eye."""
    hull = MultiPoint(design.outline.points).bounds
    depth = np.linspace(0.0, -hull[1], 12)[1:-1]
    middle = []
    for d in depth:
        cut = design.shape.intersection(shapely.LineString([(hull[0] - 1, -d), (hull[2] + 1, -d)]))
        middle.append(0.5 * (cut.bounds[0] + cut.bounds[2]) if not cut.is_empty else 0.0)
    return depth, np.array(middle)
