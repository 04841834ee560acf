"""Which way the corners of a mesh look. Size letters: K vertices, F faces."""

from __future__ import annotations

import numpy as np

from armature.tree import Floats, Ints, row_norms


def vertex_normals(vertices: Floats, faces: Ints) -> Floats:
    """Return a unit normal for each vertex (K, 3): the mean of its faces, weighed by area; up where it has none."""
    each = _areas(vertices, faces)
    total = np.empty((len(vertices), 3))
    for axis in range(3):
        total[:, axis] = np.bincount(faces.ravel(), np.repeat(each[:, axis], 3), minlength=len(vertices))
    unit = _unit(total)
    unit[row_norms(total) == 0.0] = [0.0, 0.0, 1.0]
    return unit


def _areas(vertices: Floats, faces: Ints) -> Floats:
    """Return a vector square to each face, twice its area long: (F, 3)."""
    a, b, c = (vertices[faces[:, corner]] for corner in range(3))
    return np.asarray(np.cross(b - a, c - a), dtype=np.float64)


def _unit(rows: Floats) -> Floats:
    return np.asarray(rows / np.maximum(row_norms(rows), 1e-300)[:, None])
