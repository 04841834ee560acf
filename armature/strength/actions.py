"""The basic load cases of a tree on its site, each once; combinations are sums of them.

Size letters: N nodes, L leaves, H wind directions, K ties.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from armature.strength import asce7, en1991
from armature.strength.combinations import leaf_drags, leaves_of
from armature.strength.conditions import Conditions
from armature.strength.dynamics import Gusts, WindOfCode, gusts, lumped
from armature.strength.forces import Loads
from armature.strength.frame import Frame
from armature.strength.loads import (
    GRAVITY,
    Drag,
    Foliage,
    Pressure,
    along_bars,
    bar_wind,
    directions,
    ice_weight,
    leaf_weight,
    leaf_wind,
    steel_weight,
    swung_drag,
)
from armature.strength.stiffness import Stiffness
from armature.strength.sways import Sways, sways
from armature.strength.tables import table
from armature.strength.winds import AmericanWind, EuropeanWind
from armature.tree import Floats


def winds_of(conditions: Conditions, speed: float) -> WindOfCode:
    """Return the turbulence of the standard at a wind speed (m/s)."""
    made = AmericanWind if conditions.is_american else EuropeanWind
    return made(speed, str(conditions.exposure), conditions.topography)


def answered(
    frame: Frame, conditions: Conditions, loads: Mapping[str, Loads], stiff: Stiffness, lumps: Floats, dry: Sways
) -> dict[str, Gusts]:
    """Return the gusts of every member by how the leaves stand: plates, streaming, and iced; {} without wind.

    lumps: (N,) kg at the nodes; dry: the sway with them. Ice weighs them down and
    catches more wind, so iced bars sway by themselves.
    """
    if "bars" not in loads:
        return {}
    assert conditions.wind_speed is not None
    drags = leaf_drags()
    made = {
        bound: _answer(frame, conditions, dry, conditions.wind_speed, loads["bars"], loads[leaves_of(bound)], factor)
        for bound, factor in drags.items()
    }
    if "ice" in loads:
        assert conditions.ice_wind is not None
        heavy = lumps - lumped(frame, loads["ice"])[:, 2, 0] / GRAVITY
        iced = sways(frame, stiff, heavy)
        made["iced"] = _answer(
            frame, conditions, iced, conditions.ice_wind, loads["iced_bars"], loads["iced_leaves"], drags["plates"]
        )
    return made


def _answer(
    frame: Frame, conditions: Conditions, sway: Sways, speed: float, bars: Loads, leaves: Loads, factor: float
) -> Gusts:
    quarter = bars.points.shape[2] // 2
    some = Loads(bars.points[..., [0, quarter]], None if bars.lines is None else bars.lines[..., [0, quarter]])
    pushes = lumped(frame, some)[:, [0, 1], [0, 1]] + factor * leaves.points[:, [0, 1], [0, 1]]
    peak = pressure(conditions, speed)(frame.points[:, 2])
    return gusts(frame, sway, winds_of(conditions, speed), pushes, peak, conditions.damping)


def pressure(conditions: Conditions, speed: float) -> Pressure:
    """Return the function from heights (mm) to the standard's velocity or peak pressure (Pa) at a wind speed (m/s)."""
    exposure, topography = str(conditions.exposure), conditions.topography

    def american(heights: Floats) -> Floats:
        factor = asce7.exposure_coefficient(heights / 1000.0, exposure)
        return asce7.velocity_pressure(factor, topography, 1.0, 1.0, speed)

    def european(heights: Floats) -> Floats:
        return en1991.peak_pressure(heights / 1000.0, exposure, speed, topography)

    return american if conditions.is_american else european


def drag(conditions: Conditions) -> Drag:
    """Return the function from slenderness, diameter (mm) and pressure (Pa) to the force coefficient of round bars."""
    if conditions.is_american:
        return asce7.round_coefficient
    roughness = float(table("wind")[en1991.EN1991]["roughness_mm"])
    return lambda _slenderness, diameters, pressures: en1991.cylinder_coefficient(diameters, pressures, roughness)


def dead_loads(frame: Frame, conditions: Conditions, foliage: Foliage) -> Loads:
    """Return steel, leaves and loops at rest, one case."""
    return steel_weight(frame, conditions.grade.density_kg_m3) + leaf_weight(frame, foliage)


