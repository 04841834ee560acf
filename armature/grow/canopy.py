"""The canopy: the space that a crown may fill, with its lobes, its hollows and what must stay free.

An envelope is a figure of revolution stretched to the asked spread, or a flat slab, or a closed mesh. It is told by two
profiles over a relative height h (0 at the lowest foliage, 1 at the top) and a relative radius rho (0 on the trunk's
axis, 1 at the full spread): `reach(h)`, how far out it goes, and `floor(rho)`, how low.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from armature.centreline import Floats
from armature.seeds import keys, uniform

if TYPE_CHECKING:
    from armature.commission import Commission

KNOTS = np.linspace(0.0, 1.0, 41)


@dataclass(frozen=True, eq=False)
class Form:
    """Character of a habit, in parts of the crown's depth or angles in degrees.

    reach, floor: (41,) the two profiles. crotch: lowest and highest limb on the trunk, as parts of the crown's depth
    from its base. rise: how strongly tips turn up (negative: hang). skin: how much foliage keeps to the outside.
    flat: a slab along x. strict: nothing leaves the envelope above its base.
    """

    reach: Floats
    floor: Floats
    crotch: tuple[float, float]
    rise: float
    skin: float
    flat: bool = False
    strict: bool = False


def _dome(widest: float, top_power: float, bottom_power: float) -> Floats:
    above = np.clip((KNOTS - widest) / (1.0 - widest), 0.0, 1.0)
    below = np.clip((widest - KNOTS) / widest, 0.0, 1.0)
    return np.where(widest <= KNOTS, (1 - above**top_power) ** 0.5, (1 - below**bottom_power) ** 0.5)


FORMS: dict[str, Form] = {
    "rounded": Form(_dome(0.45, 2.0, 2.4), np.zeros(41), (-0.12, 0.34), 0.5, 0.9),
    "spreading": Form(_dome(0.42, 2.2, 2.0), 0.30 * KNOTS**2.5, (-0.22, 0.10), 0.7, 0.9),
    "columnar": Form(_dome(0.38, 1.7, 2.6), np.zeros(41), (-0.08, 0.66), 1.0, 0.6),
    "pendulous": Form(_dome(0.62, 2.2, 7.0), np.zeros(41), (0.15, 0.60), -1.0, 1.0),
    "espalier": Form(_dome(0.55, 4.0, 8.0), np.zeros(41), (-0.05, 0.72), 0.35, 0.3, flat=True),
    "outline": Form(_dome(0.45, 2.0, 2.0), np.zeros(41), (-0.05, 0.45), 0.5, 0.8, strict=True),
}


@dataclass(frozen=True, eq=False)
class Envelope:
    """Space for a crown: base and top heights (mm), half spreads (2,) mm, its form, free boxes (K, 2, 3) mm.

    solid: a closed mesh's distances on a grid, or None for a figure of revolution.
    """

    base: float
    top: float
    half_spread: Floats
    form: Form
    free_boxes: Floats
    solid: DistanceGrid | None = None

    @property
    def depth(self) -> float:
        """Height of the crown: mm."""
        return self.top - self.base

    def relative(self, points: Floats) -> tuple[Floats, Floats]:
        """Return relative heights and radii, each (Q,), of points (Q, 3) mm."""
        height = (points[:, 2] - self.base) / self.depth
        if self.form.flat:
            return height, np.abs(points[:, 0]) / self.half_spread[0]
        return height, np.hypot(points[:, 0] / self.half_spread[0], points[:, 1] / self.half_spread[1])

    def cover(self, points: Floats) -> Floats:
        """Return how deep points (Q, 3) mm lie under the skin, (Q,) mm: negative outside.

        Along the radius or the vertical, whichever is less; for a mesh the distance to its surface.
        """
        if self.solid is not None:
            return self.solid.at(points)
        height, radius = self.relative(points)
        reach = np.interp(height, KNOTS, self.form.reach, left=0.0, right=0.0)
        floor = np.interp(radius, KNOTS, self.form.floor)
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

    def holds(self, points: Floats, margin: Floats, foliage: np.ndarray) -> np.ndarray:
        """Return whether wood at points (Q, 3) with half thickness `margin` (Q,) mm stays in its bounds: (Q,).

        Wood that is itself to bear foliage, (Q,), keeps inside the crown; other wood may pass below it on its way from
        the trunk, but not outside the spread, above the top or into a keep-out.
        """
        inside = self.cover(points) >= margin
        height, radius = self.relative(points)
        # Below its widest place a crown is fed from inside: limbs may rise through the hollow under the foliage.
        lowest = 0.0 if self.form.strict else 0.5
        under = (height < lowest) & (radius < np.interp(height, _FUNNEL_HEIGHTS, _FUNNEL)) & (points[:, 2] > margin)
        if self.form.flat:
            under &= np.abs(points[:, 1]) + margin <= self.half_spread[1]
        return np.asarray((inside | (under & ~foliage)) & self.free_of_boxes(points, margin))


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


def envelope(commission: Commission) -> Envelope:
    """Return the canopy that a commission asks for."""
    canopy = commission.canopy
    half = np.asarray(canopy.spread, dtype=np.float64) / 2.0
    boxes = np.array([[box.min, box.max] for box in canopy.keep_out], dtype=np.float64).reshape(-1, 2, 3)
    form = FORMS[canopy.habit]
    # Leaves hang below their twigs, and nothing that hangs may come below the clear stem.
    base = min(canopy.clear_stem + commission.leaves.length, canopy.height * 0.9)
    if canopy.habit == "outline":
        from armature.grow.outline import outlined

        return outlined(commission, base, boxes)
    return Envelope(base, canopy.height, half, form, boxes)


@dataclass(frozen=True, eq=False)
class Lobes:
    """Uneven skin: how far the crown comes out by azimuth and height, 0 to 1 of the envelope, from a few waves."""

    phases: Floats
    strength: float

    def share(self, points: Floats, canopy: Envelope) -> Floats:
        """Return the share of the envelope's reach that the crown takes toward points (Q, 3): (Q,)."""
        height, _ = canopy.relative(points)
        azimuth = np.arctan2(points[:, 1], points[:, 0])
        wave = np.zeros(len(points))
        for order, (turn, tilt, weight) in zip((1, 2, 3, 5), self.phases, strict=True):
            wave += weight * np.cos(order * azimuth + 2 * np.pi * (turn + (tilt - 0.5) * order * height))
        return 1.0 - self.strength * (0.5 - 0.5 * np.tanh(1.4 * wave))


