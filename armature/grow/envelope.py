"""Envelopes: the space that a crown may fill, the character of each habit, and what must stay free.

An envelope is a figure of revolution stretched to the asked spread, or a flat slab, or a closed mesh. It is told by two
profiles over a relative height h (0 at the lowest foliage, 1 at the top) and a relative radius rho (0 on the trunk's
axis, 1 at the full spread): `reach(h)`, how far out it goes, and `floor(rho)`, how low.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.habits import KNOTS, Habit
from armature.tree import Floats

# How far outside a habit's profile single shoots may reach, in parts of the spread: a skin is no hedge.
SLACK = 0.14
_BLUNT = 0.965
# The plan of a crown is a little fuller than an ellipse, so that shoots can touch its four sides.
_FULLNESS = 2.6


@dataclass(frozen=True, eq=False)
class Envelope:
    """Space for a crown: base and top heights (mm), half spreads (2,) mm, its form, free boxes (K, 2, 3) mm.

    solid: a closed mesh's distances on a grid, or None for a figure of revolution. fullness: power of the plan's curve,
    2 an ellipse, more nearer to the box about it.
    """

    base: float
    top: float
    half_spread: Floats
    form: Habit
    free_boxes: Floats
    solid: DistanceGrid | None = None
    fullness: float = _FULLNESS

    @property
    def depth(self) -> float:
        """Height of the crown: mm."""
        return self.top - self.base

    def relative(self, points: Floats) -> tuple[Floats, Floats]:
        """Return relative heights and radii, each (Q,), of points (Q, 3) mm."""
        height = (points[:, 2] - self.base) / self.depth
        if self.form.flat:
            return height, np.abs(points[:, 0]) / self.half_spread[0]
        power = 2.0 if self.form.strict else self.fullness
        east, north = np.abs(points[:, 0]) / self.half_spread[0], np.abs(points[:, 1]) / self.half_spread[1]
        return height, (east**power + north**power) ** (1.0 / power)

    def cover(self, points: Floats) -> Floats:
        """Return how deep points (Q, 3) mm lie under the skin, (Q,) mm: negative outside.

        Along the radius or the vertical, whichever is less; for a mesh the distance to its surface.
        """
        if self.solid is not None:
            return self.solid.at(points)
        height, radius = self.relative(points)
        # A dome that is not the artist's own line is blunt: its highest shoots need not stand on the trunk's axis.
        blunt = height if self.form.strict else np.where(height > 1.0, height, np.minimum(height, _BLUNT))
        reach = np.interp(blunt, KNOTS, self.form.reach, left=0.0, right=0.0)
        floor = np.interp(radius, KNOTS, self.form.floor)
        if not self.form.strict:
            reach, floor = np.minimum(reach + SLACK, 1.0), 0.5 * floor
        sideways = (reach - radius) * float(self.half_spread.min() if not self.form.flat else self.half_spread[0])
        upright = np.minimum(height - floor, 1.0 - height) * self.depth
        cover = np.minimum(sideways, upright)
        if self.form.flat:
            cover = np.minimum(cover, self.half_spread[1] - np.abs(points[:, 1]))
        return cover

    def free_of_boxes(self, points: Floats, margin: float | Floats) -> np.ndarray:
        """Return whether points (Q, 3) mm stay out of every keep-out by `margin` mm: (Q,)."""
        clear = np.ones(len(points), dtype=bool)
        room = np.broadcast_to(np.asarray(margin, dtype=np.float64), (len(points),))[:, None]
        for low, high in self.free_boxes:
            clear &= ~((points > low - room) & (points < high + room)).all(axis=1)
        return clear

    def crosses_boxes(self, heads: Floats, tails: Floats, margin: Floats) -> np.ndarray:
        """Return whether straight pieces from heads to tails (Q, 3) mm come within `margin` (Q,) mm of a keep-out:
        (Q,).

        By slabs: a piece meets a box where its stays within the three pairs of faces overlap.
        """
        meets = np.zeros(len(heads), dtype=bool)
        step = tails - heads
        step = np.where(np.abs(step) < 1e-12, 1e-12, step)
        room = margin[:, None]
        for low, high in self.free_boxes:
            one, other = (low - room - heads) / step, (high + room - heads) / step
            enters = np.maximum(np.minimum(one, other).max(axis=1), 0.0)
            leaves = np.minimum(np.maximum(one, other).min(axis=1), 1.0)
            meets |= enters < leaves
        return meets

    def holds(self, points: Floats, margin: Floats, foliage: np.ndarray) -> np.ndarray:
        """Return whether wood at points (Q, 3) with half thickness `margin` (Q,) mm stays in its bounds: (Q,).

        Wood that is itself to bear foliage, (Q,), keeps inside the crown; other wood may pass below it on its way from
        the trunk, but not outside the spread or above the top.
        """
        inside = self.cover(points) >= margin
        height, radius = self.relative(points)
        # Below its widest place a crown is fed from inside: limbs may rise through the hollow under the foliage.
        lowest = 0.0 if self.form.strict else 0.5
        under = (height < lowest) & (radius < np.interp(height, _FUNNEL_HEIGHTS, _FUNNEL)) & (points[:, 2] > margin)
        if self.form.flat:
            under &= np.abs(points[:, 1]) + margin <= self.half_spread[1]
        return np.asarray(inside | (under & ~foliage))


_FUNNEL_HEIGHTS = np.array([-1.0, -0.3, 0.0, 0.25, 0.5])
_FUNNEL = np.array([0.2, 0.3, 0.45, 0.65, 0.75])


@dataclass(frozen=True, eq=False)
class DistanceGrid:
    """Signed distance to a closed surface on a grid: values (X, Y, Z) mm, positive inside; origin (3,) and pitch mm."""

    values: Floats
    origin: Floats
    pitch: float

    def at(self, points: Floats) -> Floats:
        """Return the distance at points (Q, 3), (Q,) mm, linear between grid points; far outside, the border's
        value."""
        place = np.clip((points - self.origin) / self.pitch, 0.0, np.array(self.values.shape) - 1.001)
        low = place.astype(np.int64)
        part = place - low
        total = np.zeros(len(points))
        for corner in np.ndindex(2, 2, 2):
            weight = np.prod(np.where(corner, part, 1.0 - part), axis=1)
            total += weight * self.values[tuple((low + corner).T)]
        return total
