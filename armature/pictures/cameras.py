"""Where a picture is taken from, fitted to what it has to show.

Size letters: Q points. Lengths are mm, angles degrees.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.tree import Floats


@dataclass(frozen=True, eq=False)
class Camera:
    """eye (3,) and target (3,) mm, up (3,), field of view from bottom to top in degrees."""

    eye: Floats
    target: Floats
    up: Floats
    field: float

    @property
    def axes(self) -> Floats:
        """Right, up and backward of the picture as rows (3, 3)."""
        back = self.eye - self.target
        back = back / np.linalg.norm(back)
        right = np.cross(self.up, back)
        right = right / np.linalg.norm(right)
        return np.stack([right, np.cross(back, right), back])


def toward(azimuth: float, elevation: float) -> Floats:
    """Return the unit direction (3,) at an azimuth in degrees from +x toward +y and an elevation in degrees."""
    a, e = np.radians(azimuth), np.radians(elevation)
    return np.array([np.cos(a) * np.cos(e), np.sin(a) * np.cos(e), np.sin(e)])


def fitted(
    points: Floats, direction: Floats, size: tuple[int, int], field: float = 24.0, margin: float = 0.07
) -> Camera:
    """Return the camera that looks against `direction` (3,) and shows all points (Q, 3) with a margin, in share of
    the side.
    """
    up = np.array([0.0, 0.0, 1.0]) if abs(direction[2]) < 0.999 else np.array([0.0, 1.0, 0.0])
    target = (points.min(axis=0) + points.max(axis=0)) / 2.0
    high = np.tan(np.radians(field) / 2.0) * (1.0 - 2.0 * margin)
    wide = high * size[0] / size[1]
    axes = Camera(target + direction, target, up, field).axes
    x, y, z = ((points - target) @ axes.T).T
    # Each side of the picture is a plane through the eye; the tightest point of each side fixes eye and aim.
    left, right = (-x / wide + z).max(), (x / wide + z).max()
    below, above = (-y / high + z).max(), (y / high + z).max()
    distance = max((left + right) / 2.0, (below + above) / 2.0)
    aim = target + axes[0] * (right - left) / 2.0 * wide + axes[1] * (above - below) / 2.0 * high
    return Camera(aim + direction * distance, aim, up, field)


def projected(camera: Camera, points: Floats, size: tuple[int, int]) -> Floats:
    """Return where points (Q, 3) fall in the picture, in px from its top left corner: (Q, 2).

    >>> import numpy as np
    >>> camera = Camera(np.array([0, -10.0, 0]), np.zeros(3), np.array([0, 0, 1.0]), 90.0)
    >>> (projected(camera, np.array([[0.0, 0, 0], [10, 0, 10]]), (200, 100)).round(6) + 0.0).tolist()
    [[100.0, 50.0], [150.0, 0.0]]
    """
    x, y, z = ((points - camera.eye) @ camera.axes.T).T
    scale = size[1] / 2.0 / np.tan(np.radians(camera.field) / 2.0)
    return np.stack([size[0] / 2.0 - scale * x / z, size[1] / 2.0 + scale * y / z], axis=1)


def aimed(points: Floats, eye: Floats, size: tuple[int, int], widest: float = 75.0, margin: float = 0.04) -> Camera:
    """Return the camera that stands at `eye` (3,) mm and turns until it shows all points (Q, 3), opened no wider than
    `widest`.

    Points behind the eye are left out of account.
    """
    up = np.array([0.0, 0.0, 1.0])
    target = (points.min(axis=0) + points.max(axis=0)) / 2.0
    field = widest
    for _ in range(6):
        axes = Camera(eye, target, up, field).axes
        x, y, z = ((points - eye) @ axes.T).T
        ahead = -z > 0.15 * np.abs(z).max()
        if not ahead.any():
            break
        right, high = x[ahead] / -z[ahead], y[ahead] / -z[ahead]
        middle = np.array([(right.min() + right.max()) / 2.0, (high.min() + high.max()) / 2.0, -1.0])
        target = eye + (middle @ axes) * np.linalg.norm(target - eye)
        half = max((high.max() - high.min()) / 2.0, (right.max() - right.min()) / 2.0 * size[1] / size[0])
        field = min(float(np.degrees(2.0 * np.arctan(half / (1.0 - 2.0 * margin)))), widest)
    return Camera(eye, target, up, field)
