"""How sections are joined on site: the joint of each splice as a first pass, for an engineer to design.

Lengths are mm, moments kN m, stresses MPa.

Proportions are common practice without a source unless they say else: a sleeve is as strong in bending as its bar.
Where a bar is bent or drawn down nothing straight and tight can be pushed over or into it: there flanges are taken.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, pi, sqrt

import numpy as np

from armature.edge import System
from armature.metals import stock_plate
from armature.shop.hanging import DYNAMIC
from armature.shop.seats import PLAY, STEP, Seat, sleeve_length
from armature.shop.sections import SectionPlan, Splice
from armature.tree import Demands, Floats, Tree

_BOLTS = {
    "mm": (12.0, 16.0, 20.0, 24.0, 30.0, 36.0),
    "inch": tuple(25.4 / 8.0 * eighths for eighths in (4, 5, 6, 7, 8, 10, 12)),
}
_BOLT_COUNT = 6
# Least tensile strength of ISO 898-1 class 8.8, which ASTM F3125 A325 exceeds (830); AISC 360-16 J3.6: 0.75 of 0.75 Fu
# on the nominal area (all from memory).
_BOLT_MPA = 0.75 * 0.75 * 800.0


@dataclass(frozen=True)
class SiteJoint:
    """A joint made on site.

    kind: "weld" (a whole member at its own joint), "sleeve" (outside, over solid bar), "spigot" (inside a pipe) or
    "flange". moment_kn_m: bending to design it for; `source` says whether it comes from "strength" or is own weight
    counted twice. For a sleeve or spigot its length, bore and outside; for a flange its diameter as `outside_mm`, its
    thickness as `length_mm`, and bolts. not_seated: for a flange that stands in for a sleeve or spigot, what the bar is
    like along the one that was asked for, `asked`.
    """

    kind: str
    bar_mm: float
    bore_of_bar_mm: float
    moment_kn_m: float
    source: str
    length_mm: float = 0.0
    bore_mm: float = 0.0
    outside_mm: float = 0.0
    bolts: int = 0
    bolt_mm: float = 0.0
    bolt_circle_mm: float = 0.0
    asked: str = ""
    not_seated: Seat | None = None


def site_joint(
    splice: Splice, made_as: str, yield_mpa: float, strength_n_mm: float | None = None, units: System = "mm"
) -> SiteJoint:
    """Return the joint of a splice. made_as: "sleeve" or "flange"; strength_n_mm: bending there, where it is known;
    units: of its bolts.

    A sleeve over bar is a spigot in pipe, and either is a flange where its seat does not hold it.

    >>> sleeve = site_joint(Splice(1, 500.0, 50.0, 10.0), "sleeve", 250.0)
    >>> sleeve.length_mm, sleeve.bore_mm, sleeve.outside_mm
    (250.0, 51.0, 65.0)
    """
    d, bore = splice.diameter_mm, splice.bore_mm
    own = DYNAMIC * splice.stress_mpa * pi / 32.0 * (d**4 - bore**4) / d
    moment = own if strength_n_mm is None else max(own, strength_n_mm)
    source = "strength" if moment > own else "own weight counted twice"
    if splice.at_joint:
        return SiteJoint("weld", d, bore, moment / 1e6, source)
    if made_as == "flange":
        return _flange(d, bore, moment, source, yield_mpa, units)
    if splice.seat is not None and not splice.seat.holds:
        flange = _flange(d, bore, moment, source, yield_mpa, units)
        return replace(flange, asked="spigot" if bore else "sleeve", not_seated=splice.seat)
    length = sleeve_length(d)
    if bore:
        return SiteJoint("spigot", d, bore, moment / 1e6, source, length, 0.0, bore - PLAY)
    inside = d + PLAY
    return SiteJoint("sleeve", d, bore, moment / 1e6, source, length, inside, _as_strong(d, inside))


def site_joints(
    tree: Tree, plan: SectionPlan, made_as: str, yields: Floats, asked: Demands | None, units: System
) -> tuple[SiteJoint | None, ...]:
    """Return the joint of each section, None for the first. yields: (M,) MPa of each member."""
    return tuple(
        None
        if section.splice is None
        else site_joint(
            section.splice, made_as, float(yields[section.splice.row]), _bending(section.splice, asked), units
        )
        for section in plan.sections
    )


def _bending(splice: Splice, asked: Demands | None) -> float | None:
    """Return the larger of the moments at the places of strength on either side of a splice, N mm."""
    if asked is None:
        return None
    own = np.flatnonzero(asked.rows == splice.row)
    order = own[np.argsort(asked.stations[own], kind="stable")]
    if not len(order):
        return None
    at = int(np.searchsorted(asked.stations[order], splice.station_mm))
    near = order[max(at - 1, 0) : at + 1]
    return float(asked.moments[near].max())


def _as_strong(bar: float, inside: float) -> float:
    """Return the outside of a tube over a bar with the bar's section modulus, mm, in whole steps."""
    outside = ceil(inside / STEP) * STEP
    while (outside**4 - inside**4) / outside < bar**3:
        outside += STEP
    return outside


def _flange(bar: float, bore: float, moment: float, source: str, yield_mpa: float, units: System) -> SiteJoint:
    """Return a ring flange: bolts as a line of steel, its plate bent by one bolt (AISC Design Guide 1, from memory)."""
    for bolt in _BOLTS[units]:
        circle = bar + 4.0 * bolt
        pull = 4.0 * moment / (_BOLT_COUNT * circle)
        if pull <= _BOLT_MPA * pi / 4.0 * bolt**2:
            break
    thick = sqrt(4.0 * pull * 2.0 * bolt / (0.9 * yield_mpa * 3.0 * bolt))
    return SiteJoint(
        "flange",
        bar,
        bore,
        moment / 1e6,
        source,
        stock_plate(max(thick, 0.8 * bolt), units),
        bore,
        ceil((circle + 3.0 * bolt) / STEP) * STEP,
        _BOLT_COUNT,
        bolt,
        circle,
    )
