"""How well each leaf is seen and reached from the ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
EYE_HEIGHT = 1600.0
VIEWS = 16


@dataclass(frozen=True, eq=False)
class Sight:
    """How L leaves show to viewers around the tree: seen (L,), share of all views in which a leaf is in front;
    legible (L,), the same share of the views that its outward face looks to, square ones counting most."""

    seen: Floats
    legible: Floats


def sight(points: Floats, length: float, views: int = VIEWS, back: float = 1.6) -> Sight:
    """Return how each leaf is seen from the ground, shares from 0 to 1.

    points: (L, 3) hang points in mm. length: of a leaf, mm. Viewers stand around the tree at eye height,
    `back` times the crown's half-width beyond its edge. A leaf is in front where no nearer one lies within a third of a
    leaf's length of the line of sight, which covers a name on most leaves. A name is struck on the face that looks away
    from the tree's axis: a view counts for it by the cosine of the angle, in plan, between that face's normal and the
    viewer, none from behind.
    """
    if len(points) == 0:
        return Sight(np.zeros(0), np.zeros(0))
    centre = points[:, :2].mean(axis=0)
    outward = points[:, :2] - centre
    reach = float(np.max(np.hypot(*outward.T)))
    away = reach + max(back * reach, 1500.0)
    seen, read, able = np.zeros(len(points)), np.zeros(len(points)), np.zeros(len(points))
    for k in range(views):
        a = 2 * np.pi * k / views
        eye = np.array([*(centre + away * np.array([np.cos(a), np.sin(a)])), EYE_HEIGHT])
        front = _in_front(points - eye - [0, 0, length / 2], length / 3.0 / away)
        square = np.maximum(_cosines(outward, eye[:2] - points[:, :2]), 0.0)
        seen[front] += 1.0
        read[front] += square[front]
        able += square
    return Sight(seen / views, read / np.maximum(able, 1e-9))


def _cosines(a: Floats, b: Floats) -> Floats:
    """Cosines between rows; a leaf on the axis itself faces every viewer."""
    sizes = np.hypot(*a.T) * np.hypot(*b.T)
    return np.where(np.hypot(*a.T) > 1.0, np.sum(a * b, axis=1) / np.maximum(sizes, 1e-9), 1.0)


def _in_front(rays: Floats, near: float) -> NDArray[np.bool_]:
    """Which leaves no nearer one stands before, within the angle `near` in radians; rays from the viewer."""
    from scipy.spatial import cKDTree

    distance = np.sqrt(np.sum(rays**2, axis=1))
    chord = 2.0 * np.sin(near / 2.0)
    one, two = cKDTree(rays / distance[:, None]).query_pairs(chord, output_type="ndarray").reshape(-1, 2).T
    rounded = np.round(distance, 3)
    front = np.ones(len(rays), dtype=bool)
    # Of two as far the one later in the list counts as behind.
    front[np.where(rounded[one] > rounded[two], one, two)] = False
    return front


def worth(points: Floats, legible: Floats, reach: float) -> Floats:
    """Return how good a place each leaf has for a name: (L,), from 0 to 2.5, rounded to a thousandth.

    Within `reach` mm of the ground counts 1, falling to nothing at the top; being in front in all views that its face
    looks to counts 1; lying at the edge of the crown, and so facing out of it, 0.5.
    """
    if len(points) == 0:
        return np.zeros(0)
    height = points[:, 2]
    above = np.maximum(height - reach, 0.0) / max(float(height.max()) - reach, 1.0)
    axis = points[:, :2].mean(axis=0)
    out = np.hypot(*(points[:, :2] - axis).T)
    outward = out / max(float(out.max()), 1.0)
    return np.asarray(np.round((1.0 - above) + np.clip(legible, 0.0, 1.0) + 0.5 * outward, 3))
