"""What stands around the tree: ground, base plate and a plain figure for scale."""

from __future__ import annotations

import numpy as np

from armature.centreline import Floats, Ints
from armature.pictures.parts import Finish, Part, linear, part, vertex_normals
from armature.tree import Tree

STONE = Finish(roughness=0.9, metal=0.0)
CLOTH = Finish(roughness=0.95, metal=0.0)
PLATE = Finish(roughness=0.5, metal=0.8)
# Corners of the figure's outline as a body of turning: height and half width in shares of its stature.
_BODY = (
    (0.0, 0.055),
    (0.02, 0.062),
    (0.27, 0.060),
    (0.45, 0.085),
    (0.53, 0.092),
    (0.60, 0.080),
    (0.72, 0.105),
    (0.80, 0.118),
)
_BODY_TOP = (
    (0.825, 0.100),
    (0.845, 0.050),
    (0.86, 0.036),
    (0.875, 0.040),
    (0.90, 0.058),
    (0.935, 0.064),
    (0.97, 0.054),
)
STATURE = 1720.0


def ground(reach: float, spacing: float, colour: str = "b9b2a6") -> Part:
    """Return level ground, finely meshed out to `reach` mm at `spacing` mm and coarsely to forty times that."""
    inner = np.arange(-reach, reach + spacing / 2.0, spacing)
    outer = inner[-1] * np.geomspace(1.15, 40.0, 16)
    line = np.concatenate([-outer[::-1], inner, outer])
    x, y = np.meshgrid(line, line, indexing="ij")
    vertices = np.stack([x.ravel(), y.ravel(), np.zeros(x.size)], axis=1)
    return part(
        "ground", vertices, np.array([[0.0, 0.0, 1.0]]).repeat(x.size, 0), _quads(*x.shape), linear(colour), STONE
    )


def base_plate(tree: Tree, thickness: float = 25.0) -> Part:
    """Return a square plate under the trunk, five trunk diameters wide, let into the ground to half its thickness."""
    half = 2.5 * float(tree.start_diameters[0])
    corners = np.array(
        [[x, y, z] for z in (0.0, thickness / 2.0) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))], float
    )
    corners[:, :2] *= half
    sides = [(0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7), (4, 5, 6, 7)]
    vertices = corners[np.array(sides).ravel()]
    first = np.arange(len(sides)) * 4
    faces = np.concatenate([np.stack([first, first + 1, first + 2], 1), np.stack([first, first + 2, first + 3], 1)])
    return part("plate", vertices, vertex_normals(vertices, faces), faces, linear("3a3a3c"), PLATE)


def figure(place: Floats, stature: float = STATURE) -> Part:
    """Return a plain standing figure, our own shape, with its feet at `place` (2,) mm."""
    profile = np.array([*_BODY, *_BODY_TOP, (1.0, 0.004)]) * stature
    facets = 28
    angle = 2.0 * np.pi * np.arange(facets) / facets
    # A body is flatter than it is wide; the head is not.
    depth = np.where(profile[:, 0] < 0.84 * stature, 0.62, 1.0)
    x = profile[:, 1, None] * np.cos(angle) * np.where(profile[:, 0] < 0.84 * stature, 1.45, 1.0)[:, None]
    y = profile[:, 1, None] * np.sin(angle) * depth[:, None]
    z = np.broadcast_to(profile[:, :1], x.shape)
    vertices = np.stack([x + place[0], y + place[1], z], axis=-1).reshape(-1, 3)
    faces = _rounds(len(profile), facets)
    return part("figure", vertices, vertex_normals(vertices, faces), faces, linear("8b8983"), CLOTH)


def _quads(rows: int, columns: int) -> Ints:
    a = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    return np.concatenate([np.stack([a, a + columns, a + columns + 1], 1), np.stack([a, a + columns + 1, a + 1], 1)])


def _rounds(rows: int, facets: int) -> Ints:
    ring, corner = np.arange(rows - 1)[:, None] * facets, np.arange(facets)
    a, b = (ring + corner).ravel(), (ring + (corner + 1) % facets).ravel()
    return np.concatenate([np.stack([a, b, b + facets], 1), np.stack([a, b + facets, a + facets], 1)])
