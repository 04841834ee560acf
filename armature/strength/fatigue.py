"""Fatigue of the welds from gusts and from vortex lock-in over the asked years.

A ratio here is one of stress, as in EN 1993-1-9 8(2): what is asked over what the detail stands for as many cycles.
A Miner sum goes with its third to fifth power, so that it says little about how far a weld is from its limit.
Size letters: M members, B ranges. Stresses MPa, frequencies Hz, speeds m/s, diameters and lengths mm.
Detail categories, curves and the spectrum of B.3 from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from armature.strength.lock_in import LockIn
from armature.strength.tables import table
from armature.tree import Floats, Ints

Marks = NDArray[np.bool_]
# The bound of the leaves that counts for fatigue: they swing in the breezes that make up nearly all cycles.
STREAMING = "streaming"


@dataclass(frozen=True, eq=False)
class Fatigue:
    """Fatigue of M welds, each (M,).

    gust_range: MPa, stress range of the 50-year gust; gust_ratio, over what the detail stands under the whole
    spectrum of gusts in the asked years; gust_damage, its Miner sum; each by the leaves' two bounds, plates and
    streaming. locked: what lock-in does; lock_ratio, lock_damage: likewise for its range. is_groove: welds as they
    must be, some of them a groove for fatigue alone. clause: what was followed. skin: (Q,) use of the parent's skin
    beside the welds on it, under gusts with the leaves streaming, at the sections of the tree; 0 where nothing is
    welded on.
    """

    gust_range: dict[str, Floats]
    gust_ratio: dict[str, Floats]
    gust_damage: dict[str, Floats]
    locked: LockIn
    lock_ratio: Floats
    lock_damage: Floats
    is_groove: Marks
    skin: Floats
    clause: str

    def ratio(self, bound: str) -> Floats:
        """Return how far each weld is from its limit, gusts and lock-in together: (M,); over 1 fails.

        The cube root of the sum of cubes: the Miner sum for slope 3, and on the safe side of it for slope 5.
        """
        return np.asarray(np.cbrt(self.gust_ratio[bound] ** 3 + self.lock_ratio**3))

    def damage(self, bound: str) -> Floats:
        """Return the Miner sum of gusts and lock-in for a bound of the leaves: (M,); 1 is the end of life."""
        return self.gust_damage[bound] + self.lock_damage


def gust_share(exceeded: Floats) -> Floats:
    """Return the load range, as a share of the 50-year load, that `exceeded` gusts pass in 50 years.

    0.7 (log N)^2 - 17.4 log N + 100 per cent. EN 1991-1-4 eq. B.9.

    >>> gust_share(np.array([1.0, 1e6])).round(3).tolist()
    [1.0, 0.208]
    """
    x = np.log10(exceeded)
    return np.asarray(np.maximum(0.7 * x**2 - 17.4 * x + 100.0, 0.0) / 100.0)


def gust_spectrum(years: float) -> tuple[Floats, Floats]:
    """Return shares of the 50-year load range (B,) and how often each comes in `years` (B,): eq. B.9 in bins."""
    edges = np.linspace(0.0, 9.0, 91)
    counts = np.diff(10.0**edges) * years / 50.0
    # The upper edge of a bin: every gust of it counts as its strongest.
    return gust_share(10.0 ** edges[:-1]), counts


def damage_aisc(ranges: Floats, counts: Floats, is_groove: Marks) -> Floats:
    """Return the Miner sum of stress ranges (M, B) that come `counts` times each: (M,).

    FSR = 6900 (Cf / n)^(1/3) MPa, eq. A-3-1, and no end to life where no range passes the threshold (AISC 360-16
    appendix 3.1, 3.3). The appendix is silent on small ranges that come with larger ones: where one passes, those under
    the threshold go on at slope 5, as EN 1993-1-9 7.1(3) has it, without its cut-off.
    """
    return _spent_aisc(ranges, counts, *_american(is_groove))


def _spent_aisc(ranges: Floats, counts: Floats, factors: Floats, thresholds: Floats) -> Floats:
    cf, threshold = factors[:, None], thresholds[:, None]
    safe = np.maximum(ranges, 1e-9)
    lives = cf * (6900.0 / np.maximum(safe, threshold)) ** 3 * np.maximum(threshold / safe, 1.0) ** 5
    total = np.sum(counts / lives, axis=1)
    return np.where(ranges.max(axis=1, initial=0.0) <= thresholds, 0.0, total)


def damage_en(ranges: Floats, counts: Floats, is_groove: Marks) -> Floats:
    """Return the Miner sum of stress ranges (M, B) that come `counts` times each: (M,).

    Slope 3 to five million cycles, 5 to a hundred million, no damage below. EN 1993-1-9 7.1, A.5, with gamma_Mf 1.35.
    """
    return _spent_en(ranges, counts, _european(is_groove))


def _spent_en(ranges: Floats, counts: Floats, details: Floats) -> Floats:
    knee = 0.737 * details[:, None]
    cut = 0.549 * knee
    safe = np.maximum(ranges, 1e-9)
    lives = np.where(safe >= knee, 5e6 * (knee / safe) ** 3, 5e6 * (knee / safe) ** 5)
    return np.asarray(np.sum(np.where(safe < cut, 0.0, counts / lives), axis=1))


def allowed_aisc(cycles: Floats, is_groove: Marks) -> Floats:
    """Return the range, MPa, that a weld stands `cycles` times: 6900 (Cf / n)^(1/3), no less than the threshold. (M,).

    AISC 360-16 eq. A-3-1.

    >>> allowed_aisc(np.array([722_700.0, 1e12]), np.array([True, True])).round(1).tolist()
    [100.0, 48.0]
    """
    cf, threshold = _american(is_groove)
    return np.maximum(6900.0 * np.cbrt(cf / np.maximum(cycles, 1.0)), threshold)


def allowed_en(cycles: Floats, is_groove: Marks) -> Floats:
    """Return the range, MPa, that a weld stands `cycles` times: slope 3, then 5, then the cut-off. (M,).

    EN 1993-1-9 7.1 and figure 7.1, with gamma_Mf 1.35: 71 / 1.35 at two million, 0.737 of it at five, 0.405 for ever.

    >>> allowed_en(np.array([2e6, 5e6, 1e12]), np.array([True, True, True])).round(2).tolist()
    [52.61, 38.76, 21.28]
    """
    n = np.maximum(cycles, 1.0)
    knee = 0.737 * _european(is_groove)
    return np.where(n <= 5e6, knee * np.cbrt(5e6 / n), knee * np.maximum((5e6 / n) ** 0.2, 0.549))


def _american(is_groove: Marks) -> tuple[Floats, Floats]:
    fillet, groove = table("details")["fillet"], table("details")["groove"]
    cf = np.where(is_groove, groove["cf"], fillet["cf"])
    return cf, np.where(is_groove, groove["threshold_mpa"], fillet["threshold_mpa"]).astype(np.float64)


def _european(is_groove: Marks) -> Floats:
    details = table("details")
    detail: Floats = np.where(is_groove, details["groove"]["en_mpa"], details["fillet"]["en_mpa"])
    return detail / float(details["en_factor"])


@cache
def allowed_gust(years: float, is_groove: bool, is_american: bool) -> float:
    """Return the range of the 50-year gust, MPa, at which the spectrum of gusts in `years` ends a weld's life."""
    return _gust_limit(years, table("details")["groove" if is_groove else "fillet"], is_american)


