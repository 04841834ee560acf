"""Shapes of members in a frame of their own: chains of bends with an asked path over chord, before they are placed.

Size letters: B members, S straights (padded; absent ones have length 0). A shape starts at the origin and ends at
(0, 0, 1): its chord has length 1 along +z, and it leaves the origin in the x-z plane toward +x. Scaling and turning a
shape changes none of its bend angles, so limits on angles are kept here, once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.seeds import keys, normal, uniform
from armature.tree import BRANCH, BRANCHLET, LIMB, TRUNK, TWIG, Floats, Ints, Strings, carry, row_norms

# Sharper than this, deg, no bend of a shape is drawn; so many steps straighten one.
_SHARP, _UNKINKED = 72.0, 3


@dataclass(frozen=True)
class Manner:
    """How a rank moves: arch (one steady sweep) against zigzag, and how much of its sides its bends take up."""

    arch: float
    zigzag: float
    roundness: tuple[float, float]


MANNERS = {
    TRUNK: Manner(0.5, 0.8, (0.40, 0.46)),
    LIMB: Manner(1.35, 0.45, (0.38, 0.46)),
    BRANCH: Manner(0.9, 0.75, (0.30, 0.44)),
    BRANCHLET: Manner(0.8, 0.9, (0.25, 0.42)),
    TWIG: Manner(0.8, 1.0, (0.18, 0.40)),
}


@dataclass(frozen=True, eq=False)
class Shapes:
    """Corners (B, S + 1, 3) in the unit frame, straights in use (B,), roundness (B,): tangent over shorter side at a
    corner."""

    corners: Floats
    counts: Ints
    roundness: Floats

    @property
    def offset_angles(self) -> Floats:
        """Angle between a shape's first straight and its chord: (B,) radians."""
        first = self.corners[:, 1]
        return np.arctan2(first[:, 0], first[:, 2])


