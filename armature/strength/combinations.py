"""Combinations of loads: each standard with its own factors, never mixed.

Factors from memory of ASCE 7-16 2.3, EN 1990 table A1.2(B) and EN 1993-3-1 annex C.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from armature.strength.conditions import Conditions
from armature.strength.layout import empty
from armature.strength.tables import table
from armature.tree import Floats


@dataclass(frozen=True)
class Combination:
    """Factors on dead load, wind, ice and snow; `drag` of the leaves; whether bars are iced.

    use: what it is for: strength, service (movement, soil pressure), ground (tipping, sliding) or sliding alone.
    bound: how the leaves stand in the wind, by the name of the gusts that go with it: plates, streaming or iced.
    """

    name: str
    clause: str
    dead: float
    wind: float = 0.0
    ice: float = 0.0
    drag: float = 0.0
    is_iced: bool = False
    use: str = "strength"
    snow: float = 0.0
    bound: str = ""
    quake: float = 0.0

    @property
    def is_strength(self) -> bool:
        """Whether it is a combination for the strength of the steel."""
        return self.use == "strength"


# Leaf drags are filled in below: each wind combination stands once for either bound.
_ASCE = "ASCE 7-16 2.3.1"
_ASCE_ICE = "ASCE 7-16 2.3.3"
_EN = "EN 1990 eq. 6.10, table A1.2(B)"
_EN_ICE = "EN 1993-3-1 annex C and ISO 12494"


def combinations(conditions: Conditions) -> tuple[Combination, ...]:
    """Return the combinations of the chosen standard; wind and ice only where the commission gives them.

    Leaves stand between two bounds, plates across the wind and free streaming; iced leaves are stiff, so plates only.
    """
    return _american(conditions) if conditions.is_american else _european(conditions)


def handling(conditions: Conditions) -> tuple[float, str]:
    """Return the factor on own weight while lifting, and its words: dead load factor times 1.3 for the hook's jerk."""
    factor = (1.2 if conditions.is_american else 1.35) * 1.3
    return factor, f"{factor:.2f} D, 1.3 of it for the hook's jerk (common practice, no source)"


def pull_factors(conditions: Conditions) -> tuple[float, float, str]:
    """Return the factors on dead load and on a person's pull, and their clause."""
    name = "1.2D + 1.6L + 0.2Di, " + _ASCE_ICE if conditions.is_american and conditions.ice else "1.2D + 1.6L, " + _ASCE
    return (1.2, 1.6, name) if conditions.is_american else (1.35, 1.5, "1.35G + 1.5Q, " + _EN)


def pull_ice(conditions: Conditions) -> float:
    """Return the share of the ice's weight that comes with a person's pull: 1.2D + 1.6L + 0.2Di, ASCE 7-16 2.3.3."""
    return 0.2 if conditions.is_american else 0.0


def _american(conditions: Conditions) -> tuple[Combination, ...]:
    sums = [Combination("1.4D", _ASCE, 1.4)]
    if conditions.has_wind:
        sums += _both("1.2D + 1.0W", _ASCE, 1.2, 1.0)
        sums += _both("0.9D + 1.0W", _ASCE, 0.9, 1.0)
    sums += _snowed(conditions, "1.2D + 1.6S", _ASCE, 1.2, 0.5, 1.6)
    if conditions.has_wind:
        sums += _snowed(conditions, "1.2D + 0.5S", _ASCE, 1.2, 1.0, 0.5)
    if conditions.has_ice:
        sums.append(_iced("1.2D + 1.0Di + 1.0Wi", _ASCE_ICE, 1.2, 1.0, 1.0))
        sums.append(_iced("0.9D + 1.0Di + 1.0Wi", _ASCE_ICE, 0.9, 1.0, 1.0))
    sums += _quaked(conditions)
    sums.append(Combination("D", "service", 1.0, use="service"))
    if conditions.has_wind:
        sums += _both("D + 0.6W", "service, ASCE 7-16 2.4.1", 1.0, 0.6, use="service")
        sums += _both("0.6D + 0.6W", "ground, ASCE 7-16 2.4.1", 0.6, 0.6, "ground")
    return tuple(sums)


def _european(conditions: Conditions) -> tuple[Combination, ...]:
    sums = [Combination("1.35G", _EN, 1.35)]
    if conditions.has_wind:
        sums += _both("1.35G + 1.5W", _EN, 1.35, 1.5)
        sums += _both("1.0G + 1.5W", _EN, 1.0, 1.5)
    # The accompanying wind takes psi0 = 0.6.
    sums += _snowed(conditions, "1.35G + 1.5S", _EN, 1.35, 0.9, 1.5)
    if conditions.has_wind:
        # And the accompanying snow 0.5, under 1000 m.
        sums += _snowed(conditions, "1.35G + 0.75S", _EN, 1.35, 1.5, 0.75)
    if conditions.has_ice:
        # The accompanying action takes psi = 0.5; the wind is not eased by ISO 12494's factor k, the safer side.
        sums.append(_iced("1.35G + 1.5I + 0.75Wi", _EN_ICE, 1.35, 0.75, 1.5))
        sums.append(_iced("1.35G + 0.75I + 1.5Wi", _EN_ICE, 1.35, 1.5, 0.75))
    sums += _quaked(conditions)
    sums.append(Combination("G", "service", 1.0, use="service"))
    if conditions.has_wind:
        sums += _both("G + W", "service, EN 1990 eq. 6.14b", 1.0, 1.0, use="service")
        sums += _both("0.9G + 1.5W", "ground, EN 1990 table A1.2(A), EQU", 0.9, 1.5, "ground")
        sums += _both("1.0G + 1.5W, GEO", "sliding, EN 1990 table A1.2(B), EN 1997-1 2.4.7.3", 1.0, 1.5, "sliding")
    return tuple(sums)


