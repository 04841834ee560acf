"""What a measure hands back: the number, how many things it rests on, and what spoils it on either side."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from armature.tree import Floats, Ints


def _nobody() -> Ints:
    return np.zeros(0, dtype=np.int64)


def _nowhere() -> Floats:
    return np.zeros((0, 3))


@dataclass(frozen=True, eq=False)
class Reading:
    """One measure of one tree.

    value: the number, NaN where the tree has too little to measure. count: things it rests on.
    low_rows, high_rows: members, worst first, that make the value too low or too high.
    low_places, high_places: (K, 3) mm, places that do.
    azimuth: deg, direction in which to look at it, NaN where any side shows it.
    """

    value: float
    count: int
    low_rows: Ints = field(default_factory=_nobody)
    high_rows: Ints = field(default_factory=_nobody)
    low_places: Floats = field(default_factory=_nowhere)
    high_places: Floats = field(default_factory=_nowhere)
    azimuth: float = float("nan")


def nothing(count: int = 0) -> Reading:
    """Return the reading of a measure that the tree has too little for."""
    return Reading(float("nan"), count)
