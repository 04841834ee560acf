"""Vortex lock-in of each member in its first mode: EN 1991-1-4 annex E.1, approach 1. Values of the annex from memory.

A bar that tapers sheds at another rate all along: what locks in together is a cell, no longer than the correlation
length and no more uneven than a stack may be that still counts as even. The worst cell of a member speaks for it.
Size letters: M members, S places along each. Speeds m/s, lengths mm, stresses MPa.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from armature.strength.en1991 import AIR_KG_M3
from armature.strength.frame import Frame
from armature.strength.modes import MemberModes
from armature.strength.tables import table
from armature.tree import Floats

SECONDS_A_YEAR = 3.2e7  # the standard's round figure, EN 1991-1-4 eq. E.10
_PLACES = 33


@dataclass(frozen=True, eq=False)
class LockIn:
    """Lock-in of M members, each (M,), at the cell that tires the weld most.

    speed: critical, m/s. scruton: -. station: mm, the cell's upper end. swing: mm, of the point that moves most.
    ranges: MPa at the weld, 0 where the wind never reaches that speed. cycles: over the asked years.
    """

    speed: Floats
    scruton: Floats
    station: Floats
    swing: Floats
    ranges: Floats
    cycles: Floats


def scruton(damping: float, mass: Floats, diameters: Floats) -> Floats:
    """Return Sc = 2 delta m / (rho b^2), delta = 2 pi damping, m in kg/m, b in mm. EN 1991-1-4 eq. E.4.

    A solid steel bar has the same at any size: at 0.2 % of critical 124.

    >>> round(float(scruton(0.002, np.array(7850 * np.pi / 4 * 0.02**2), np.array(20.0))))
    124
    """
    return np.asarray(4.0 * np.pi * damping * mass / (AIR_KG_M3 * (diameters / 1000.0) ** 2))


def lift(speed_ratio: Floats) -> Floats:
    """Return c_lat by critical over mean speed: whole to 0.83, (3 - 2.4 r) of it to 1.25, none above. Table E.3.

    c_lat,0 is 0.7, that of Re under 300,000 (table E.2), which is high for the bars that pass it.

    >>> lift(np.array([0.5, 1.0, 1.3])).round(2).tolist()
    [0.7, 0.42, 0.0]
    """
    return np.asarray(table("details")["vortex"]["lift"] * np.clip(3.0 - 2.4 * speed_ratio, 0.0, 1.0))


def correlation_length(swing_ratio: Floats) -> Floats:
    """Return Lj / b by swing over diameter: 6 under 0.1, 4.8 + 12 y/b to 0.6, 12 above. Table E.4.

    >>> correlation_length(np.array([0.01, 0.5, 1.0])).tolist()
    [6.0, 10.8, 12.0]
    """
    return np.clip(4.8 + 12.0 * swing_ratio, 6.0, 12.0)


def cycles(rate: Floats, speeds: Floats, mean_wind: Floats, years: float) -> Floats:
    """Return N = 2 T n eps0 (v / v0)^2 exp(-(v / v0)^2), v0 a fifth of the mean wind, eps0 0.3. Eq. E.10.

    >>> round(float(cycles(np.array(1.0), np.array(5.0), np.array(25.0), 1.0)) / 1e6, 3)
    7.063
    """
    square = (speeds / np.maximum(mean_wind / 5.0, 1e-9)) ** 2
    return np.asarray(
        2.0 * years * SECONDS_A_YEAR * rate * table("details")["vortex"]["band"] * square * np.exp(-square)
    )


def lock_in(
    frame: Frame,
    first: MemberModes,
    moduli: Floats,
    damping: float,
    mean_wind: Callable[[Floats], Floats],
    years: float,
) -> LockIn:
    """Return what vortex lock-in does to each member in its first mode.

    moduli: (M,) mm3, elastic, at the weld. mean_wind: from heights (mm) to the 50-year ten-minute mean, m/s; above 1.25
    of it nothing locks in (E.1.2). Bars of no more than six diameters need no look (E.1.2). The moment at the weld is
    that of the mode's own inertia.
    """
    rules, tree = table("details")["vortex"], frame.tree
    places = _places(frame, first)
    ratio = np.full_like(places.tops, 6.0)
    rate, mass = first.frequencies[:, None], first.even_masses[:, None]
    for _ in range(3):
        bottoms = np.maximum(places.tops - ratio * places.diameters, places.uneven)
        middles = (bottoms + places.tops) / 2.0
        broad = _across(places, tree.diameters_at, middles)
        speeds = rate * broad / 1000.0 / rules["strouhal"]
        numbers = scruton(damping, mass, broad)
        share = places.swept(bottoms)
        push = lift(speeds / np.maximum(mean_wind(places.heights), 1e-9))
        swings = broad * share / (4.0 * np.pi * first.squares[:, None]) * push / (rules["strouhal"] ** 2 * numbers)
        ratio = correlation_length(swings / broad)
    stubby = tree.lengths <= rules["least_slenderness"] * (tree.start_diameters + tree.end_diameters) / 2.0
    ranges = np.where(stubby[:, None], 0.0, 2.0 * (first.roots / moduli)[:, None] * swings)
    counts = cycles(rate, speeds, mean_wind(places.heights), years) * (ranges > 0.0)
    worst = np.argmax(ranges**5 * np.maximum(counts, 1e-300), axis=1)
    at = np.arange(len(tree)), worst
    return LockIn(speeds[at], numbers[at], places.tops[at], swings[at], ranges[at], counts[at])


@dataclass(frozen=True, eq=False)
class _Places:
    """Possible upper ends of cells, each (M, S): tops and the lowest bottom for evenness (mm), diameters and heights
    (mm), and the running integral of the mode, `area` (mm)."""

    tops: Floats
    uneven: Floats
    diameters: Floats
    heights: Floats
    area: Floats

    def swept(self, bottoms: Floats) -> Floats:
        """Return the integral of the mode over the cell, never over six tenths of the whole (K_W, E.1.5.2.5): mm."""
        step = self.tops[:, 1] - self.tops[:, 0]
        place = np.clip(bottoms / step[:, None], 0.0, _PLACES - 1.0)
        low = np.minimum(place.astype(np.int64), _PLACES - 2)
        rows = np.arange(len(step))[:, None]
        under = self.area[rows, low] + (place - low) * (self.area[rows, low + 1] - self.area[rows, low])
        most: Floats = table("details")["vortex"]["length"] * self.area[:, -1:]
        return np.asarray(np.minimum(self.area - under, most))


def _places(frame: Frame, first: MemberModes) -> _Places:
    tree = frame.tree
    share = np.linspace(0.0, 1.0, _PLACES)
    tops = tree.lengths[:, None] * share
    # One line for all members: each takes up its own unit of it.
    line = frame.members + np.minimum(frame.stations / tree.lengths[frame.members], 1.0 - 1e-9)
    wanted = np.arange(len(tree))[:, None] + np.minimum(share, 1.0 - 1e-9)
    shape, heights = np.interp(wanted, line, first.shapes), np.interp(wanted, line, frame.points[:, 2])
    step = tree.lengths[:, None] / (_PLACES - 1)
    area = np.cumsum((shape + np.roll(shape, 1, axis=1)) / 2.0 * step, axis=1)
    area -= area[:, :1]
    rows = np.repeat(np.arange(len(tree)), _PLACES)
    diameters = tree.diameters_at(rows, tops.ravel()).reshape(tops.shape)
    return _Places(tops, _uneven(frame, diameters), diameters, heights, area)


def _uneven(frame: Frame, diameters: Floats) -> Floats:
    """Return the station (M, S) mm down to which a bar stays within 5 % of one size, from where it has `diameters`."""
    tree, within = frame.tree, table("details")["vortex"]["evenness"]
    most = diameters * (1.0 + within) / (1.0 - within)
    rows = np.repeat(np.arange(len(tree)), _PLACES)
    return tree.tapers.thinner(tree.lengths, rows, most.ravel()).reshape(most.shape)


def _across(places: _Places, size: Callable[..., Floats], middles: Floats) -> Floats:
    rows = np.repeat(np.arange(len(middles)), _PLACES)
    return np.asarray(size(rows, middles.ravel())).reshape(middles.shape)
