"""How the tree answers gusts, one dynamics for both wind standards: every member by its own part of the tree.

A part is a member with all that it carries. Its gust factor has a background, by the size of the part, and a resonant
share: its own sway, and the sway of each member that carries it, since their inertia comes through its weld as well.
Damping is that of the structure and that of the air that the moving bars and leaves push aside. The flexible formula
holds at every frequency, so that nothing jumps. Size letters: N nodes, M members, K depths. mm, m/s, Hz, N.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from armature.strength.forces import Loads, forces
from armature.strength.frame import Frame
from armature.strength.sways import Sways
from armature.tree import Floats


class WindOfCode(Protocol):
    """What a wind standard says of turbulence; heights and sizes m."""

    @property
    def clause(self) -> str:
        """Return what is followed."""

    def mean_speed(self, heights: Floats) -> Floats:
        """Return the mean wind, m/s, from which gusts are counted."""

    def mean_pressure(self, heights: Floats) -> Floats:
        """Return half rho times the square of the mean speed, Pa."""

    def background(self, heights: Floats, tall: Floats, wide: Floats) -> Floats:
        """Return B^2 or Q^2, the share of gusts that is large enough to hold a whole part at once."""

    def resonance(self, frequencies: Floats, damping: Floats, heights: Floats, tall: Floats, wide: Floats) -> Floats:
        """Return R^2 for a part that sways as one."""

    def factor(self, heights: Floats, background: Floats, resonant: Floats, frequencies: Floats) -> Floats:
        """Return the factor on the standard's gust force: from B^2 (M,), R^2 (K, M) and frequencies (K, M)."""


@dataclass(frozen=True, eq=False)
class Gusts:
    """What gusts do to each of M members, each (M,).

    factors: on the wind's force at the standard's peak pressure. frequencies: Hz, of the member's own part.
    air_damping, damping: shares of critical, by the air alone and in all. background, resonant: B^2, and R^2 with that
    of all that carries the member. own: R^2 of its own sway alone. heights: m, at which turbulence is taken. tall,
    wide: m, of the part.
    """

    factors: Floats
    frequencies: Floats
    air_damping: Floats
    damping: Floats
    background: Floats
    resonant: Floats
    own: Floats
    heights: Floats
    tall: Floats
    wide: Floats
    clause: str


def gusts(frame: Frame, sway: Sways, code: WindOfCode, pushes: Floats, peak: Floats, damping: float) -> Gusts:
    """Return the gust factor of every member.

    pushes: (N, 2) N, the drag at each node under the peak pressure, for a wind toward +x and toward +y. peak: (N,) Pa,
    that pressure. damping: of the structure, as a share of critical.

    Air damping is sum(c u^2) over 2 omega sum(m u^2) with c = 2 F / V, the slope of a drag that goes with the square of
    the speed: EN 1991-1-4 eq. F.16 (from memory) is the same for an even bar.
    """
    count = len(sway.frequencies)
    tall = np.maximum(sway.highs[:, 2] - sway.lows[:, 2], 1.0) / 1000.0
    wide = np.maximum((sway.highs - sway.lows)[:, :2].max(axis=1), 1.0) / 1000.0
    heights = sway.lows[:, 2] / 1000.0 + 0.6 * tall
    omega = 2.0 * np.pi * np.maximum(sway.frequencies, 1e-9)
    mean, at_nodes = code.mean_speed(frame.points[:, 2] / 1000.0), code.mean_pressure(frame.points[:, 2] / 1000.0)
    # N a (mm/s) of movement along the wind: drag at the mean wind, twice over its speed.
    slope = 2.0 * pushes * (at_nodes / peak / mean)[:, None] / 1000.0
    driven, drained = np.zeros(count), np.zeros(count)
    for carrier, shape in zip(sway.carriers, sway.shapes, strict=True):
        nodes = np.flatnonzero(carrier[frame.members] >= 0)
        rows = carrier[frame.members[nodes]]
        toward = sway.toward[rows]
        along = np.sum(shape[nodes, :2] * toward, axis=1)
        driven += np.bincount(rows, np.sum(pushes[nodes] * toward**2, axis=1) * along, count)
        drained += np.bincount(rows, np.sum(slope[nodes] * toward**2, axis=1) * along**2, count)
    moving = np.maximum(sway.moving, 1e-300)
    air = drained / (2.0 * omega * moving * 1e-3)
    own = code.resonance(sway.frequencies, damping + air, heights, tall, wide)
    background = code.background(heights, tall, wide)
    # How much of the wind's own moment at a foot the resonance of each carrier brings there.
    share = np.abs(driven) / (moving * 1e-3)
    wind = _wind_moments(frame, pushes)
    is_carried = sway.carriers >= 0
    row = np.maximum(sway.carriers, 0)
    passed = np.where(is_carried, share[row] * sway.moments / wind, 0.0)
    resonant = own[row] * passed**2
    return Gusts(
        factors=code.factor(heights, background, resonant, np.where(is_carried, sway.frequencies[row], 1.0)),
        frequencies=sway.frequencies,
        air_damping=air,
        damping=damping + air,
        background=background,
        resonant=resonant.sum(axis=0),
        own=resonant[frame.tree.depths, np.arange(count)],
        heights=heights,
        tall=tall,
        wide=wide,
        clause=code.clause,
    )


def _wind_moments(frame: Frame, pushes: Floats) -> Floats:
    """Return the largest moment at each foot, N mm, over all directions of the wind: (M,)."""
    points = np.zeros((len(frame), 3, 2))
    points[:, range(2), range(2)] = pushes
    feet = forces(frame, Loads(points)).beyond[frame.offsets[:-1], 3:]
    grams = np.einsum("mia,mib->mab", feet, feet)
    middle, half = (grams[:, 0, 0] + grams[:, 1, 1]) / 2.0, (grams[:, 0, 0] - grams[:, 1, 1]) / 2.0
    return np.asarray(np.sqrt(np.maximum(middle + np.hypot(half, grams[:, 0, 1]), 1e-12)))


def lumped(frame: Frame, loads: Loads) -> Floats:
    """Return load cases gathered at the nodes: (N, 3, C) N."""
    lumps = loads.points.copy()
    if loads.lines is None:
        return lumps
    half = loads.lines * (frame.spans / 2.0)[:, None, None, None]
    near, far = 0.5 + 0.5 / np.sqrt(3.0), 0.5 - 0.5 / np.sqrt(3.0)
    lumps += half[:, 0] * near + half[:, 1] * far
    lumps[1:] += (half[:, 0] * far + half[:, 1] * near)[:-1]
    return lumps
