"""What the tree stands on: ground and base plate."""

from __future__ import annotations

import numpy as np

from armature.pictures.parts import Finish, Part, grid_faces, linear, part, vertex_normals
from armature.tree import Tree

STONE = Finish(roughness=0.9, metal=0.0)
PLATE = Finish(roughness=0.5, metal=0.8)


def ground(reach: float, spacing: float, colour: str = "989288") -> Part:
    """Return level ground, finely meshed out to `reach` mm at `spacing` mm and coarsely to forty times that."""
    inner = np.arange(-reach, reach + spacing / 2.0, spacing)
    outer = inner[-1] * np.geomspace(1.15, 40.0, 16)
    line = np.concatenate([-outer[::-1], inner, outer])
    x, y = np.meshgrid(line, line, indexing="ij")
    vertices = np.stack([x.ravel(), y.ravel(), np.zeros(x.size)], axis=1)
    return part(
        "ground", vertices, np.array([[0.0, 0.0, 1.0]]).repeat(x.size, 0), grid_faces(*x.shape), linear(colour), STONE
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
