"""Fatigue of the welds from gusts and from vortex lock-in over the asked years.

Size letters: M members. Stresses MPa, frequencies Hz, speeds m/s, diameters and lengths mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.centreline import Floats
from armature.strength.en1991 import AIR_KG_M3
from armature.strength.modes import MemberModes
from armature.strength.tables import table

SECONDS_A_YEAR = 3.2e7  # the standard's round figure, EN 1991-1-4 eq. E.10


@dataclass(frozen=True, eq=False)
class Fatigue:
    """Fatigue of M welds, each (M,).

    gust_range: MPa, stress range of the 50-year gust, and gust_damage, its Miner sum over the asked years, by the
    leaves' two bounds, plates and streaming. lock_in_damage: Miner sum of lock-in.
    critical_speed: m/s of lock-in. lock_in_range: MPa, 0 where the wind never reaches that speed. scruton: -.
    lock_in_cycles: over the asked years. clause: what was followed.
    """

    gust_range: dict[str, Floats]
    gust_damage: dict[str, Floats]
    lock_in_range: Floats
    lock_in_damage: Floats
    lock_in_cycles: Floats
    critical_speed: Floats
    scruton: Floats
    clause: str

    def damage(self, bound: str) -> Floats:
        """Return the Miner sum of gusts and lock-in for a bound of the leaves: (M,); 1 is the end of life."""
        return self.gust_damage[bound] + self.lock_in_damage


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


def damage_aisc(ranges: Floats, counts: Floats, is_groove: NDArray[np.bool_]) -> Floats:
    """Return the Miner sum of stress ranges (M, B) that come `counts` times each: (M,).

    FSR = 6900 (Cf / n)^(1/3) MPa, eq. A-3-1, and no end to life where no range passes the threshold. Where one does,
    all count on the same slope. AISC 360-16 appendix 3.
    """
    details = table("details")
    cf = np.where(is_groove, details["groove"]["cf"], details["fillet"]["cf"])
    threshold = np.where(is_groove, details["groove"]["threshold_mpa"], details["fillet"]["threshold_mpa"])
    total = np.sum(counts * (ranges / 6900.0) ** 3, axis=1) / cf
    return np.where(ranges.max(axis=1, initial=0.0) <= threshold, 0.0, total)


def damage_en(ranges: Floats, counts: Floats, is_groove: NDArray[np.bool_]) -> Floats:
    """Return the Miner sum of stress ranges (M, B) that come `counts` times each: (M,).

    Slope 3 to five million cycles, 5 to a hundred million, no damage below. EN 1993-1-9 7.1, A.5, with gamma_Mf 1.35.
    """
    details = table("details")
    detail = np.where(is_groove, details["groove"]["en_mpa"], details["fillet"]["en_mpa"]) / details["en_factor"]
    knee = 0.737 * detail[:, None]
    cut = 0.549 * knee
    safe = np.maximum(ranges, 1e-9)
    lives = np.where(safe >= knee, 5e6 * (knee / safe) ** 3, 5e6 * (knee / safe) ** 5)
    return np.asarray(np.sum(np.where(safe < cut, 0.0, counts / lives), axis=1))


@dataclass(frozen=True, eq=False)
class LockIn:
    """Lock-in of M members, each (M,): critical speed m/s, Scruton number, tip swing mm, root range MPa, cycles."""

    speed: Floats
    scruton: Floats
    swing: Floats
    ranges: Floats
    cycles: Floats


def lock_in(
    first: MemberModes,
    diameters: Floats,
    moduli: Floats,
    lengths: Floats,
    damping: float,
    mean_wind: Floats,
    years: float,
) -> LockIn:
    """Return what vortex lock-in does to each member in its first mode. EN 1991-1-4 annex E.1.5.2.

    diameters: (M,) mm, mean. moduli: (M,) mm3, elastic, at the weld. mean_wind: (M,) m/s at the member; above 1.25 of
    it there is no lock-in (E.1.2). The mass per length is that of a cantilever whose first mode moves as much: four
    times the moving mass over its length. The weld's stress follows from the swing by the shape that gravity gives.
    """
    rules = table("details")["vortex"]
    speed = first.frequencies * diameters / 1000.0 / rules["strouhal"]
    per_metre = 4.0 * first.moving / (lengths / 1000.0)
    scruton = 2.0 * 2.0 * np.pi * damping * per_metre / (AIR_KG_M3 * (diameters / 1000.0) ** 2)
    swing = diameters * rules["shape"] * rules["length"] * rules["lift"] / (rules["strouhal"] ** 2 * scruton)
    stress = first.roots * swing / moduli
    reached = speed <= 1.25 * mean_wind
    ratio = speed / np.maximum(mean_wind / 5.0, 1e-9)
    cycles = 2.0 * years * SECONDS_A_YEAR * first.frequencies * rules["band"] * ratio**2 * np.exp(-(ratio**2))
    return LockIn(speed, scruton, swing, np.where(reached, 2.0 * stress, 0.0), np.where(reached, cycles, 0.0))


def fatigue(
    gust_ranges: dict[str, Floats], locked: LockIn, is_groove: NDArray[np.bool_], years: float, is_american: bool
) -> Fatigue:
    """Return the fatigue of every weld; gust_ranges (M,) MPa by bound of the leaves, under the 50-year gust."""
    shares, counts = gust_spectrum(years)
    damage = damage_aisc if is_american else damage_en
    fillet, groove = table("details")["fillet"], table("details")["groove"]
    american = f"AISC 360-16 appendix 3, category {fillet['category']} (fillet) or {groove['category']} (groove)"
    european = f"EN 1993-1-9, detail {fillet['en_mpa']} (fillet) or {groove['en_mpa']} (groove)"
    word = american if is_american else european
    return Fatigue(
        gust_range=gust_ranges,
        gust_damage={bound: damage(each[:, None] * shares, counts, is_groove) for bound, each in gust_ranges.items()},
        lock_in_range=locked.ranges,
        lock_in_damage=damage(locked.ranges[:, None], locked.cycles[:, None], is_groove),
        lock_in_cycles=locked.cycles,
        critical_speed=locked.speed,
        scruton=locked.scruton,
        clause=f"{word}; gusts EN 1991-1-4 B.3; lock-in EN 1991-1-4 E.1.5.2",
    )
