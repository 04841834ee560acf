"""A plain standing figure for scale: our own shape, lofted from level ovals.

Outlines are rows of height, half width, half depth, and how far the oval's middle lies from the body's axis, all in
shares of the stature.
"""

from __future__ import annotations

import numpy as np

from armature.pictures.parts import Finish, Part, grid_faces, linear, merged, part, vertex_normals
from armature.tree import Floats

STATURE = 1720.0
CLOTH = Finish(roughness=0.95, metal=0.0)
_FACETS, _ROWS = 20, 28

_COAT = (
    (0.29, 0.070, 0.052, 0), (0.30, 0.092, 0.070, 0), (0.40, 0.089, 0.066, 0), (0.50, 0.084, 0.060, 0),
    (0.58, 0.076, 0.054, 0), (0.64, 0.076, 0.054, 0), (0.72, 0.088, 0.060, 0), (0.78, 0.104, 0.056, 0),
    (0.812, 0.104, 0.046, 0), (0.835, 0.062, 0.036, 0), (0.85, 0.032, 0.030, 0), (0.885, 0.029, 0.030, 0),
)  # fmt: skip
_HEAD = (
    (0.866, 0.020, 0.022, 0), (0.885, 0.036, 0.044, 0), (0.92, 0.045, 0.055, 0), (0.95, 0.046, 0.057, 0),
    (0.98, 0.034, 0.043, 0), (0.995, 0.018, 0.022, 0), (1.0, 0.002, 0.002, 0),
)  # fmt: skip
_ARM = (
    (0.41, 0.005, 0.008, 0.146), (0.43, 0.014, 0.022, 0.147), (0.47, 0.018, 0.024, 0.145), (0.50, 0.016, 0.018, 0.142),
    (0.64, 0.024, 0.026, 0.130), (0.76, 0.030, 0.032, 0.116), (0.81, 0.024, 0.028, 0.104), (0.828, 0.006, 0.010, 0.092),
)  # fmt: skip
_LEG = (
    (0.0, 0.026, 0.030, 0.050), (0.012, 0.027, 0.034, 0.050), (0.05, 0.024, 0.028, 0.050), (0.10, 0.026, 0.030, 0.050),
    (0.20, 0.034, 0.040, 0.048), (0.28, 0.034, 0.038, 0.046), (0.33, 0.034, 0.040, 0.044),
)  # fmt: skip


def figure(place: Floats, facing: float, stature: float = STATURE) -> Part:
    """Return the figure with its feet at `place` (2,) mm, its face toward `facing` degrees from +x toward +y."""
    sides = [_lofted(shape, side) for shape in (_ARM, _LEG) for side in (-1.0, 1.0)]
    whole = merged("figure", [_lofted(_COAT, 1.0), _lofted(_HEAD, 1.0), *sides, _foot(-0.052), _foot(0.052)])
    turn = np.radians(facing + 90.0)
    spin = np.array([[np.cos(turn), -np.sin(turn), 0.0], [np.sin(turn), np.cos(turn), 0.0], [0.0, 0.0, 1.0]])
    return part(
        "figure",
        whole.vertices * stature @ spin.T + [*place, 0.0],
        whole.normals @ spin.T,
        whole.faces,
        linear("6c6a66"),
        CLOTH,
    )


def _lofted(outline: tuple[tuple[float, ...], ...], side: float) -> Part:
    shape = _smooth(np.array(outline))
    angle = 2.0 * np.pi * np.arange(_FACETS + 1) / _FACETS
    x = shape[:, 1, None] * np.cos(angle) + side * shape[:, 3, None]
    y = shape[:, 2, None] * np.sin(angle)
    z = np.broadcast_to(shape[:, :1], x.shape)
    return _surface(np.stack([x, y, z], axis=-1))


def _foot(middle: float) -> Part:
    along, around = np.linspace(0.0, np.pi, 9), np.linspace(0.0, 2.0 * np.pi, 15)
    wide = np.sin(along)[:, None]
    x = middle + 0.024 * wide * np.cos(around)
    y = -0.03 - 0.075 * np.cos(along)[:, None] * np.ones_like(around)
    z = np.maximum(0.008 + 0.026 * wide * np.sin(around), 0.0)
    return _surface(np.stack([x, y, z], axis=-1)[::-1])


def _surface(grid: Floats) -> Part:
    vertices, faces = grid.reshape(-1, 3), grid_faces(*grid.shape[:2])[:, ::-1]
    return part("figure", vertices, vertex_normals(vertices, faces), faces, np.ones(3), CLOTH)


def _smooth(rows: Floats) -> Floats:
    """Return the rows drawn through evenly at `_ROWS` places by a cubic whose slopes are those of the neighbours'
    chord.
    """
    at = np.linspace(0.0, len(rows) - 1.0, _ROWS)
    k = np.minimum(at.astype(int), len(rows) - 2)
    t = (at - k)[:, None]
    before, after = rows[np.maximum(k - 1, 0)], rows[np.minimum(k + 2, len(rows) - 1)]
    low, high = rows[k], rows[k + 1]
    first, second = (high - before) / 2.0, (after - low) / 2.0
    curve = low + t * first + t * t * (3.0 * (high - low) - 2.0 * first - second)
    curve += t**3 * (2.0 * (low - high) + first + second)
    return np.asarray(np.maximum(curve, [0.0, 0.001, 0.001, 0.0]))
