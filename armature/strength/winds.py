"""The turbulence of the two wind standards, in one form for one dynamics. Heights and sizes m, speeds m/s.

ASCE 7-16 26.11.5 (flexible structures, at every frequency) and EN 1991-1-4 annex B; constants from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.strength import asce7, en1991
from armature.tree import Floats

_GUST_PEAK = 3.4  # gQ = gv, ASCE 7-16 eq. 26.11-8
_STEADY_PEAK = 3.5  # EN 1991-1-4 eq. 4.8: 7 = 2 x 3.5


@dataclass(frozen=True)
class AmericanWind:
    """ASCE 7-16: the mapped three-second gust of an exposure; Kzt on its pressure."""

    speed: float
    exposure: str
    topography: float = 1.0
    clause: str = "ASCE 7-16 26.11.5, each member by its own part of the tree"

    def mean_speed(self, heights: Floats) -> Floats:
        """Return the mean of an hour, eq. 26.11-16."""
        return np.asarray(asce7.mean_speed(heights, self.exposure, self.speed) * np.sqrt(self.topography))

    def mean_pressure(self, heights: Floats) -> Floats:
        """Return 0.613 V^2 of the hour's mean, eq. 26.10-1."""
        return np.asarray(0.613 * self.mean_speed(heights) ** 2)

    def background(self, heights: Floats, tall: Floats, wide: Floats) -> Floats:
        """Return Q^2, eq. 26.11-8."""
        return np.asarray(1.0 / (1.0 + 0.63 * ((wide + tall) / asce7.length_scale(heights, self.exposure)) ** 0.63))

    def resonance(self, frequencies: Floats, damping: Floats, heights: Floats, tall: Floats, wide: Floats) -> Floats:
        """Return R^2, eq. 26.11-12 to 26.11-15; the depth is taken equal to the width."""
        mean = self.mean_speed(heights)
        reduced = frequencies * asce7.length_scale(heights, self.exposure) / mean
        peak = 7.47 * reduced / (1.0 + 10.3 * reduced) ** (5.0 / 3.0)
        tall, wide, deep = (
            asce7.reception(each * frequencies / mean) for each in (4.6 * tall, 4.6 * wide, 15.4 * wide)
        )
        return np.asarray(peak * tall * wide * (0.53 + 0.47 * deep) / damping)

    def factor(self, heights: Floats, background: Floats, resonant: Floats, frequencies: Floats) -> Floats:
        """Return Gf, eq. 26.11-10: each sway with its own peak factor, squares added."""
        root = np.sqrt(2.0 * np.log(3600.0 * np.maximum(frequencies, 0.01)))
        swing = np.sqrt(_GUST_PEAK**2 * background + np.sum((root + 0.577 / root) ** 2 * resonant, axis=0))
        intensity = asce7.intensity(heights, self.exposure)
        return np.asarray(0.925 * (1.0 + 1.7 * intensity * swing) / (1.0 + 1.7 * _GUST_PEAK * intensity))


@dataclass(frozen=True)
class EuropeanWind:
    """EN 1991-1-4: the mean of ten minutes at 10 m in terrain II; c_o on its speed."""

    speed: float
    terrain: str
    topography: float = 1.0
    clause: str = "EN 1991-1-4 6.3.1, annex B, each member by its own part of the tree"

    def mean_speed(self, heights: Floats) -> Floats:
        """Return the mean of ten minutes, eq. 4.3."""
        return np.asarray(en1991.roughness_factor(heights, self.terrain) * self.topography * self.speed)

    def mean_pressure(self, heights: Floats) -> Floats:
        """Return half rho times the square of that, eq. 4.8 without its gusts."""
        return np.asarray(0.5 * en1991.AIR_KG_M3 * self.mean_speed(heights) ** 2)

    def background(self, heights: Floats, tall: Floats, wide: Floats) -> Floats:
        """Return B^2, eq. B.3."""
        return np.asarray(1.0 / (1.0 + 0.9 * ((wide + tall) / en1991.length_scale(heights, self.terrain)) ** 0.63))

    def resonance(self, frequencies: Floats, damping: Floats, heights: Floats, tall: Floats, wide: Floats) -> Floats:
        """Return R^2, eq. B.6 to B.8 and B.2."""
        scale = en1991.length_scale(heights, self.terrain)
        reduced = frequencies * scale / self.mean_speed(heights)
        density = 6.8 * reduced / (1.0 + 10.2 * reduced) ** (5.0 / 3.0)
        over = asce7.reception(4.6 * tall / scale * reduced) * asce7.reception(4.6 * wide / scale * reduced)
        return np.asarray(np.pi**2 / (2.0 * 2.0 * np.pi * damping) * density * over)

    def factor(self, heights: Floats, background: Floats, resonant: Floats, frequencies: Floats) -> Floats:
        """Return cs cd, eq. 6.1, with 3.5 of eq. 4.8 on the background and eq. B.4 on each sway, squares added.

        Eq. 6.1 has one peak factor for all, by the rate of B.5: within 3 % for the whole tree, but for a twig that
        rings at 30 Hz it would put the peak of the ringing on the slow gusts too.
        """
        root = np.sqrt(2.0 * np.log(600.0 * np.maximum(frequencies, 0.08)))
        peaks = np.maximum(root + 0.6 / root, 3.0)
        swing = np.sqrt(_STEADY_PEAK**2 * background + np.sum(peaks**2 * resonant, axis=0))
        intensity = en1991.turbulence(heights, self.terrain, self.topography)
        return np.asarray((1.0 + 2.0 * intensity * swing) / (1.0 + 7.0 * intensity))
