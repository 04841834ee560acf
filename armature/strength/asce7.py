"""Wind and ice by ASCE 7-16: one function a clause. Heights m, speeds m/s, pressures Pa, diameters mm.

Chapter 26 read for its form; its constants, figure 29.4-1 and chapter 10 from memory, as marked in data/wind.toml.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from armature.strength.tables import table
from armature.tree import Floats

ASCE7 = "ASCE 7-16"


def exposure_coefficient(heights: ArrayLike, exposure: str) -> Floats:
    """Return Kz at heights (m), of the same shape: 2.01 (z / zg)^(2 / alpha), z at least 15 ft. Table 26.10-1.

    >>> exposure_coefficient([4.572, 9.144], "C").round(3).tolist()
    [0.849, 0.982]
    """
    row = table("wind")[ASCE7]["exposures"][exposure]
    z = np.maximum(np.asarray(heights, dtype=np.float64), 4.572)
    return np.asarray(2.01 * (z / row["gradient_m"]) ** (2.0 / row["alpha"]))


def velocity_pressure(
    exposure_factor: ArrayLike, topography: float, direction: float, elevation: float, speed: float
) -> Floats:
    """Return qz, Pa: 0.613 Kz Kzt Kd Ke V^2, V the 3-s gust in m/s. ASCE 7-16 eq. 26.10-1."""
    return np.asarray(0.613 * np.asarray(exposure_factor) * topography * direction * elevation * speed**2)


def round_coefficient(slenderness: ArrayLike, diameters: ArrayLike, pressures: ArrayLike) -> Floats:
    """Return Cf of round bars by height over width. ASCE 7-16 figure 29.4-1, linear between its columns.

    Bars with D sqrt(q) up to 5.3 (m, Pa) take the higher row; above it, hammered bar is taken as rough.
    """
    rows = table("wind")[ASCE7]
    columns, ratio = rows["round_slenderness"], np.asarray(slenderness)
    small = np.asarray(diameters) / 1000.0 * np.sqrt(np.asarray(pressures)) <= 5.3
    rough = np.interp(ratio, columns, rows["round_rough"])
    return np.asarray(np.where(small, np.interp(ratio, columns, rows["round_small"]), rough))


def mean_speed(heights: ArrayLike, exposure: str, speed: float) -> Floats:
    """Return the hour's mean, m/s, at heights (m): b (z / 10)^a V. ASCE 7-16 eq. 26.11-16.

    >>> mean_speed(10.0, "C", 50.0).round(2).item()
    32.5
    """
    row = table("wind")[ASCE7]["exposures"][exposure]
    z = np.maximum(np.asarray(heights, dtype=np.float64), row["least_m"])
    return np.asarray(row["b"] * (z / 10.0) ** row["a"] * speed)


def intensity(heights: ArrayLike, exposure: str) -> Floats:
    """Return Iz at heights (m): c (10 / z)^(1/6). ASCE 7-16 eq. 26.11-7."""
    row = table("wind")[ASCE7]["exposures"][exposure]
    z = np.maximum(np.asarray(heights, dtype=np.float64), row["least_m"])
    return np.asarray(row["c"] * (10.0 / z) ** (1.0 / 6.0))


def length_scale(heights: ArrayLike, exposure: str) -> Floats:
    """Return Lz, m, at heights (m): l (z / 10)^eps. ASCE 7-16 eq. 26.11-9."""
    row = table("wind")[ASCE7]["exposures"][exposure]
    z = np.maximum(np.asarray(heights, dtype=np.float64), row["least_m"])
    return np.asarray(row["length_m"] * (z / 10.0) ** row["epsilon"])


def reception(eta: ArrayLike) -> Floats:
    """Return 1 / eta - (1 - exp(-2 eta)) / (2 eta^2), 1 for a point. ASCE 7-16 eq. 26.11-15, EN 1991-1-4 eq. B.7.

    >>> reception([0.0, 1.0]).round(3).tolist()
    [1.0, 0.568]
    """
    small = np.maximum(np.asarray(eta, dtype=np.float64), 1e-4)
    return np.asarray(1.0 / small + np.expm1(-2.0 * small) / (2.0 * small**2))


def design_ice(thickness: float, heights: ArrayLike, importance: float, topography: float) -> Floats:
    """Return the design thickness of ice, mm: t Ii fz Kzt^0.35, fz = (z / 10)^0.10 up to 1.4. ASCE 7-16 eq. 10.4-5."""
    rise = np.clip((np.maximum(np.asarray(heights, dtype=np.float64), 0.01) / 10.0) ** 0.10, 0.0, 1.4)
    return np.asarray(thickness * importance * rise * topography**0.35)


def bar_ice_area(diameters: ArrayLike, thickness: ArrayLike) -> Floats:
    """Return the cross-section of ice around bars, mm2: pi t (D + t). ASCE 7-16 eq. 10.4-1."""
    t = np.asarray(thickness, dtype=np.float64)
    return np.asarray(np.pi * t * (np.asarray(diameters) + t))


def plate_ice_volume(areas: ArrayLike, thickness: ArrayLike) -> Floats:
    """Return the volume of ice on hanging plates, mm3: 0.8 pi t A, A one face in mm2. ASCE 7-16 eq. 10.4-2."""
    return np.asarray(0.8 * np.pi * np.asarray(thickness) * np.asarray(areas))
