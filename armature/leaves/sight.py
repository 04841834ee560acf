"""How well each leaf is seen and reached from the ground."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
EYE_HEIGHT = 1600.0
VIEWS = 16


def sight(points: Floats, length: float, views: int = VIEWS, back: float = 1.6) -> Floats:
    """Return the share of views from the ground in which each leaf is in front: (L,) from 0 to 1.

    points: (L, 3) hang points in mm. length: of a leaf, mm. Viewers stand around the tree at eye height,
    `back` times the crown's half-width beyond its edge. Seen from each, directions are parted into cells as large as a
    leaf; the nearest leaf of a cell is in front.
    """
    if len(points) == 0:
        return np.zeros(0)
    centre = points[:, :2].mean(axis=0)
    reach = float(np.max(np.hypot(*(points[:, :2] - centre).T)))
    away = reach + max(back * reach, 1500.0)
    seen = np.zeros(len(points))
    for k in range(views):
        a = 2 * np.pi * k / views
        eye = np.array([*(centre + away * np.array([np.cos(a), np.sin(a)])), EYE_HEIGHT])
        seen[_in_front(points - eye - [0, 0, length / 2], a, 0.7 * length / away)] += 1.0
    return seen / views


def _in_front(rays: Floats, azimuth: float, cell: float) -> NDArray[np.int64]:
    distance = np.sqrt(np.sum(rays**2, axis=1))
    inward = np.array([-np.cos(azimuth), -np.sin(azimuth)])
    ahead, across = rays[:, :2] @ inward, rays[:, :2] @ np.array([-inward[1], inward[0]])
    column = np.floor(np.arctan2(across, ahead) / cell).astype(np.int64)
    row = np.floor(np.arctan2(rays[:, 2], np.hypot(ahead, across)) / cell).astype(np.int64)
    order = np.lexsort((np.arange(len(rays)), np.round(distance, 3), row, column))
    first = np.ones(len(rays), dtype=bool)
    first[1:] = (np.diff(column[order]) != 0) | (np.diff(row[order]) != 0)
    return np.asarray(order[first])


def worth(points: Floats, seen: Floats, reach: float) -> Floats:
    """Return how good a place each leaf has for a name: (L,), from 0 to 2.5, rounded to a thousandth.

    Within `reach` mm of the ground counts 1, falling to nothing at the top; being seen from half of the views 1; lying
    outward, and so facing out, 0.5.
    """
    if len(points) == 0:
        return np.zeros(0)
    height = points[:, 2]
    above = np.maximum(height - reach, 0.0) / max(float(height.max()) - reach, 1.0)
    axis = points[:, :2].mean(axis=0)
    out = np.hypot(*(points[:, :2] - axis).T)
    outward = out / max(float(out.max()), 1.0)
    return np.asarray(np.round((1.0 - above) + np.clip(2.0 * seen, 0.0, 1.0) + 0.5 * outward, 3))
