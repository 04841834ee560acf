"""How each end is prepared and welded: what the saddle, the gap, the process and the heat are.

A groove through the whole bar is made only where strength asks for it, the lean leaves room to fill its heel, the torch
reaches round it, and the bar is thick enough to be bevelled; a 6 mm twig that has to be as strong as its bar is ground
to a point and built up, as smiths do. Where the heel is too acute to fill, the groove is opened from the toe and both
sides and welded through to the heel's edge, as long as what is fused there is enough by the strength report; a trial
piece shows that it is. Lengths are mm, temperatures deg C.

Sources, from memory: gap of a fillet, AWS D1.1 5.21.1 (to 1.6 mm, above it the leg grows by the gap, never over 5 mm);
bevel and root of a groove, AWS D1.1 figure 3.3 TC-U4 and ISO 9692-1 table 2 (35 to 60 deg, gap 2 to 4 mm, land 1 to 2
mm); acute sides under 30 deg cannot be filled, AWS D1.1 4.13 and table 2.2, and under 15 deg its figure of T-, Y- and
K-connections ends; least preheat by thickness, AWS D1.1 table
3.3 (ASTM A36, A572-50, low hydrogen: 0 to 19 mm none, to 38 mm 10 deg C, to 65 mm 65, over 65 mm 110). Steels S275 and
S355 are read as those of like strength (EN 1011-2 would work from their carbon equivalent).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.tree import Floats, Ints

# Thinner bars are ground to a point and built up, not bevelled; an acute side below this cannot be filled.
THIN, ACUTE, SHARPEST = 10.0, 30.0, 15.0
_PLACES = 6
GAP, ROOT, LAND = 1.5, 2.5, 2.0
# Last row: thicker than all others.
_PREHEAT = ((19.0, 0.0), (38.0, 10.0), (65.0, 65.0), (np.inf, 110.0))
FILLET, POINT, BEVEL, HEEL_OPEN, NO_REACH, TOE = range(6)
# What lists call them.
WAYS = ("saddle", "point", "bevel", "heel too acute", "out of reach", "bevel from toe")


@dataclass(frozen=True, eq=False)
class Preparations:
    """How M ends are prepared: ways (M,) FILLET, POINT (ground to a point, built up), BEVEL (groove), HEEL_OPEN (a
    groove is asked whose heel is too acute to fill), NO_REACH (one that no torch gets round) or TOE (a groove from toe
    and sides, whose heel may stay open); preheats (M,) deg C."""

    ways: Ints
    preheats: Floats

    @property
    def doubtful(self) -> NDArray[np.bool_]:
        """Where strength asks for a groove that cannot be made well: (M,)."""
        return np.isin(self.ways, (HEEL_OPEN, NO_REACH))


def preparations(
    grooves: NDArray[np.bool_],
    thicknesses: Floats,
    leans: Floats,
    reached: Ints,
    thickest: Floats,
    heel_uses: Floats | None = None,
) -> Preparations:
    """Return how ends are prepared: (M,) each.

    grooves: what strength asks as strong as the bar. thicknesses: of the bar or the wall, mm. leans: deg. reached:
    places of 8 that a torch gets to. thickest: of the two parts joined, mm: it takes the heat.
    heel_uses: how far each foot is used with its heel open, None where strength does not say.

    >>> one = preparations(np.array([True, True]), np.array([6.0, 25.0]), np.array([50.0, 50.0]), np.array([8, 8]),
    ...                    np.array([20.0, 60.0]))
    >>> one.ways.tolist(), one.preheats.tolist()
    ([1, 2], [10.0, 65.0])
    """
    leans = np.minimum(leans, 180.0 - leans)
    enough = np.zeros(len(leans), dtype=bool) if heel_uses is None else (heel_uses <= 1.0) & (leans >= SHARPEST)
    thick = np.where(leans < ACUTE, np.where(enough, TOE, HEEL_OPEN), BEVEL)
    unreached = (thick != HEEL_OPEN) & (reached < _PLACES)
    ways = np.where(thicknesses < THIN, POINT, np.where(unreached, NO_REACH, thick))
    limits, heats = np.array(_PREHEAT).T
    return Preparations(np.where(grooves, ways, FILLET), heats[np.searchsorted(limits, thickest - 1e-6)])