def shapes(
    seed: int, tags: Strings, attempt: int, rank: int, sinuosity: float, most_bends: int, least_bend: float
) -> Shapes:
    """Return one shape per tag with path over chord around `sinuosity` (its spread that of a gamma law of shape 4).

    No bend is under `least_bend` degrees: fainter ones are left out, so a shape may have fewer than it drew.
    """
    if most_bends == 0:
        return _straight(len(tags))
    key = keys(seed, tags, f"shape {attempt}")
    luck, bell = uniform(key, 8), normal(key, 4 * (most_bends + 1) + 4, 100)
    manner = MANNERS[rank]
    # A member asked for many bends may be too short for them: each further attempt takes fewer.
    fewest = max(1, most_bends - 2 - attempt * (most_bends // 7))
    bends = fewest + (luck[:, 0] * (most_bends - fewest + 1)).astype(np.int64)
    counts = bends + 1
    slopes, sides = _slopes(luck, bell, counts, most_bends + 1, manner)
    excess = (sinuosity - 1.0) * _gamma4(bell[:, -4:])
    low, high = manner.roundness
    roundness = low + (high - low) * luck[:, 4]
    directions = _scaled(slopes, sides, 1.0 + np.maximum(excess, 0.004), roundness)
    corners, counts = without_faint_bends(_corners(directions, sides), counts, least_bend)
    return Shapes(_in_frame(corners, counts), counts, roundness)


def _straight(count: int) -> Shapes:
    corners = np.broadcast_to([[0.0, 0.0, 0.0], [0.0, 0.0, 1.0]], (count, 2, 3))
    return Shapes(corners, np.ones(count, dtype=np.int64), np.full(count, 0.4))


def _slopes(luck: Floats, bell: Floats, counts: Ints, width: int, manner: Manner) -> tuple[Floats, Floats]:
    """Return sideways slopes (B, S, 2) and side lengths (B, S): an arch along x, a zigzag about a plane of its own."""
    number = np.arange(width)
    used = number < counts[:, None]
    drawn = bell[:, : 4 * width].reshape(len(counts), 4, width)
    sides = np.where(used, np.exp(0.22 * drawn[:, 0]) * (1.15 - 0.3 * number / counts[:, None]), 0.0)
    sides /= sides.sum(axis=1, keepdims=True)
    middle = np.cumsum(sides, axis=1) - sides / 2.0
    arch = manner.arch * (1.0 - 2.0 * middle)
    alternate = np.where((number + (luck[:, 1:2] < 0.5)) % 2 == 0, 1.0, -1.0)
    swing = manner.zigzag * alternate * (0.65 + 0.25 * drawn[:, 1])
    plane = 2.0 * np.pi * luck[:, 2:3] + 0.35 * drawn[:, 2]
    across = 0.18 * manner.zigzag * drawn[:, 3]
    return np.stack([arch + swing * np.cos(plane), swing * np.sin(plane) + across], axis=2), sides


def _gamma4(bell: Floats) -> Floats:
    """Return draws of mean 1 and standard deviation 1/2 (gamma law of shape 4, by Wilson and Hilferty's cube): (B,)."""
    return np.clip((1.0 - 1.0 / 36.0 + bell[:, 0] / 6.0) ** 3, 0.15, 2.6)


def _scaled(slopes: Floats, sides: Floats, sinuosity: Floats, roundness: Floats) -> Floats:
    """Return unit directions (B, S, 3) whose slopes are stretched until path over chord is as asked (secant steps)."""
    factor = np.full(len(sides), 0.45)
    for _ in range(6):
        directions = _directions(slopes * factor[:, None, None])
        chord = row_norms(np.einsum("bs,bsi->bi", sides, directions))
        path = 1.0 - _rounding(directions, sides, roundness)
        # Excess length grows as the square of the slopes, so its root is nearly linear in the factor.
        ratio = np.sqrt((sinuosity - 1.0) / np.maximum(path / chord - 1.0, 1e-6))
        factor = np.clip(factor * np.clip(ratio, 0.4, 2.5), 0.02, 3.0)
    # A kink is straightened: such a shape winds a little less than asked.
    for _ in range(_UNKINKED):
        sharpest = _turns(_directions(slopes * factor[:, None, None]), sides).max(axis=1, initial=0.0)
        factor *= np.minimum(np.radians(_SHARP) / np.maximum(sharpest, 1e-9), 1.0)
    return _directions(slopes * factor[:, None, None])


def _turns(directions: Floats, sides: Floats) -> Floats:
    """Return the angles between one direction and the next, (B, S - 1) radians, 0 past the last."""
    before, after = directions[:, :-1], directions[:, 1:]
    chord = np.sqrt(np.sum((after - before) ** 2, axis=2))
    return np.asarray(np.where(sides[:, 1:] > 0.0, 2.0 * np.arcsin(np.clip(chord / 2.0, 0.0, 1.0)), 0.0))


def _directions(slopes: Floats) -> Floats:
    along = np.concatenate([slopes, np.ones((*slopes.shape[:2], 1))], axis=2)
    return np.asarray(along / np.sqrt(np.sum(along**2, axis=2, keepdims=True)))


def _rounding(directions: Floats, sides: Floats, roundness: Floats) -> Floats:
    """Return the length that rounding the corners saves: (B,), tangents twice less the arc."""
    angle = _turns(directions, sides)
    tangent = roundness[:, None] * np.minimum(sides[:, :-1], sides[:, 1:])
    half = np.maximum(angle / 2.0, 1e-9)
    return np.asarray(np.sum(2.0 * tangent * (1.0 - half / np.tan(half)), axis=1))


def _corners(directions: Floats, sides: Floats) -> Floats:
    steps = directions * sides[:, :, None]
    return np.concatenate([np.zeros((len(sides), 1, 3)), np.cumsum(steps, axis=1)], axis=1)


def without_faint_bends(corners: Floats, counts: Ints, least_bend: float) -> tuple[Floats, Ints]:
    """Return corners and counts with the faintest bend of a shape straightened until none is under the least bend."""
    corners, counts = corners.copy(), counts.copy()
    rows = np.arange(len(counts))
    for _ in range(corners.shape[1] - 2):
        angle = _bend_angles(corners)
        inner = np.arange(1, corners.shape[1] - 1) < counts[:, None]
        angle = np.where(inner, angle, np.inf)
        faintest = np.argmin(angle, axis=1)
        low = angle[rows, faintest] < np.radians(1.06 * least_bend)
        if not low.any():
            break
        width = corners.shape[1]
        shift = np.arange(width) + (low[:, None] & (np.arange(width) > faintest[:, None]))
        corners = np.take_along_axis(corners, np.minimum(shift, width - 1)[:, :, None], axis=1)
        counts -= low
    return corners, counts


def _bend_angles(corners: Floats) -> Floats:
    span = np.diff(corners, axis=1)
    span /= np.maximum(np.sqrt(np.sum(span**2, axis=2, keepdims=True)), 1e-12)
    before, after = span[:, :-1], span[:, 1:]
    near, far = after - before, after + before
    return np.asarray(2.0 * np.arctan2(np.sqrt((near**2).sum(axis=2)), np.sqrt((far**2).sum(axis=2))))


def _in_frame(corners: Floats, counts: Ints) -> Floats:
    """Return the corners turned and scaled so that the chord is +z of length 1 and the first straight lies toward
    +x."""
    rows = np.arange(len(counts))
    chord = corners[rows, counts]
    length = row_norms(chord)
    axis = chord / length[:, None]
    up = np.broadcast_to([0.0, 0.0, 1.0], axis.shape)
    shape = corners.shape
    each = shape[1]
    turned = carry(corners.reshape(-1, 3), np.repeat(axis, each, axis=0), np.repeat(up, each, axis=0)).reshape(shape)
    turned /= length[:, None, None]
    azimuth = np.arctan2(turned[:, 1, 1], turned[:, 1, 0])
    cosine, sine = np.cos(azimuth)[:, None], np.sin(azimuth)[:, None]
    x = cosine * turned[:, :, 0] + sine * turned[:, :, 1]
    y = cosine * turned[:, :, 1] - sine * turned[:, :, 0]
    framed = np.stack([x, y, turned[:, :, 2]], axis=2)
    framed[np.arange(each) > counts[:, None]] = [0.0, 0.0, 1.0]
    return framed
