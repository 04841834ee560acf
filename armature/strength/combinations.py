"""Combinations of loads: each standard with its own factors, never mixed.

Factors from memory of ASCE 7-16 2.3, EN 1990 table A1.2(B) and EN 1993-3-1 annex B.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from armature.centreline import Floats
from armature.strength.conditions import Conditions
from armature.strength.tables import table


@dataclass(frozen=True)
class Combination:
    """Factors on dead load, wind and ice; `drag` of the leaves; whether bars are iced; strength or service."""

    name: str
    clause: str
    dead: float
    wind: float = 0.0
    ice: float = 0.0
    drag: float = 0.0
    is_iced: bool = False
    is_strength: bool = True


# Leaf drags are filled in below: each wind combination stands once for either bound.
_ASCE = "ASCE 7-16 2.3.1"
_ASCE_ICE = "ASCE 7-16 2.3.4"
_EN = "EN 1990 eq. 6.10, table A1.2(B)"
_EN_ICE = "EN 1993-3-1 annex B and ISO 12494"


def combinations(held: Conditions) -> tuple[Combination, ...]:
    """Return the combinations of the chosen standard; wind and ice only where the commission gives them.

    Leaves stand between two bounds, plates across the wind and free streaming; iced leaves are stiff, so plates only.
    """
    return _american(held) if held.is_american else _european(held)


def handling(held: Conditions) -> tuple[float, str]:
    """Return the factor on own weight while lifting, and its words: dead load factor times 1.3 for the hook's jerk."""
    factor = (1.2 if held.is_american else 1.35) * 1.3
    return factor, f"{factor:.2f} D, 1.3 of it for the hook's jerk (common practice, no source)"


def pull_factors(held: Conditions) -> tuple[float, float, str]:
    """Return the factors on dead load and on a person's pull, and their clause."""
    return (1.2, 1.6, "1.2D + 1.6L, " + _ASCE) if held.is_american else (1.35, 1.5, "1.35G + 1.5Q, " + _EN)


def _american(held: Conditions) -> tuple[Combination, ...]:
    found = [Combination("1.4D", _ASCE, 1.4)]
    if held.has_wind:
        found += _both("1.2D + 1.0W", _ASCE, 1.2, 1.0)
        found += _both("0.9D + 1.0W", _ASCE, 0.9, 1.0)
    if held.has_ice:
        plate = leaf_drags()["plates"]
        found.append(Combination("1.2D + 1.0Di + 1.0Wi", _ASCE_ICE, 1.2, 1.0, 1.0, plate, is_iced=True))
        found.append(Combination("0.9D + 1.0Di + 1.0Wi", _ASCE_ICE, 0.9, 1.0, 1.0, plate, is_iced=True))
    found.append(Combination("D", "service", 1.0, is_strength=False))
    if held.has_wind:
        found += _both("D + 0.6W", "service, ASCE 7-16 2.4.1", 1.0, 0.6, is_strength=False)
    return tuple(found)


def _european(held: Conditions) -> tuple[Combination, ...]:
    found = [Combination("1.35G", _EN, 1.35)]
    if held.has_wind:
        found += _both("1.35G + 1.5W", _EN, 1.35, 1.5)
        found += _both("1.0G + 1.5W", _EN, 1.0, 1.5)
    if held.has_ice:
        plate = leaf_drags()["plates"]
        # The accompanying action takes psi = 0.5; the wind is not eased by ISO 12494's factor k, the safer side.
        found.append(Combination("1.35G + 1.5I + 0.75Wi", _EN_ICE, 1.35, 0.75, 1.5, plate, is_iced=True))
        found.append(Combination("1.35G + 0.75I + 1.5Wi", _EN_ICE, 1.35, 1.5, 0.75, plate, is_iced=True))
    found.append(Combination("G", "service", 1.0, is_strength=False))
    if held.has_wind:
        found += _both("G + W", "service, EN 1990 eq. 6.14b", 1.0, 1.0, is_strength=False)
    return tuple(found)


def leaf_drags() -> dict[str, float]:
    """Return the two bounds of the leaves' drag coefficient: plates across the wind, and free streaming."""
    leaves = table("wind")["leaves"]
    return {"plates": float(leaves["plate"]), "streaming": float(leaves["streaming"])}


def _both(name: str, clause: str, dead: float, wind: float, is_strength: bool = True) -> list[Combination]:
    return [
        Combination(f"{name}, leaves {phrase}", clause, dead, wind, 0.0, drag, False, is_strength)
        for phrase, drag in zip(("as plates", "streaming"), leaf_drags().values(), strict=True)
    ]


def combined(chosen: Combination, parts: Mapping[str, Floats], winds: Floats) -> Floats:
    """Return the combination of basic results: (..., H) with one column a wind direction, (..., 1) where none blows.

    parts: `dead` (..., 1), and where there is wind `bars` (..., H) and `leaves` (..., 2) for a drag of 1 toward +x and
    +y, and where there is ice `ice` (..., 1), `iced_bars`, `iced_leaves`. winds: (H, 3).
    """
    found = parts["dead"] * chosen.dead
    if chosen.ice:
        found = found + parts["ice"] * chosen.ice
    if not chosen.wind:
        return found
    prefix = "iced_" if chosen.is_iced else ""
    blown = parts[f"{prefix}leaves"] @ (winds[:, :2].T * (chosen.drag * chosen.wind))
    blown += parts[f"{prefix}bars"] if chosen.wind == 1.0 else parts[f"{prefix}bars"] * chosen.wind
    blown += found
    return np.asarray(blown)
