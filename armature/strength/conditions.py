"""What the tree has to stand in: the commission's site and steel, with every assumed value named."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from armature.commission import Commission, Quake, Tie
from armature.edge import System
from armature.metals import Grade, grade
from armature.strength import asce7
from armature.strength.en1991 import probability_factor
from armature.strength.tables import table


@dataclass(frozen=True)
class Assumption:
    """A value that nobody gave: what it is, the value taken, and why that one."""

    what: str
    value: str
    why: str


@dataclass(frozen=True)
class Conditions:
    """Site and steel as the checks read them; speeds m/s, lengths mm, N, MPa.

    wind_speed, exposure, ice, ice_wind, snow are None where nobody gave them: what depends on them is then not
    checked, and the verdict says so, because a guessed wind could hurt someone. All other gaps are filled and listed
    in `assumed`.
    units: of the shop, whose plates are on hand. foot_width: of the base plate, None where it is cut to the anchors.
    """

    standard: str
    grade: Grade
    leaf_metal: str
    loop_wire: float
    wind_speed: float | None
    exposure: str | None
    ice: float | None
    ice_wind: float | None
    snow: float | None
    risk_category: str
    topography: float
    damping: float
    coat: str
    reach: float
    pull: float
    soil_bearing: float
    corrosivity: str
    years: int
    renew_every: int | None
    allowance: float | None
    climbers: int
    head_room: float | None
    ground: str
    foot_depth: float
    frost_depth: float | None
    concrete: float
    friction: float
    quake: Quake | None
    hold: tuple[str, ...]
    ties: tuple[Tie, ...]
    units: System
    foot_width: float | None
    assumed: tuple[Assumption, ...]

    @property
    def is_american(self) -> bool:
        """Whether the checks are those of AISC 360-16, and not of EN 1993."""
        return self.standard == asce7.ASCE7

    @property
    def has_wind(self) -> bool:
        """Whether wind can be checked."""
        return self.wind_speed is not None and self.exposure is not None

    @property
    def has_ice(self) -> bool:
        """Whether ice can be checked: it is given, and with it the wind, unless there is none to speak of."""
        return self.has_wind and self.ice is not None and (self.ice == 0.0 or self.ice_wind is not None)


# key of the commission's site: (value taken, how it reads, why that one).
_USUAL: dict[str, tuple[str | float, str, str]] = {
    "risk_category": ("II", "II", "ordinary occupancy, ASCE 7-16 table 1.5-1"),
    "topography": (1.0, "1.0", "flat ground"),
    "damping": (0.002, "0.2 % of critical", "welded steel, EN 1991-1-4 table F.2"),
    "coat": ("bare", "bare", "the least protection"),
    "reach": (2500.0, "2.5 m", "common practice, no source"),
    "climbers": (1, "1", "one person on a member at a time, as in a garden that is looked after"),
    "pull": (1391.0, "1391 N", "one user of play equipment, EN 1176-1 annex A, from memory"),
    "soil_bearing": (0.072, "72 kPa", "clay, IBC table 1806.2, from memory: there is no soil report"),
}


def conditions(commission: Commission) -> Conditions:
    """Return the conditions that a commission gives, with a list of every value that had to be assumed."""
    site = commission.site
    american = site.standard == asce7.ASCE7
    values: dict[str, Any] = {key: getattr(site, key) for key in _USUAL}
    gaps = [key for key in _USUAL if values[key] is None and (american or key != "risk_category")]
    values |= {key: _USUAL[key][0] for key in _USUAL if values[key] is None}
    assumed = tuple(Assumption(f"site.{key}", *_USUAL[key][1:]) for key in gaps)
    assumed = (*assumed, *_defaults(commission))
    kept = (
        *("standard", "exposure", "ice", "ice_wind", "snow", "corrosivity", "years", "renew_every", "allowance"),
        *("head_room", "ground", "foot_depth", "frost_depth", "concrete", "friction", "quake", "ties"),
    )
    values["wind_speed"] = site.wind_speed
    if site.wind_for_years and site.wind_speed is not None:
        values["wind_speed"] = site.wind_speed * life_factor(site.years, american, values["risk_category"])
    return Conditions(
        grade=grade(commission.steel.grade),
        leaf_metal=commission.leaves.metal,
        loop_wire=commission.leaves.wire,
        units=commission.units,
        hold=commission.steel.hold,
        foot_width=commission.shop.transport.foot_width,
        assumed=(*assumed, *_always(american)),
        **values,
        **{key: getattr(site, key) for key in kept},
    )


def life_factor(years: int, american: bool, risk_category: str) -> float:
    """Return the factor on wind speed that keeps, over the asked years, the chance that the map's wind has in 50.

    EN 1991-1-4 eq. 4.2, or V_T / V_50 = 0.36 + 0.1 ln(12 T), ASCE 7-16 commentary C26.5.1, from memory; never under 1.

    >>> round(life_factor(200, True, "II"), 3), life_factor(50, False, "II")
    (1.11, 1.0)
    """
    longer = max(years / 50.0, 1.0)
    if not american:
        return probability_factor(50.0 * longer)
    period = float(table("wind")[asce7.ASCE7]["recurrence_years"][risk_category])
    return float((0.36 + 0.1 * np.log(12.0 * period * longer)) / (0.36 + 0.1 * np.log(12.0 * period)))


def _defaults(commission: Commission) -> tuple[Assumption, ...]:
    """What the commission's own defaults filled in: nobody said it either."""
    site, steel = commission.site, commission.steel
    air = "town or mild coast, ISO 9223; ask for the class of the place"
    usual = {
        "standard": Assumption("site.standard", site.standard, "the commission names none"),
        "corrosivity": Assumption("site.corrosivity", site.corrosivity, air),
        "years": Assumption("site.years", f"{site.years} years", "the commission names none"),
    }
    said = [usual[key] for key in usual if key not in site.model_fields_set]
    if "grade" not in steel.model_fields_set:
        said.append(Assumption("steel.grade", steel.grade, "the commission names none"))
    return tuple(said)


def _always(american: bool) -> tuple[Assumption, ...]:
    """What no key of the commission sets: listed all the same."""
    common = (
        Assumption("clauses and tables", "partly from memory", "their text was not at hand: check those marked"),
        Assumption("welds", "as good as sound work to the plan", "every joint is inspected; none was"),
        Assumption("shelter of one bar by another", "none", "the safer side"),
        Assumption("leaves across the wind", "drag 1.3 of one face", "Hoerner, Fluid-Dynamic Drag, ch. 3"),
        Assumption("leaves streaming", "drag 0.2 of one face", "Vogel, J. Exp. Bot. 40 (1989)"),
        Assumption("loops", "free to swing: a leaf pulls, and does not twist its twig", "as they are made"),
    )
    if american:
        return (
            *common,
            Assumption("wind direction factor Kd", "1.0", "all directions are swept; 0.95 is for round structures"),
            Assumption("ground elevation factor Ke", "1.0", "sea level, the safer side"),
            Assumption("weld metal", "E70, 483 MPa", "usual with carbon steel, AWS A5.1"),
        )
    return (
        *common,
        Assumption("direction and season factors", "1.0", "EN 1991-1-4 4.2(2), recommended"),
        Assumption("end effect of bars", "psi = 1", "the safer side of EN 1991-1-4 7.13"),
        Assumption("weld metal", "at least as strong as the steel", "EN 1993-1-8 4.2(2)"),
    )
