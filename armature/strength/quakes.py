"""Earthquake by one lateral force: the user's spectrum, the tree's own period, weight turned sideways.

ASCE 7-16 12.8.1 and 15.4.1, EN 1998-1 4.3.3.2, from memory. A first look: a tall or an irregular tree needs more.
"""

from __future__ import annotations

import numpy as np

from armature.strength.conditions import Conditions
from armature.strength.forces import Loads


def base_share(conditions: Conditions, frequency: float) -> float:
    """Return the base shear over the weight: S_DS / R, no more than S_D1 / (T R), no less than 0.044 S_DS or 0.03.

    ASCE 7-16 eq. 12.8-2, 12.8-3, 15.4-1; importance 1. EN 1998-1 has 0.2 of the ground's share as its least.

    >>> from tests.strength.made import commission
    >>> from armature.strength.conditions import conditions
    >>> site = '[site]\\nquake = {short = 0.5, second = 0.2, response = 1.25}\\n'
    >>> round(base_share(conditions(commission(site)), 1.0), 3), round(base_share(conditions(commission(site)), 9.0), 3)
    (0.16, 0.4)
    """
    quake = conditions.quake
    assert quake is not None
    period = 1.0 / max(frequency, 1e-6)
    most = quake.second / (period * quake.response)
    return float(max(min(quake.short / quake.response, most), 0.044 * quake.short, 0.03))


def quake_loads(conditions: Conditions, dead: Loads, frequency: float) -> dict[str, Loads]:
    """Return `quake` (2 cases, toward +x and +y) from the weight at rest; {} where no earthquake is given."""
    if conditions.quake is None:
        return {}
    share = base_share(conditions, frequency)
    assert dead.lines is not None
    points, lines = np.zeros((*dead.points.shape[:2], 2)), np.zeros((*dead.lines.shape[:3], 2))
    for axis in (0, 1):
        points[:, axis, axis] = -share * dead.points[:, 2, 0]
        lines[:, :, axis, axis] = -share * dead.lines[:, :, 2, 0]
    return {"quake": Loads(points, lines)}