@cache
def allowed_skin_gust(years: float, kind: int, is_american: bool) -> float:
    """Return that range for the parent's skin beside a weld, of one of the kinds of `details.toml`, by their order."""
    return _gust_limit(years, table("details")["skin"][kind], is_american)


def _gust_limit(years: float, detail: Mapping[str, float], is_american: bool) -> float:
    shares, counts = gust_spectrum(years)
    cf, threshold = np.array([detail["cf"]]), np.array([float(detail["threshold_mpa"])])
    european = np.array([detail["en_mpa"]]) / float(table("details")["en_factor"])
    low, high = 1.0, 1e4
    for _ in range(60):
        middle = (low * high) ** 0.5
        ranges = middle * shares[None, :]
        spent = _spent_aisc(ranges, counts, cf, threshold) if is_american else _spent_en(ranges, counts, european)
        low, high = (middle, high) if spent[0] <= 1.0 else (low, middle)
    return low


def skin_kinds(lengths: Floats) -> Ints:
    """Return the kind of detail of the parent's skin by the length of the weld along it (n,) mm: AISC 360-16, table
    A-3.1, 7.2; EN 1993-1-9 table 8.4, detail 1.

    >>> skin_kinds(np.array([30.0, 70.0, 90.0, 150.0])).tolist()
    [0, 1, 2, 3]
    """
    return np.searchsorted([float(each["up_to_mm"]) for each in table("details")["skin"]], lengths)


def fatigue(
    gust_ranges: dict[str, Floats],
    locked: LockIn,
    is_groove: Marks,
    years: float,
    is_american: bool,
    skin: Floats | None = None,
) -> Fatigue:
    """Return the fatigue of every weld; gust_ranges (M,) MPa by bound of the leaves, under the 50-year gust.

    A fillet that is not enough with the leaves streaming becomes a groove, the better detail.
    """
    first = _judged(gust_ranges, locked, is_groove, years, is_american)
    better = is_groove | (first.ratio(STREAMING) > 1.0)
    made = first if np.array_equal(better, is_groove) else _judged(gust_ranges, locked, better, years, is_american)
    return made if skin is None else replace(made, skin=skin)


def _judged(gust_ranges: dict[str, Floats], locked: LockIn, kinds: Marks, years: float, is_american: bool) -> Fatigue:
    shares, counts = gust_spectrum(years)
    damage, allowed = (damage_aisc, allowed_aisc) if is_american else (damage_en, allowed_en)
    gust = [allowed_gust(years, kind, is_american) for kind in (False, True)]
    return Fatigue(
        gust_range=gust_ranges,
        gust_ratio={bound: each / np.where(kinds, gust[1], gust[0]) for bound, each in gust_ranges.items()},
        gust_damage={bound: damage(each[:, None] * shares, counts, kinds) for bound, each in gust_ranges.items()},
        locked=locked,
        lock_ratio=locked.ranges / allowed(locked.cycles, kinds),
        lock_damage=damage(locked.ranges[:, None], locked.cycles[:, None], kinds),
        is_groove=kinds,
        skin=np.zeros(0),
        clause=_clause(is_american),
    )


def _clause(is_american: bool) -> str:
    fillet, groove = table("details")["fillet"], table("details")["groove"]
    american = f"AISC 360-16 appendix 3, category {fillet['category']} (fillet) or {groove['category']} (groove)"
    european = f"EN 1993-1-9, detail {fillet['en_mpa']} (fillet) or {groove['en_mpa']} (groove)"
    return f"{american if is_american else european}; gusts EN 1991-1-4 B.3; lock-in EN 1991-1-4 E.1.5.2"
