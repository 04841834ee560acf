"""Where a sleeve or spigot can be pushed on: a straight run of bar or pipe, as thick at one end of it as at the other.

Lengths are mm. Proportions are common practice without a source: two and a half diameters on either side of a cut, a
millimetre of play.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np

from armature.tree import Floats, Tree, locate

PLAY = 1.0
STEP = 5.0
_EACH_SIDE = 2.5
# Half the play is left to slide and to draw the ends together by; a bar's own roundness is not held closer than this.
_MOST_RISE = PLAY / 2.0
_MOST_CHANGE = 0.1
_SAMPLES = 65
_APART = 100.0


@dataclass(frozen=True)
class Seat:
    """What lies under a sleeve or spigot of `length_mm`: how far it is off straight, how much its outside changes."""

    length_mm: float
    rise_mm: float = 0.0
    change_mm: float = 0.0

    @property
    def is_bent(self) -> bool:
        """Whether it rises more than the play lets a straight joint follow."""
        return self.rise_mm > _MOST_RISE

    @property
    def is_drawn(self) -> bool:
        """Whether its outside, and with it the bore of a pipe, changes along the joint."""
        return self.change_mm > _MOST_CHANGE

    @property
    def holds(self) -> bool:
        """Whether a sleeve or spigot can be put together here."""
        return not self.is_bent and not self.is_drawn


def sleeve_length(bar_mm: float) -> float:
    """Return the length of a sleeve or spigot for a bar or pipe: mm, in whole steps.

    >>> sleeve_length(50.0)
    250.0
    """
    return ceil(2.0 * _EACH_SIDE * bar_mm / STEP - 1e-9) * STEP


def seat(tree: Tree, row: int, station: float) -> Seat:
    """Return the seat of a sleeve or spigot about a cut, as far as its bar goes."""
    length = sleeve_length(float(tree.diameters_at([row], [station])[0]))
    stations = np.clip(station + length * np.linspace(-0.5, 0.5, _SAMPLES), 0.0, float(tree.lengths[row]))
    rows = np.full(_SAMPLES, row)
    points = locate(tree.chains, rows, stations)[0] - locate(tree.chains, [row], stations[:1])[0]
    along = points[-1] / max(float(np.linalg.norm(points[-1])), 1e-12)
    rise = np.linalg.norm(points - np.outer(points @ along, along), axis=1).max()
    outside = tree.diameters_at(rows, stations)
    return Seat(length, float(rise), float(outside.max() - outside.min()))


def straight_places(tree: Tree, row: int) -> Floats:
    """Return stations on straight runs of constant section about which a sleeve or spigot fits: (K,) mm, in order.

    Of each run both ends and places between, at most 100 mm apart.
    """
    chains = tree.chains
    half = sleeve_length(float(tree.start_diameters[row])) / 2.0
    places = [np.zeros(0)]
    for at in range(int(chains.firsts[row]), int(chains.firsts[row + 1])):
        for first, last in _even_runs(tree, row):
            low = max(float(chains.marks[at]), first) + half
            high = min(float(chains.marks[at] + chains.feeds[at]), last) - half
            if high >= low:
                places.append(np.linspace(low, high, ceil((high - low) / _APART) + 1))
    return np.unique(np.round(np.concatenate(places), 3))


def _even_runs(tree: Tree, row: int) -> list[tuple[float, float]]:
    """Return the runs of a bar that keep their section, from and to mm."""
    tapers, length = tree.tapers, float(tree.lengths[row])
    if np.ptp(tree.diameters_at(np.full(2, row), [float(tapers.swells[row]), length])) <= _MOST_CHANGE:
        return [(float(tapers.swells[row]), length)]
    stops = tapers.stops(tree.lengths)
    own = range(int(tapers.offsets[row]), int(tapers.offsets[row + 1]))
    return [(float(tapers.stations[at]), float(stops[at])) for at in own if tapers.nexts[at] == tapers.diameters[at]]