def wind_loads(frame: Frame, conditions: Conditions, foliage: Foliage, winds: Floats) -> dict[str, Loads]:
    """Return `bars`, `leaves` and `swung` (2 each, drag 1) under the standard's peak pressure; {} without wind.

    `bars` has a case for each of the first half of the directions: toward the other half all is the same, turned round.
    """
    if conditions.wind_speed is None or conditions.exposure is None:
        return {}
    blow = pressure(conditions, conditions.wind_speed)
    return {
        "bars": bar_wind(frame, winds[: len(winds) // 2], blow, drag(conditions)),
        "leaves": leaf_wind(frame, foliage, blow),
        "swung": leaf_wind(frame, swung_leaves(frame, foliage, blow), blow),
    }


def swung_leaves(frame: Frame, foliage: Foliage, blow: Pressure) -> Foliage:
    """Return leaves whose faces, at the drag of streaming, take what they take as they swing in the wind `blow`."""
    plate, streaming = leaf_drags()["plates"], leaf_drags()["streaming"]
    drag_swung = swung_drag(blow(frame.points[frame.hangs, 2]), foliage, plate, streaming)
    return Foliage(foliage.masses, foliage.areas * drag_swung / streaming)


def ice_loads(frame: Frame, conditions: Conditions, foliage: Foliage, winds: Floats) -> dict[str, Loads]:
    """Return `ice` (1 case), `iced_bars` (half of H) and `iced_leaves` (2); {} where ice is not given or there is none.

    An iced leaf catches wind on the face of its ice: a coat all round it, its rim included.
    """
    if not conditions.has_ice or not conditions.ice or conditions.ice_wind is None:
        return {}
    thick = ice_thickness(conditions, frame.points[:, 2])
    coat = thick[frame.hangs]
    leaf_volumes = asce7.plate_ice_volume(foliage.areas, coat)
    blow = pressure(conditions, conditions.ice_wind)
    iced = Foliage(foliage.masses, iced_areas(foliage.areas, coat))
    return {
        "ice": ice_weight(frame, lambda diameters: asce7.bar_ice_area(diameters, thick), leaf_volumes),
        "iced_bars": bar_wind(frame, winds[: len(winds) // 2], blow, drag(conditions), thick),
        "iced_leaves": leaf_wind(frame, iced, blow),
    }


def iced_areas(areas: Floats, thickness: Floats) -> Floats:
    """Return the faces (L,) mm2 of leaves coated with ice (L,) mm thick: A + P t + pi t^2, exact for a convex face.

    The rim P is that of an ellipse twice as long as broad, 2.422 of its length (Ramanujan): a leaf's lobes and teeth
    are filled with ice. ASCE 7-16 10.5 asks for the ice-covered area.

    >>> iced_areas(np.array([3000.0]), np.array([25.4])).round(0).tolist()
    [10404.0]
    """
    rim = 2.4221 * np.sqrt(8.0 * areas / np.pi)
    return np.asarray(areas + rim * thickness + np.pi * thickness**2)


def snow_loads(frame: Frame, conditions: Conditions, foliage: Foliage) -> dict[str, Loads]:
    """Return `snow` (1 case): wet snow on the plan of every bar and on half the face of every leaf; {} for none.

    No standard gives snow on open bars: what lies on a bar is as broad as the bar. A leaf hangs upright on its loop,
    and holds what sticks until it swings off: half of its face (common practice, no source).
    """
    if not conditions.snow:
        return {}
    lying = []
    for _, tangent, diameter, _ in frame.load_places:
        lying.append(-conditions.snow * diameter * np.sqrt(np.maximum(1.0 - tangent[:, 2] ** 2, 0.0)))
    loads = along_bars(frame, lying)
    np.add.at(loads.points[:, 2, 0], frame.hangs, -0.5 * conditions.snow * foliage.areas)
    return {"snow": loads}


def ice_thickness(conditions: Conditions, heights: Floats) -> Floats:
    """Return the design thickness of ice (mm) at heights (mm); EN leaves it to the map, taken as it is."""
    if conditions.ice is None or not conditions.is_american:
        return np.full_like(heights, conditions.ice or 0.0)
    importance = float(table("wind")[asce7.ASCE7]["ice_importance"][conditions.risk_category])
    return asce7.design_ice(conditions.ice, heights / 1000.0, importance, conditions.topography)


def basic_loads(
    frame: Frame, conditions: Conditions, foliage: Foliage, count: int = 36
) -> tuple[dict[str, Loads], Floats]:
    """Return all basic load cases by name, and the wind directions (H, 3); count is a multiple of four."""
    winds = directions(count)
    made = {"dead": dead_loads(frame, conditions, foliage)}
    made |= wind_loads(frame, conditions, foliage, winds) | ice_loads(frame, conditions, foliage, winds)
    return made | snow_loads(frame, conditions, foliage), winds