def _quaked(conditions: Conditions) -> list[Combination]:
    """Earthquake toward all sides, with its vertical part on the weight: 0.2 S_DS, ASCE 7-16 12.4.2.2; EN 1990 6.12."""
    if conditions.quake is None:
        return []
    if not conditions.is_american:
        clause = "EN 1990 eq. 6.12b"
        return [
            Combination("G + E", clause, 1.0, quake=1.0),
            Combination("G + E, ground", clause, 1.0, use="ground", quake=1.0),
        ]
    up = 0.2 * conditions.quake.short
    clause = "ASCE 7-16 2.3.6"
    return [
        Combination("1.2D + Ev + Eh", clause, 1.2 + up, quake=1.0),
        Combination("0.9D - Ev + Eh", clause, 0.9 - up, quake=1.0),
        Combination("0.6D - 0.7Ev + 0.7Eh", "ground, ASCE 7-16 2.4.5", 0.6 - 0.7 * up, use="ground", quake=0.7),
        Combination("D + 0.7Ev + 0.7Eh", "service, ASCE 7-16 2.4.5", 1.0 + 0.7 * up, use="service", quake=0.7),
    ]


def _iced(name: str, clause: str, dead: float, wind: float, ice: float) -> Combination:
    return Combination(name, clause, dead, wind, ice, leaf_drags()["plates"], is_iced=True, bound="iced")


def _snowed(conditions: Conditions, name: str, clause: str, dead: float, wind: float, snow: float) -> list[Combination]:
    """Wet snow with the wind that comes with it; snow weighs the leaves down, so that they count as plates."""
    if not conditions.snow:
        return []
    if not conditions.has_wind:
        return [Combination(name, clause, dead, snow=snow)]
    full = f"{name} + {wind:g}W"
    return [Combination(full, clause, dead, wind, drag=leaf_drags()["plates"], snow=snow, bound="plates")]


def leaves_of(bound: str) -> str:
    """Return the basic case of the leaves' wind for how they stand; those that stream take what they take swinging."""
    return {"streaming": "swung", "iced": "iced_leaves"}.get(bound, "leaves")


def leaf_drags() -> dict[str, float]:
    """Return the two bounds of the leaves' drag coefficient: plates across the wind, and free streaming."""
    leaves = table("wind")["leaves"]
    return {"plates": float(leaves["plate"]), "streaming": float(leaves["streaming"])}


def _both(name: str, clause: str, dead: float, wind: float, use: str = "strength") -> list[Combination]:
    return [
        Combination(f"{name}, leaves {phrase}", clause, dead, wind, 0.0, drag, use=use, bound=bound)
        for phrase, (bound, drag) in zip(("as plates", "streaming"), leaf_drags().items(), strict=True)
    ]


def combined(
    chosen: Combination, parts: Mapping[str, Floats], winds: Floats, gusts: Mapping[str, Floats] | None = None
) -> Floats:
    """Return the combination of basic results: (..., H) with one column a wind direction, (..., 1) where none blows.

    parts: `dead` (..., 1), and where there is wind `bars` (..., half of H), `leaves` and `swung` (..., 2) for a drag of
    1 toward +x and +y, likewise `quake` (..., 2), and where there are any `snow` (..., 1), `ice` (..., 1), `iced_bars`,
    `iced_leaves`; `blown` with the bound's name (..., half of H) is known where all that blows is, gusts in it.
    winds: (H, 3), the second half of them the first turned round. gusts: by bound, the gust factor on
    the wind of each row of the first axis; 1 without.
    """
    steady, turning = steady_part(chosen, parts), turning_part(chosen, parts, winds, gusts)
    if turning is None:
        return steady
    half = turning.shape[-1]
    both = empty(*turning.shape[:-1], 2 * half)
    np.add(steady, turning, out=both[..., :half])
    np.subtract(steady, turning, out=both[..., half:])
    return both


def steady_part(chosen: Combination, parts: Mapping[str, Floats]) -> Floats:
    """Return what is the same in every wind: (..., 1)."""
    total = parts["dead"] * chosen.dead
    for name, factor in (("ice", chosen.ice), ("snow", chosen.snow)):
        if factor:
            total = total + parts[name] * factor
    return total


def turning_part(
    chosen: Combination, parts: Mapping[str, Floats], winds: Floats, gusts: Mapping[str, Floats] | None = None
) -> Floats | None:
    """Return what turns with the direction: (..., half of H), toward the first half; None where nothing does."""
    toward = winds[: len(winds) // 2, :2].T
    shaken = _toward(parts["quake"], toward * chosen.quake) if chosen.quake else None
    if not chosen.wind:
        return shaken
    known = parts.get(f"blown {chosen.bound}")
    if known is not None:
        blown = known * chosen.wind
        return np.asarray(blown if shaken is None else blown + shaken)
    blown = _toward(parts[leaves_of(chosen.bound)], toward * chosen.drag)
    blown += parts["iced_bars" if chosen.is_iced else "bars"]
    if gusts is None:
        blown *= chosen.wind
    else:
        blown *= (gusts[chosen.bound] * chosen.wind).reshape(-1, *[1] * (blown.ndim - 1))
    return np.asarray(blown if shaken is None else blown + shaken)


def _toward(pair: Floats, toward: Floats) -> Floats:
    """Return what two cases, toward +x and +y, (..., 2), come to toward H directions (2, H): (..., H)."""
    made, other = empty(*pair.shape[:-1], toward.shape[1]), empty(*pair.shape[:-1], toward.shape[1])
    np.multiply(pair[..., :1], toward[0], out=made)
    np.multiply(pair[..., 1:], toward[1], out=other)
    made += other
    return made
