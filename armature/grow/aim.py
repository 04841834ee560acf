"""Aiming: from which station of its parent a member leaves, turned which way, so that it reaches its target.

Size letters: B buds, K stations tried for each. A shape whose first straight stands off its chord by phi, on a chord
that
stands off the parent's axis by alpha, leaves at a lean between |alpha - phi| and alpha + phi as it is turned about
its chord:
cos(lean) = cos(phi) cos(alpha) + sin(phi) sin(alpha) cos(turn). The station is the one where the wanted lean is
reached, near the wanted place, with least length, and the curve bowed the way that the form's tips rise or hang.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.grow.shapes import Shapes
from armature.tree import Chains, Floats, Ints, Strings, dot, locate, row_norms

_TRIED = 15
_SOFT = 6.0


@dataclass(frozen=True, eq=False)
class Buds:
    """B members to be grown: tags (B,), parents (B,) rows, targets (B, 3) mm, start diameters (B,) mm.

    wanted: (B,) mm station wished for, windows: (B,) mm how far from it to look; lows, highs: (B,) mm stations allowed.
    leans: (B,) deg, or of limbs as given a factor on the rank's leans. lengths: (B,) mm, how long they want to be.
    """

    tags: Strings
    parents: Ints
    targets: Floats
    diameters: Floats
    wanted: Floats
    windows: Floats
    lows: Floats
    highs: Floats
    leans: Floats
    lengths: Floats


@dataclass(frozen=True, eq=False)
class Aims:
    """Where and how B shapes stand: stations (B,) mm, P (B, 3) mm, chord frames (B, 3, 3) with rows x, y, chord;
    lengths (B,)."""

    stations: Floats
    points: Floats
    frames: Floats
    chords: Floats


def aimed(chains: Chains, buds: Buds, shapes: Shapes, rise: float, near: float, give: float) -> Aims:
    """Return the best aim of each bud on its parent; `near` weighs keeping to the wanted station.

    A target may give way by `give` degrees, as seen from the parent, where the wanted lean is not to be had otherwise.
    """
    stations = _tried(buds)
    count, tried = stations.shape
    points, tangents, _ = locate(chains, np.repeat(buds.parents, tried), stations.ravel())
    chord = np.repeat(buds.targets, tried, axis=0) - points
    length = np.maximum(row_norms(chord), 1e-6)
    along = chord / length[:, None]
    phi = np.repeat(shapes.offset_angles, tried)
    lean = np.radians(np.repeat(buds.leans, tried))
    turn, missed = _turns(np.clip(dot(along, tangents), -1.0, 1.0), phi, lean)
    toward, across = _sideways(along, tangents)
    length = length.reshape(count, tried)
    span = np.maximum(buds.windows, 1e-6)[:, None]
    cost = 6.0 * missed.reshape(count, tried) ** 2 + 0.5 * length / length.min(axis=1, keepdims=True)
    cost += near * ((stations - buds.wanted[:, None]) / span) ** 2
    sides = [cost + _bow(toward, across, sign * turn, phi, rise).reshape(count, tried) for sign in (1.0, -1.0)]
    both = np.concatenate(sides, axis=1)
    best = np.argmin(both.round(9), axis=1)
    rows = np.arange(count)
    at = rows * tried + best % tried
    angle = np.where(best < tried, 1.0, -1.0) * turn[at]
    swing = np.clip(-missed[at], -np.radians(give), np.radians(give))[:, None]
    axis = np.cos(swing) * along[at] - np.sin(swing) * toward[at]
    inward = np.cos(swing) * toward[at] + np.sin(swing) * along[at]
    x = np.cos(angle)[:, None] * inward + np.sin(angle)[:, None] * across[at]
    frames = np.stack([x, np.cross(axis, x), axis], axis=1)
    return Aims(stations.ravel()[at], points[at], frames, length.ravel()[at])


def _tried(buds: Buds) -> Floats:
    if not buds.windows.any():
        return buds.wanted[:, None]
    tried = buds.wanted[:, None] + np.linspace(-1.0, 1.0, _TRIED) * buds.windows[:, None]
    return np.clip(tried, buds.lows[:, None], buds.highs[:, None])


def _turns(cosine: Floats, phi: Floats, lean: Floats) -> tuple[Floats, Floats]:
    """Return the turn about the chord (Q,) radians that gives the wanted lean, and by how much it is missed (Q,)."""
    sine = np.sqrt(np.maximum(1.0 - cosine**2, 0.0))
    scale = np.sin(phi) * sine
    want = (np.cos(lean) - np.cos(phi) * cosine) / np.where(scale > 1e-9, scale, 1e-9)
    # Near its ends an arc cosine turns a hair's breadth into degrees: what is wanted stops a little before them.
    turn = np.arccos(np.clip(want / (1.0 + np.abs(want) ** _SOFT) ** (1.0 / _SOFT), -1.0, 1.0))
    got = np.cos(phi) * cosine + scale * np.cos(turn)
    return turn, np.arccos(np.clip(got, -1.0, 1.0)) - lean


def _sideways(along: Floats, tangents: Floats) -> tuple[Floats, Floats]:
    """Return unit vectors (Q, 3) square to the chord: toward the parent's axis, and across it."""
    toward = tangents - dot(along, tangents)[:, None] * along
    size = row_norms(toward)
    spare = np.cross(along, np.where(np.abs(along[:, :1]) < 0.9, [1.0, 0.0, 0.0], [0.0, 1.0, 0.0]))
    toward = np.where(size[:, None] > 1e-6, toward / np.maximum(size, 1e-9)[:, None], spare / row_norms(spare)[:, None])
    return toward, np.cross(along, toward)


def _bow(toward: Floats, across: Floats, turn: Floats, phi: Floats, rise: float) -> Floats:
    """Return a cost (Q,) that is low where the curve starts below its chord and rises to it (or hangs, for rise <
    0)."""
    upward = np.cos(turn) * toward[:, 2] + np.sin(turn) * across[:, 2]
    return rise * np.sin(phi) * upward
