"""Parts of a scene: meshes with colour and the light that reaches each vertex.

Size letters: N vertices, F faces. Colours are linear RGB from 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from armature.tree import Floats, Ints


@dataclass(frozen=True)
class Finish:
    """How a surface takes the light: roughness 0 to 1, metal 0 to 1, and whether both sides are seen."""

    roughness: float
    metal: float
    both_sides: bool = False


@dataclass(frozen=True, eq=False)
class Part:
    """vertices (N, 3) mm, normals (N, 3), colours (N, 3), faces (F, 3), and the light at each vertex.

    light: (N, 3): share of the sky seen from the front, from the back, and share of the sun's disc.
    keys: (N,) row of what the vertex belongs to (member, leaf), -1 for none.
    """

    name: str
    vertices: Floats
    normals: Floats
    colours: Floats
    faces: Ints
    finish: Finish
    light: Floats
    keys: Ints

    def lit(self, light: Floats) -> Part:
        """Return this part under another light (N, 3)."""
        return replace(self, light=light)


def part(
    name: str,
    vertices: Floats,
    normals: Floats,
    faces: NDArray[np.integer],
    colours: Floats,
    finish: Finish,
    keys: Ints | None = None,
) -> Part:
    """Return a part in full light."""
    count = len(vertices)
    return Part(
        name=name,
        vertices=np.asarray(vertices, dtype=np.float64),
        normals=np.asarray(normals, dtype=np.float64),
        colours=np.broadcast_to(colours, (count, 3)),
        faces=np.asarray(faces, dtype=np.int64),
        finish=finish,
        light=np.ones((count, 3)),
        keys=np.full(count, -1) if keys is None else keys,
    )


def merged(name: str, parts: list[Part]) -> Part:
    """Return one part of several with the finish of the first."""
    starts = np.cumsum([0, *(len(each.vertices) for each in parts[:-1])])
    return Part(
        name=name,
        vertices=np.concatenate([each.vertices for each in parts]),
        normals=np.concatenate([each.normals for each in parts]),
        colours=np.concatenate([each.colours for each in parts]),
        faces=np.concatenate([each.faces + start for each, start in zip(parts, starts, strict=True)]),
        finish=parts[0].finish,
        light=np.concatenate([each.light for each in parts]),
        keys=np.concatenate([each.keys for each in parts]),
    )


def linear(colour: str) -> Floats:
    """Return the linear RGB (3,) of an sRGB colour written as six hex digits (IEC 61966-2-1).

    >>> linear("ffffff").tolist()
    [1.0, 1.0, 1.0]
    """
    share = np.array([int(colour[k : k + 2], 16) for k in (0, 2, 4)]) / 255.0
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def vertex_normals(vertices: Floats, faces: Ints) -> Floats:
    """Return area-weighted unit normals (N, 3) of a mesh."""
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    each = np.cross(b - a, c - a)
    total = np.zeros_like(vertices)
    for axis in range(3):
        for corner in range(3):
            total[:, axis] += np.bincount(faces[:, corner], each[:, axis], minlength=len(vertices))
    return np.asarray(total / np.maximum(np.linalg.norm(total, axis=1, keepdims=True), 1e-300))


def grid_faces(rows: int, columns: int) -> Ints:
    """Return the faces (F, 3) of a grid of rows x columns vertices."""
    a = (np.arange(rows - 1)[:, None] * columns + np.arange(columns - 1)).ravel()
    return np.concatenate([np.stack([a, a + columns, a + columns + 1], 1), np.stack([a, a + columns + 1, a + 1], 1)])
