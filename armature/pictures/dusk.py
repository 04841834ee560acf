"""Light found without casting a ray, for a tree that must follow the hand: each beam is a shaft that what stands in
it dims.

Size letters: N vertices, F faces, Q points in one shaft's order. A shaft is a square of `_SHAFT` mm seen from the
light; a face dims what lies behind it by its share of the square, as a thin cloud would (Beer's law).
"""

from __future__ import annotations

import numpy as np

from armature.pictures.cameras import toward
from armature.pictures.parts import Part
from armature.tree import Floats

_SHAFT = 80.0
# What touches a surface does not dim it: neither a bar its own skin nor a leaf its own face.
_NEAR = 45.0
_SKY = tuple(toward(azimuth, 38.0) for azimuth in (20.0, 110.0, 200.0, 290.0)) + (toward(0.0, 89.0),)


def dimmed(parts: list[Part], blockers: list[Part], sun: Floats) -> list[Part]:
    """Return the parts with about the light that the blockers leave them; sun: (3,) unit direction toward it."""
    middles, areas, squares = _cloud(blockers)
    points = np.concatenate([each.vertices for each in parts])
    sky = np.mean([_left(points, middles, areas, squares, beam) for beam in _SKY], axis=0)
    direct = _left(points, middles, areas, squares, sun)
    light = np.stack([0.25 + 0.75 * sky, 0.25 + 0.75 * sky, direct], axis=1)
    stops = np.cumsum([len(each.vertices) for each in parts])[:-1]
    return [each.lit(own) for each, own in zip(parts, np.split(light, stops), strict=True)]


def _cloud(blockers: list[Part]) -> tuple[Floats, Floats, Floats]:
    """Return the middle of each face (F, 3), its area vector (F, 3) and a factor: both sides of a closed bar block
    only once.
    """
    corners = [each.vertices[each.faces] for each in blockers]
    factors = [np.full(len(each.faces), 1.0 if each.finish.both_sides else 0.5) for each in blockers]
    shape = np.concatenate(corners)
    vectors = 0.5 * np.cross(shape[:, 1] - shape[:, 0], shape[:, 2] - shape[:, 0])
    return shape.mean(axis=1), vectors, np.concatenate(factors)


def _left(points: Floats, middles: Floats, areas: Floats, factors: Floats, beam: Floats) -> Floats:
    """Return the share of a beam (3,) that reaches each point: (N,)."""
    helper = np.array([0.0, 1.0, 0.0]) if abs(beam[1]) < 0.9 else np.array([1.0, 0.0, 0.0])
    across = np.cross(beam, helper)
    across /= np.linalg.norm(across)
    plane = np.stack([across, np.cross(beam, across)], axis=1)
    both = np.concatenate([middles, points])
    # Column by column: a threaded matrix product waits for idle cores, which an easel does not have.
    x, y, height = (both[:, 0] * a + both[:, 1] * b + both[:, 2] * c for a, b, c in (*plane.T, beam))
    column, row = np.floor(x / _SHAFT).astype(np.int64), np.floor(y / _SHAFT).astype(np.int64)
    row -= row.min()
    shaft = (column - column.min()) * (int(row.max()) + 1) + row
    height[len(middles) :] += _NEAR
    weight = np.zeros(len(both))
    weight[: len(middles)] = np.abs(areas @ beam) * factors / _SHAFT**2
    # Sorting by one number is several times quicker than by two.
    order = np.argsort(shaft * (2.0 * float(np.abs(height).max()) + 1.0) - height, kind="stable")
    dim = np.cumsum(weight[order])
    first = np.append(True, np.diff(shaft[order]) > 0)
    start = np.maximum.accumulate(np.where(first, dim - weight[order], 0.0))
    left_of = np.empty(len(both))
    left_of[order] = np.exp(-(dim - start))
    return left_of[len(middles) :]
