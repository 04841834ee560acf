"""How long it lasts: loss of metal by ISO 9223 and ISO 9224, coats, and the year in which each rank first fails.

Size letters: M members, Q cross-sections, Y years. Losses mm a side unless said otherwise; forces N and N mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from armature.strength.conditions import Conditions
from armature.strength.cross_sections import CrossSections
from armature.strength.rounds import rounds
from armature.strength.rules import resistance
from armature.strength.tables import table
from armature.strength.worst import Worst
from armature.tree import Floats, Ints


def first_year_loss(metal: str, corrosivity: str) -> float:
    """Return the first year's loss, mm a side, at the upper end of a class. ISO 9223:2012 table 2."""
    return float(table("corrosion")["first_year_um"][metal][corrosivity]) / 1000.0


def loss(first: float, years: ArrayLike, exponent: float) -> Floats:
    """Return the loss after `years`, in the unit of `first`: r t^b, past 20 years along the slope at 20. ISO 9224:2012.

    >>> loss(50.0, [1, 20, 300], 0.523).round(1).tolist()
    [50.0, 239.6, 1993.6]
    """
    t = np.asarray(years, dtype=np.float64)
    early = np.minimum(t, 20.0) ** exponent
    return np.asarray(first * (early + exponent * 20.0 ** (exponent - 1.0) * np.maximum(t - 20.0, 0.0)))


def years_to(depth: ArrayLike, first: float, exponent: float) -> Floats:
    """Return the years until the loss reaches `depth`, both in one unit: the inverse of `loss`."""
    share = np.asarray(depth, dtype=np.float64) / first
    late = 20.0 + (share - 20.0**exponent) / (exponent * 20.0 ** (exponent - 1.0))
    early = np.maximum(share, 0.0) ** (1.0 / exponent)
    return np.where(share <= 20.0**exponent, early, late)


def upper_exponent(metal: str) -> float:
    """Return the exponent at the upper end, the design value. ISO 9224:2012 table 2."""
    return float(table("corrosion")["exponents"][metal]["upper"])


def coat_years(coat: str, corrosivity: str) -> float:
    """Return the years that a coat, never renewed, keeps rust off: zinc by its own loss, paint by its durability."""
    coats = table("corrosion")["coats"]
    zinc = float(
        years_to(coats["galvanised_um"] / 1000.0, first_year_loss("zinc", corrosivity), upper_exponent("zinc"))
    )
    paint = float(coats["painted_years"][corrosivity])
    both = float(coats["duplex_factor"]) * (zinc + paint)
    return {"bare": 0.0, "painted": paint, "galvanised": zinc, "galvanised and painted": both}[coat]


COATS = ("bare", "painted", "galvanised", "galvanised and painted")


@dataclass(frozen=True, eq=False)
class Lifetime:
    """How long the steel lasts.

    spare: (M,) mm a side that a member can lose before its first check fails; 0 where it fails already. years: by
    coat, (M,) years to that loss, never more than `horizon`. losses: by coat, mm a side after the asked years.
    leaf_loss: mm a side of the leaves' metal after the asked years, None where it is not tabled. renewal_depth: mm a
    side gone when the coat is renewed, or the allowance; None where neither is said. at_renewal: (M,) worst strength
    ratio then. end_depth, at_end: the same after the asked years, with every renewal; infinite where a bar is gone.
    """

    spare: Floats
    years: dict[str, Floats]
    losses: dict[str, float]
    leaf_loss: float | None
    horizon: float
    renewal_depth: float | None
    at_renewal: Floats | None
    end_depth: float
    at_end: Floats


HORIZON_YEARS = 2000.0
_STEPS = 6


def lifetime(cross_sections: CrossSections, worst: Worst, yields: Floats, conditions: Conditions) -> Lifetime:
    """Return how long each member lasts under its worst case, its cross-section wasting evenly.

    The wind goes on blowing on the full diameter, on the safe side. Fatigue of wasted bars is not in it. A pipe wastes
    from outside only, so a sealed bore is assumed.
    """
    spare = member_least(cross_sections, spare_depth(cross_sections, worst, yields, conditions))
    first, exponent = first_year_loss("steel", conditions.corrosivity), upper_exponent("steel")
    bare = years_to(spare, first, exponent)
    years, losses = {}, {}
    for coat in COATS:
        kept = coat_years(coat, conditions.corrosivity)
        years[coat] = np.where(spare > 0.0, np.minimum(bare + kept, HORIZON_YEARS), 0.0)
        losses[coat] = float(loss(first, max(conditions.years - kept, 0.0), exponent))
    metal = table("corrosion")["leaf_metals"].get(conditions.leaf_metal)
    leaf = None
    if metal is not None:
        leaf = float(loss(first_year_loss(metal, conditions.corrosivity), conditions.years, upper_exponent(metal)))
    renewal, end = wasted_depths(conditions)
    return Lifetime(
        spare=spare,
        years=years,
        losses=losses,
        leaf_loss=leaf,
        horizon=HORIZON_YEARS,
        renewal_depth=renewal,
        at_renewal=None if renewal is None else _member_ratios(cross_sections, worst, yields, conditions, renewal),
        end_depth=end,
        at_end=_member_ratios(cross_sections, worst, yields, conditions, end),
    )


