"""What fatigue needs to know of the tree: stress ranges of the 50-year gust and lock-in of every member."""

from __future__ import annotations

import numpy as np

from armature.strength import asce7, en1991
from armature.strength.combinations import Combination, combined, leaf_drags
from armature.strength.conditions import Conditions
from armature.strength.fatigue import STREAMING, Fatigue, allowed_skin_gust, fatigue, skin_kinds
from armature.strength.loaded import Loaded
from armature.strength.loads import Foliage, masses
from armature.strength.lock_in import lock_in
from armature.strength.modes import member_modes
from armature.strength.resistance import use
from armature.strength.welds import Welds
from armature.tree import Floats, Ints, joints


def weariness(at: Loaded, weld: Welds) -> Fatigue:
    """Return the fatigue of every weld over the asked years.

    The 50-year gust is the characteristic wind of EN 1991-1-4, or 0.6 of the wind force of ASCE 7-16, whose speed is
    that of 300 to 3000 years; the range goes from still to full wind, for either bound of the leaves. Lock-in is that
    of the bars alone: a leaf on a loose loop does not follow a bar that sings, and its damping is not taken either.
    """
    feet, years, steel = np.arange(len(at.tree)), float(at.conditions.years), at.conditions.grade.density_kg_m3
    ranges = {word: _gust_range(at, word, feet) for word in leaf_drags()}
    bare = Foliage(np.zeros(len(at.frame.hangs)), np.zeros(len(at.frame.hangs)))
    locked = lock_in(
        at.frame,
        member_modes(at.frame, at.stiff, masses(at.frame, steel, bare)),
        at.places.values.elastic[: len(at.tree)],
        at.conditions.damping,
        lambda heights: mean_wind(at.conditions, heights),
        years,
    )
    return fatigue(ranges, locked, weld.is_groove, years, at.conditions.is_american, _skin(at, weld))


def _skin(at: Loaded, weld: Welds) -> Floats:
    """Return the use of each section's skin beside the welds of what sits there: (Q,), by the longest of them.

    A child's weld is as long along its parent as the child is thick over the sine of its lean, a leg more at each end.
    """
    tree, nodes, used = at.tree, at.places.nodes, np.zeros(len(at.places))
    kids = np.flatnonzero(tree.parents >= 0)
    lean = np.maximum(np.sin(np.radians(joints(tree).leans[kids])), 0.2)
    legs = np.minimum(weld.leg, weld.most)[kids]
    long = np.zeros(len(at.frame))
    np.maximum.at(long, at.frame.parent_nodes[kids], tree.start_diameters[kids] / lean + 2.0 * legs)
    some = np.flatnonzero(long[nodes] > 0.0)
    kinds = skin_kinds(long[nodes[some]])
    allowed = [
        allowed_skin_gust(float(at.conditions.years), kind, at.conditions.is_american)
        for kind in range(int(kinds.max(initial=0)) + 1)
    ]
    used[some] = _gust_range(at, STREAMING, some) / np.array(allowed)[kinds]
    return used


def _gust_range(at: Loaded, bound: str, some: Ints) -> Floats:
    """Return the range of stress, MPa, of the 50-year gust at some cross-sections, leaves standing as `bound` says."""
    share = 0.6 if at.conditions.is_american else 1.0
    wind = Combination("wind alone", "", 0.0, share, 0.0, leaf_drags()[bound], bound=bound)
    here = {name: each[some] for name, each in at.rows.items()}
    asked = use(combined(wind, here, at.winds, {bound: at.factors[bound][at.places.members[some]]}))
    elastic, area = at.places.values.elastic[some, None], at.places.values.area[some, None]
    stress = asked.bending / elastic + np.abs(asked.axial) / area
    return np.asarray(stress.max(axis=1))


def mean_wind(conditions: Conditions, heights: Floats) -> Floats:
    """Return the 50-year mean of ten minutes, m/s, at heights (mm).

    EN 1991-1-4 4.3; or the hour's mean of ASCE 7-16 eq. 26.11-16, times 1.07 for ten minutes (Durst curve, figure
    C26.5-1, from memory), times the root of 0.6, the share of the mapped wind's force that comes once in 50 years.
    """
    if conditions.wind_speed is None:
        return np.zeros_like(heights)
    if conditions.is_american:
        hour = asce7.mean_speed(heights / 1000.0, str(conditions.exposure), conditions.wind_speed)
        return np.asarray(1.07 * np.sqrt(0.6) * hour)
    return np.asarray(
        en1991.roughness_factor(heights / 1000.0, str(conditions.exposure))
        * conditions.topography
        * conditions.wind_speed
    )