def lobes(seed: int, strength: float = 0.34) -> Lobes:
    """Return the lobes and hollows of a seed's crown."""
    return Lobes(uniform(keys(seed, ["canopy"], "lobes"), 12)[0].reshape(4, 3), strength)


def scattered(canopy: Envelope, seed: int, count: int, margin: float) -> Floats:
    """Return `count` or more places for foliage, (N, 3) mm: denser toward the skin, with sky holes, out of keep-outs,
    `margin` mm under the skin. A canopy without room gives fewer, down to none.
    """
    uneven = lobes(seed)
    key = keys(seed, ["canopy"], "scatter")
    low, high = _bounds(canopy)
    holes = _holes(canopy, seed)
    found: list[Floats] = []
    total, drawn, size = 0, 0, max(4 * count, 4096)
    for _ in range(12):
        draw = uniform(key, 4 * size, drawn)[0].reshape(size, 4)
        drawn += 4 * size
        points = low + draw[:, :3] * (high - low)
        points = points[_kept(canopy, uneven, holes, points, draw[:, 3], margin)]
        found.append(points)
        total += len(points)
        if total >= count:
            break
    return np.concatenate(found)


def _bounds(canopy: Envelope) -> tuple[Floats, Floats]:
    half = canopy.half_spread
    if canopy.solid is not None:
        size = np.array(canopy.solid.values.shape) - 1
        return canopy.solid.origin, canopy.solid.origin + canopy.solid.pitch * size
    return np.array([-half[0], -half[1], canopy.base]), np.array([half[0], half[1], canopy.top])


def _kept(canopy: Envelope, uneven: Lobes, holes: Floats, points: Floats, luck: Floats, margin: float) -> np.ndarray:
    cover = canopy.cover(points) - margin
    share = uneven.share(points, canopy)
    height, radius = canopy.relative(points)
    reach = np.interp(height, KNOTS, canopy.form.reach, left=0.0, right=0.0)
    size = float(min(canopy.half_spread[0], canopy.depth / 2.0))
    # A hollow in the skin takes away the outermost places of its side.
    lobed = cover - (1.0 - share) * 0.6 * size * np.clip(radius / np.maximum(reach, 1e-6), 0.0, 1.0) ** 2
    density = np.exp(-np.maximum(lobed, 0.0) / (0.30 * size / max(canopy.form.skin, 0.05)))
    kept = (lobed > 0.0) & (luck < 0.12 + 0.88 * density)
    for hole in holes:
        kept &= np.einsum("ij,ij->i", points - hole[:3], points - hole[:3]) > hole[3] ** 2
    return np.asarray(kept & canopy.free_of_boxes(points, margin))


def _holes(canopy: Envelope, seed: int) -> Floats:
    """Return sky holes, (H, 4): centre and radius, mm."""
    draw = uniform(keys(seed, ["canopy"], "holes"), 5 * 9)[0].reshape(9, 5)
    low, high = _bounds(canopy)
    centres = low + (0.1 + 0.8 * draw[:, :3]) * (high - low)
    size = float(min(canopy.half_spread[0], canopy.depth / 2.0))
    return np.column_stack([centres, size * (0.10 + 0.16 * draw[:, 3])])