def wasted_depths(conditions: Conditions) -> tuple[float | None, float]:
    """Return the loss, mm a side, when the coat is renewed or the allowance is used up, and after the asked years.

    Each renewal starts from bright steel, and so at the fast rate of a first year: the safer side. A coat that is
    renewed before it wears through loses nothing.
    """
    first, exponent = first_year_loss("steel", conditions.corrosivity), upper_exponent("steel")
    kept = coat_years(conditions.coat, conditions.corrosivity)

    def after(years: float) -> float:
        return float(loss(first, max(years - kept, 0.0), exponent))

    if conditions.renew_every is None:
        return conditions.allowance, after(conditions.years)
    each = after(min(conditions.renew_every, conditions.years))
    times, rest = divmod(conditions.years, conditions.renew_every)
    return (each if conditions.allowance is None else conditions.allowance), times * each + after(rest)


def _member_ratios(
    cross_sections: CrossSections, worst: Worst, yields: Floats, conditions: Conditions, depth: float
) -> Floats:
    """Return the worst ratio of each member after a loss of `depth` mm a side: (M,); infinite where a bar is gone."""
    left = (cross_sections.values.diameter - cross_sections.values.bore) / 2.0
    gone = depth >= left * (1.0 - 1e-6)
    ratio = wasted_ratio(cross_sections, worst, yields, conditions, np.where(gone, 0.0, depth))
    most = np.zeros(int(cross_sections.members.max()) + 1)
    np.maximum.at(most, cross_sections.members, np.where(gone, np.inf, ratio))
    return most


def spare_depth(cross_sections: CrossSections, worst: Worst, yields: Floats, conditions: Conditions) -> Floats:
    """Return how much each section can lose a side before it fails: (Q,) mm, to a millionth of a bar.

    Resistance goes with the cube of what is left, so that the inverse cube root of the ratio falls on nearly a line:
    a few steps of false position on it (Illinois rule, any numerical text) find nearly all. Where the combination of
    forces jumps, as H1-1 does at a fifth, only halving does.
    """
    wasted = _wasting(cross_sections, worst, yields, conditions)
    thick = (cross_sections.values.diameter - cross_sections.values.bore) / 2.0
    ends = np.zeros_like(thick), thick * (1.0 - 1e-6)
    excess = _excess(wasted(ends[0])), _excess(wasted(ends[1]))
    depth, low, high = _false_position(wasted, ends, excess)
    is_found = np.abs(_excess(wasted(depth))) <= 1e-7
    some = np.flatnonzero(~is_found & (excess[0] <= 0.0) & (excess[1] > 0.0))
    wasted = _wasting(cross_sections, worst, yields, conditions, some)
    low, high = low[some], high[some]
    for _ in range(20):
        middle = (low + high) / 2.0
        fits = wasted(middle) <= 1.0
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
    depth[some] = low
    return np.where(excess[0] > 0.0, 0.0, np.where(excess[1] <= 0.0, ends[1], depth))


def _false_position(
    wasted: Callable[[Floats], Floats], ends: tuple[Floats, Floats], excess: tuple[Floats, Floats]
) -> tuple[Floats, Floats, Floats]:
    """Return the depths at which the excess is nothing, after some steps, and the ends between which they lie."""
    (low, high), (under, over), rose = ends, excess, np.zeros_like(ends[0])
    for _ in range(_STEPS):
        middle = np.clip(low - under * (high - low) / np.maximum(over - under, 1e-300), low, high)
        here = _excess(wasted(middle))
        fits = here <= 0.0
        # An end that stays twice running is trusted half as much, or it would stay for ever.
        over = np.where(fits, np.where(rose > 0.0, over / 2.0, over), here)
        under = np.where(fits, here, np.where(rose < 0.0, under / 2.0, under))
        low, high = np.where(fits, middle, low), np.where(fits, high, middle)
        rose = np.where(fits, 1.0, -1.0)
    return middle, low, high


def _excess(ratio: Floats) -> Floats:
    """Return how far a ratio is over 1, on a scale that is nearly even in the depth of loss; under 0 where it holds."""
    return np.asarray(1.0 - 1.0 / np.cbrt(np.maximum(ratio, 1e-12)))


def wasted_ratio(
    cross_sections: CrossSections, worst: Worst, yields: Floats, conditions: Conditions, depth: Floats
) -> Floats:
    """Return the worst ratio of each cross-section after a loss of `depth` (Q,) mm a side: (Q,).

    The ratio it has new, raised as the combination of the largest of each force rises while the cross-section wastes.
    """
    return _wasting(cross_sections, worst, yields, conditions)(depth)


def _wasting(
    cross_sections: CrossSections,
    worst: Worst,
    yields: Floats,
    conditions: Conditions,
    some: Ints | slice = slice(None),
) -> Callable[[Floats], Floats]:
    """Return the function from depths of loss (n,) mm to `wasted_ratio`, for some of the cross-sections."""
    values, free = cross_sections.values, cross_sections.free[some]
    size, bore, strong = values.diameter[some], values.bore[some], yields[some]
    most = {name: each[some] for name, each in worst.most.items()}

    def together(depth: Floats) -> Floats:
        limit = resistance(rounds(size - 2.0 * depth, bore), strong, free, conditions)
        axial = np.maximum(most["pull"] / limit.tension, most["push"] / limit.compression)
        shares = most["bending"] / limit.bending, most["shear"] / limit.shear, most["torsion"] / limit.torsion
        return limit.combined(axial, *shares)

    new = np.maximum.reduce([each[some] for each in worst.ratio.values()])
    share = new / np.maximum(together(np.zeros_like(size)), 1e-12)
    return lambda depth: np.asarray(share * together(depth))


def member_least(cross_sections: CrossSections, values: Floats) -> Floats:
    """Return the least of `values` (Q,) over each member's cross-sections: (M,)."""
    least = np.full(int(cross_sections.members.max()) + 1, np.inf)
    np.minimum.at(least, cross_sections.members, values)
    return least
