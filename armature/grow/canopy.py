"""The canopy of a commission: its envelope, and the places for foliage in it, with lobes, hollows and sky holes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from armature.centreline import Floats
from armature.grow.envelope import FORMS, KNOTS, Envelope
from armature.grow.outline import outlined
from armature.seeds import keys, uniform

if TYPE_CHECKING:
    from armature.commission import Commission


def envelope(commission: Commission) -> Envelope:
    """Return the canopy that a commission asks for."""
    canopy = commission.canopy
    half = np.asarray(canopy.spread, dtype=np.float64) / 2.0
    boxes = np.array([[box.min, box.max] for box in canopy.keep_out], dtype=np.float64).reshape(-1, 2, 3)
    form = FORMS[canopy.habit]
    # Leaves hang below their twigs, and nothing that hangs may come below the clear stem.
    base = min(canopy.clear_stem + commission.leaves.length, canopy.height * 0.9)
    if canopy.habit == "outline":
        return outlined(commission, base, boxes)
    return Envelope(base, canopy.height, half, form, boxes)


_BLOCK = 131_072


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


def lobes(seed: int, strength: float = 0.5) -> Lobes:
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
    # In blocks that stay in the processor's cache: a crown of many thousand twigs asks for millions of places.
    total, drawn, size = 0, 0, min(max(4 * count, 4096), _BLOCK)
    for _ in range(48 * count // size + 1):
        draw = uniform(key, 4 * size, drawn)[0].reshape(size, 4)
        drawn += 4 * size
        points = low + draw[:, :3] * (high - low)
        points = points[_kept(canopy, uneven, holes, points, draw[:, 3], margin)]
        found.append(points)
        total += len(points)
        if total >= count:
            break
    return _stretched(canopy, np.concatenate(found), margin)


def _stretched(canopy: Envelope, places: Floats, margin: float) -> Floats:
    """Return places (N, 3) stretched sideways until they fill the spread that lobes and luck left unfilled."""
    if not len(places):
        return places
    most = np.maximum(np.abs(places[:, :2]).max(axis=0), 1e-6)
    wider = places.copy()
    wider[:, :2] *= np.clip((canopy.half_spread - 1.5 * margin) / most, 1.0, 1.25)
    kept = (canopy.cover(wider) > margin) & canopy.free_of_boxes(wider, margin)
    return np.asarray(wider[kept])


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
    return np.column_stack([centres, size * (0.13 + 0.16 * draw[:, 3])])
