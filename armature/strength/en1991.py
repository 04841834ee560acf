"""Wind by EN 1991-1-4: one function a clause. Heights m, speeds m/s, pressures Pa, diameters mm.

4.5 and 7.9 read; the annexes, and what else is not marked, from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from armature.strength.tables import table
from armature.tree import Floats

EN1991 = "EN 1991-1-4"
AIR_KG_M3 = 1.25
_VISCOSITY_M2_S = 15e-6


def basic_pressure(speed: float) -> float:
    """Return qb, Pa: half rho vb^2, vb the 10-minute mean at 10 m. EN 1991-1-4 eq. 4.10.

    >>> basic_pressure(25.0)
    390.625
    """
    return 0.5 * AIR_KG_M3 * speed**2


def roughness_factor(heights: ArrayLike, terrain: str) -> Floats:
    """Return cr at heights (m): kr ln(z / z0), kr = 0.19 (z0 / 0.05)^0.07. EN 1991-1-4 eq. 4.3 to 4.5."""
    row = table("wind")[EN1991]["terrains"][terrain]
    z = np.maximum(np.asarray(heights, dtype=np.float64), row["least_m"])
    return np.asarray(0.19 * (row["rough_m"] / 0.05) ** 0.07 * np.log(z / row["rough_m"]))


def turbulence(heights: ArrayLike, terrain: str, topography: float = 1.0) -> Floats:
    """Return Iv at heights (m): 1 / (co ln(z / z0)), with kI = 1. EN 1991-1-4 eq. 4.7."""
    row = table("wind")[EN1991]["terrains"][terrain]
    z = np.maximum(np.asarray(heights, dtype=np.float64), row["least_m"])
    return np.asarray(1.0 / (topography * np.log(z / row["rough_m"])))


def peak_pressure(heights: ArrayLike, terrain: str, speed: float, topography: float = 1.0) -> Floats:
    """Return qp at heights (m), Pa: (1 + 7 Iv) half rho vm^2. EN 1991-1-4 eq. 4.8.

    >>> round(float(peak_pressure(10.0, "II", 26.0)), 2)
    993.84
    """
    mean = roughness_factor(heights, terrain) * topography * speed
    return np.asarray((1.0 + 7.0 * turbulence(heights, terrain, topography)) * 0.5 * AIR_KG_M3 * mean**2)


def cylinder_coefficient(diameters: ArrayLike, pressures: ArrayLike, roughness: float) -> Floats:
    """Return cf,0 of round bars at the peak speed of `pressures`. EN 1991-1-4 7.9.2 and figure 7.28.

    roughness: mm. 1.2 up to Re = 180,000; above, the greater of the curve of the drag crisis and of the rough cylinder.
    No end effect is taken off (psi = 1), the safer side.

    >>> round(float(cylinder_coefficient(400.0, 0.5 * 1.25 * 40.0**2, 0.2)), 4)
    0.7904
    """
    b = np.asarray(diameters, dtype=np.float64)
    reynolds = b / 1000.0 * np.sqrt(2.0 * np.asarray(pressures) / AIR_KG_M3) / _VISCOSITY_M2_S
    share = np.maximum(reynolds, 1.8e5) / 1e6
    crisis = 0.11 / share**1.4
    rough = 1.2 + 0.18 * np.log10(10.0 * np.minimum(roughness / b, 0.1)) / (1.0 + 0.4 * np.log10(share))
    return np.where(reynolds <= 1.8e5, 1.2, np.minimum(np.maximum(crisis, rough), 1.2))


def length_scale(heights: ArrayLike, terrain: str) -> Floats:
    """Return L, m, at heights (m): 300 (z / 200)^(0.67 + 0.05 ln z0). EN 1991-1-4 eq. B.1."""
    row = table("wind")[EN1991]["terrains"][terrain]
    z = np.maximum(np.asarray(heights, dtype=np.float64), row["least_m"])
    return np.asarray(300.0 * (z / 200.0) ** (0.67 + 0.05 * np.log(row["rough_m"])))


def probability_factor(years: float) -> float:
    """Return cprob for a wind of chance 1 / years a year: K = 0.2, n = 0.5. EN 1991-1-4 eq. 4.2.

    >>> probability_factor(50.0)
    1.0
    """

    def term(chance: float) -> float:
        return float(1.0 - 0.2 * np.log(-np.log(1.0 - chance)))

    return float((term(1.0 / years) / term(0.02)) ** 0.5)
