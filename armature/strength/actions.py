"""The basic load cases of a tree on its site, each once; combinations are sums of them.

Size letters: N nodes, L leaves, H wind directions, K ties.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.centreline import Floats
from armature.strength import asce7, en1991
from armature.strength.conditions import Conditions
from armature.strength.forces import Loads
from armature.strength.frame import Frame
from armature.strength.loads import (
    Drag,
    Foliage,
    Pressure,
    bar_wind,
    directions,
    ice_weight,
    leaf_weight,
    leaf_wind,
    steel_weight,
)
from armature.strength.tables import table


@dataclass(frozen=True)
class Gust:
    """How the tree answers gusts: factor on the wind's force, its clause, and the first frequency (Hz) it came from."""

    factor: float
    clause: str
    frequency: float


def gust(held: Conditions, frequency: float, points: Floats) -> Gust | None:
    """Return the gust or structural factor for the tree's first frequency, None where wind cannot be checked."""
    if held.wind_speed is None or held.exposure is None:
        return None
    height = float(points[:, 2].max()) / 1000.0
    width = float(np.ptp(points[:, :2], axis=0).max()) / 1000.0 + 1e-3
    if held.is_american:
        factor = asce7.gust_factor(frequency, held.damping, held.wind_speed, held.exposure, height, width)
        return Gust(factor, "ASCE 7-16 26.11", frequency)
    decrement = 2.0 * np.pi * held.damping
    factor = en1991.structural_factor(frequency, decrement, held.wind_speed, held.exposure, height, width)
    return Gust(factor, "EN 1991-1-4 6.3.1, annex B", frequency)


def pressure(held: Conditions, speed: float) -> Pressure:
    """Return the function from heights (mm) to the standard's velocity or peak pressure (Pa) at a wind speed (m/s)."""
    exposure, topography = str(held.exposure), held.topography

    def american(heights: Floats) -> Floats:
        factor = asce7.exposure_coefficient(heights / 1000.0, exposure)
        return asce7.velocity_pressure(factor, topography, 1.0, 1.0, speed)

    def european(heights: Floats) -> Floats:
        return en1991.peak_pressure(heights / 1000.0, exposure, speed, topography)

    return american if held.is_american else european


def drag(held: Conditions) -> Drag:
    """Return the function from slenderness, diameter (mm) and pressure (Pa) to the force coefficient of round bars."""
    if held.is_american:
        return asce7.round_coefficient
    roughness = float(table("wind")[en1991.EN1991]["roughness_mm"])
    return lambda _slenderness, diameters, pressures: en1991.cylinder_coefficient(diameters, pressures, roughness)


def dead_loads(frame: Frame, held: Conditions, foliage: Foliage) -> Loads:
    """Return steel, leaves and loops at rest, one case."""
    return steel_weight(frame, held.grade.density_kg_m3) + leaf_weight(frame, foliage)


def wind_loads(frame: Frame, held: Conditions, foliage: Foliage, factor: float, winds: Floats) -> dict[str, Loads]:
    """Return `bars` (H cases) and `leaves` (2, drag 1) under the design wind with gusts; {} without wind."""
    if held.wind_speed is None or held.exposure is None:
        return {}
    blow = pressure(held, held.wind_speed)
    return {
        "bars": bar_wind(frame, winds, blow, drag(held)) * factor,
        "leaves": leaf_wind(frame, foliage, blow) * factor,
    }


def ice_loads(frame: Frame, held: Conditions, foliage: Foliage, factor: float, winds: Floats) -> dict[str, Loads]:
    """Return `ice` (1 case), `iced_bars` (H) and `iced_leaves` (2); {} where ice is not given or there is none."""
    if not held.has_ice or not held.ice or held.ice_wind is None:
        return {}
    thick = ice_thickness(held, frame.points[:, 2])
    leaf_volumes = asce7.plate_ice_volume(foliage.areas, thick[frame.hangs])
    blow = pressure(held, held.ice_wind)
    return {
        "ice": ice_weight(frame, lambda diameters: asce7.bar_ice_area(diameters, thick), leaf_volumes),
        "iced_bars": bar_wind(frame, winds, blow, drag(held), thick) * factor,
        "iced_leaves": leaf_wind(frame, foliage, blow) * factor,
    }


def ice_thickness(held: Conditions, heights: Floats) -> Floats:
    """Return the design thickness of ice (mm) at heights (mm); EN leaves it to the map, taken as it is."""
    if held.ice is None or not held.is_american:
        return np.full_like(heights, held.ice or 0.0)
    importance = float(table("wind")[asce7.ASCE7]["ice_importance"][held.risk_category])
    return asce7.design_ice(held.ice, heights / 1000.0, importance, held.topography)


def basic_loads(
    frame: Frame, held: Conditions, foliage: Foliage, factor: float, count: int = 36
) -> tuple[dict[str, Loads], Floats]:
    """Return all basic load cases by name, and the wind directions (H, 3)."""
    winds = directions(count)
    dead = {"dead": dead_loads(frame, held, foliage)}
    blown = wind_loads(frame, held, foliage, factor, winds)
    return dead | blown | ice_loads(frame, held, foliage, factor, winds), winds
