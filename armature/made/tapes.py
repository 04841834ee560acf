"""Places found by tapes: where the distances to three or more fixed points meet.

Size letters: T tapes. Lengths are mm. Trilateration by least squares: with P the place and F_k the fixed points, the
sum of (|P - F_k| - d_k)^2 is least; any textbook of surveying, from memory.
"""

from __future__ import annotations

import numpy as np

from armature.tree import Floats, row_norms

# Tapes that agree: sag, hook and reading together leave no more than this, mm (common practice, no source).
AGREE = 12.0


def met(points: Floats, distances: Floats, near: Floats) -> tuple[Floats, Floats]:
    """Return the place (3,) mm at which tapes of distances (T,) mm to points (T, 3) mm meet, and by how much each is
    then too long (T,) mm; of two such places the one on the side of `near` (3,).

    >>> pins = np.array([[1000.0, 0, 0], [0, 1000, 0], [-1000, 0, 0]])
    >>> place, over = met(pins, np.full(3, np.sqrt(2.0) * 1000.0), np.array([0.0, 0.0, 900.0]))
    >>> (place.round(3) + 0.0).tolist(), bool(np.abs(over).max() < 1e-6)
    ([0.0, 0.0, 1000.0], True)
    """
    from scipy.optimize import least_squares

    def over(place: Floats) -> Floats:
        return np.asarray(row_norms(place - points) - distances)

    def slopes(place: Floats) -> Floats:
        away = place - points
        return np.asarray(away / np.maximum(row_norms(away), 1e-9)[:, None])

    found = least_squares(over, near, jac=slopes, x_scale=100.0, xtol=1e-12, ftol=1e-12, gtol=1e-12)
    place = np.asarray(found.x)
    return place, -over(place)


def spread(points: Floats, near: Floats) -> float:
    """Return how squarely tapes from points (T, 3) meet at a place (3,): 1 where three are square to each other, 0
    where all lie in one plane with it."""
    away = points - near
    unit = away / np.maximum(row_norms(away), 1e-9)[:, None]
    sizes = np.linalg.svd(unit, compute_uv=False)
    return float(sizes[2] / sizes[0]) if len(sizes) > 2 else 0.0


def wrong_one(points: Floats, distances: Floats, near: Floats) -> int:
    """Return which of four or more tapes that contradict each other is wrong: the one without which the others agree
    best, and of those that leave the rest as well agreed the one whose absence brings the place nearest to `near`."""
    costs = []
    for one in range(len(distances)):
        rest = np.arange(len(distances)) != one
        place, over = met(points[rest], distances[rest], near)
        costs.append(float(np.abs(over).max()) + 0.05 * float(np.linalg.norm(place - near)))
    return int(np.argmin(np.round(costs, 6)))
