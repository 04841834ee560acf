"""What fatigue needs to know of the tree: stress ranges of the 50-year gust and lock-in of every member."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from armature.centreline import Floats
from armature.strength import en1991
from armature.strength.combinations import Combination, combined, leaf_drags
from armature.strength.conditions import Conditions
from armature.strength.cuts import Sections
from armature.strength.fatigue import Fatigue, fatigue, lock_in
from armature.strength.frame import Frame
from armature.strength.modes import member_modes
from armature.strength.resistance import use
from armature.strength.stiffness import Stiffness
from armature.strength.welds import Welds


def weariness(
    cut: Frame,
    places: Sections,
    stiff: Stiffness,
    lumps: Floats,
    rows: Mapping[str, Floats],
    winds: Floats,
    weld: Welds,
    held: Conditions,
) -> Fatigue:
    """Return the fatigue of every weld over the asked years.

    The 50-year gust is the characteristic wind of EN 1991-1-4, or 0.6 of the wind force of ASCE 7-16, whose speed is
    that of 300 to 3000 years; the range goes from still to full wind, for either bound of the leaves.
    """
    tree, count = cut.tree, len(cut.tree)
    ranges = {word: _gust_range(drag, rows, winds, places, count, held) for word, drag in leaf_drags().items()}
    locked = lock_in(
        member_modes(cut, stiff, lumps),
        (tree.start_diameters + tree.end_diameters) / 2.0,
        places.values.elastic[:count],
        tree.lengths,
        held.damping,
        mean_wind(held, tree.tips[:, 2]),
        float(held.years),
    )
    return fatigue(ranges, locked, weld.is_groove, float(held.years), held.is_american)


def _gust_range(
    drag: float, rows: Mapping[str, Floats], winds: Floats, places: Sections, count: int, held: Conditions
) -> Floats:
    wind = Combination("wind alone", "", 0.0, 0.6 if held.is_american else 1.0, 0.0, drag)
    asked = use(combined(wind, {name: each[:count] for name, each in rows.items()}, winds), places.tangents[:count])
    section = places.values
    stress = asked.bending / section.elastic[:count, None] + np.abs(asked.axial) / section.area[:count, None]
    return np.asarray(stress.max(axis=1))


def mean_wind(held: Conditions, heights: Floats) -> Floats:
    """Return the mean wind, m/s, at heights (mm): that of EN 1991-1-4 4.3, or a gust over 1.53 of its length.

    1.53 turns a 3-second gust into the hour's mean, from the Durst curve in ASCE 7-16 figure C26.5-1, from memory.
    """
    if held.wind_speed is None:
        return np.zeros_like(heights)
    if held.is_american:
        return np.full_like(heights, held.wind_speed / 1.53)
    return np.asarray(en1991.roughness_factor(heights / 1000.0, str(held.exposure)) * held.topography * held.wind_speed)
