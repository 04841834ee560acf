"""A banded staff: what stands beside a small piece for scale, where a person would dwarf it."""

from __future__ import annotations

import numpy as np

from armature.pictures.parts import Finish, Part, grid_faces, linear, part, vertex_normals
from armature.tree import Floats, Ints

# Trees under this height, mm, are measured by a staff: a person would be twice as tall as the piece on show.
SMALL = 900.0
BAND = 100.0
_DARK, _LIGHT = linear("4a4845"), linear("d9d5cc")
_PAINT = Finish(roughness=0.8, metal=0.0)
_FACETS = 16


def staff(place: Floats, height: float) -> Part:
    """Return a staff at `place` (2,) mm: as many whole bands, dark and light in turn, as go into `height` mm."""
    bands = max(int(height / BAND), 1)
    radius = height / 110.0
    angle = 2.0 * np.pi * np.arange(_FACETS + 1) / _FACETS
    rings = np.repeat(BAND * np.arange(bands + 1), 2)[1:-1]
    x, y, z = np.broadcast_arrays(radius * np.cos(angle), radius * np.sin(angle), rings[:, None])
    sides = np.stack([x, y, z], axis=-1).reshape(-1, 3)
    top = np.concatenate([sides[-_FACETS - 1 :], [[0.0, 0.0, rings[-1]]]])
    vertices = np.concatenate([sides, top])
    faces = np.concatenate([_bands(bands), len(sides) + _fan()])
    shade = np.where(np.arange(bands)[:, None] % 2 == 0, _DARK, _LIGHT)
    colours = np.concatenate([np.repeat(shade, 2 * (_FACETS + 1), axis=0), np.repeat(shade[-1:], len(top), axis=0)])
    normals = np.concatenate([vertex_normals(sides, _bands(bands)), np.tile([0.0, 0.0, 1.0], (len(top), 1))])
    return part("figure", vertices + [*place, 0.0], normals, faces, colours, _PAINT)


def _bands(bands: int) -> Ints:
    """Faces of the bands, each a grid of two rings of its own, so that the paint ends sharply."""
    one = grid_faces(2, _FACETS + 1)[:, ::-1]
    first = 2 * (_FACETS + 1) * np.arange(bands)
    return np.concatenate([one + at for at in first])


def _fan() -> Ints:
    edge = np.arange(_FACETS)
    return np.stack([np.full(_FACETS, _FACETS + 1), edge, edge + 1], axis=1)
