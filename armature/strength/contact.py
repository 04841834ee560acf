"""Unlike metals in the wet, and the wear of a hang loop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.edge import StockError
from armature.metals import OUTDOORS, allowed_volts, anodic_index


@dataclass(frozen=True)
class Contact:
    """Two metals that touch: their difference, V, what the exposure allows, V, and which of them wastes."""

    where: str
    first: str
    second: str
    difference_v: float
    allowed_v: float
    wastes: str

    @property
    def is_safe(self) -> bool:
        """Whether the two may touch bare."""
        return self.difference_v <= self.allowed_v + 1e-9


def contact(where: str, first: str, second: str, exposure: str = OUTDOORS) -> Contact:
    """Return whether two metals may touch, by the difference of their anodic indices. Guides after MIL-STD-889.

    >>> pair = contact("loop", "copper", "steel")
    >>> round(pair.difference_v, 2), pair.is_safe, pair.wastes
    (0.5, False, 'steel')
    """
    one, other = anodic_index(first), anodic_index(second)
    wastes = "neither" if one == other else first if one > other else second
    return Contact(where, first, second, abs(one - other), allowed_volts(exposure), wastes)


def contacts(leaf: str, coat: str) -> list[Contact]:
    """Return the contacts at a loop, which is of steel like the twig that it is welded to; none for a metal unknown.

    A galvanised loop shows zinc to the leaf for as long as the zinc lasts, and steel after that.
    """
    try:
        pairs = [contact("leaf on its loop", leaf, "steel")]
        if coat.startswith("galvanised"):
            pairs.append(contact("leaf on a galvanised loop", leaf, "zinc"))
    except StockError:
        return []
    return pairs


def isolation(pairs: list[Contact]) -> list[str]:
    """Return what can be done where two metals must not touch, best first, and the run-off warning."""
    said = []
    if any(not pair.is_safe for pair in pairs):
        said += [
            "Isolate the leaf: a bush of nylon or PTFE in its eye or a sleeve on the loop, renewed when worn through.",
            "Or hang it on a coated stainless ring: bare, it is still 0.35 V from carbon steel, so renew the coat.",
            "Coat both metals. Coating the baser metal alone is worse: all the current then leaves at a pinhole.",
        ]
    if any("copper" in (pair.first, pair.second) or "bronze" in (pair.first, pair.second) for pair in pairs):
        said.append(
            "Water that has run over copper pits bare steel and strips zinc: it carries 0.6 to 1.7 g of copper a square"
            " metre and year (published measurements on roofs). Keep drips off bare or galvanised limbs and off pale"
            " stone: let leaves hang clear, paint what lies below."
        )
    return said


def run_off(leaf: str, faces_m2: float, ground: str) -> str:
    """Return what the leaves' run-off does to what lies below, with its yearly mass; an empty line for other metals.

    0.6 to 1.7 g a square metre and year, both sides of each leaf wet: published measurements on roofs, from memory.

    >>> run_off("copper", 3.0, "paving").split(":")[0]
    'The leaves shed about 4 to 10 g of copper a year'
    """
    if not any(metal in leaf for metal in ("copper", "bronze", "brass")):
        return ""
    low, high = 2.0 * 0.6 * faces_m2, 2.0 * 1.7 * faces_m2
    below = {
        "soil": "on planted soil little is seen of it, but mosses and water life suffer where it is led into a pond",
        "paving": "pale stone and mortar below turn green within years: seal the stone, or lay a band of gravel",
        "remains": "old stone below turns green for good: hang a drip edge, or take leaves of another metal",
    }[ground]
    return f"The leaves shed about {low:.0f} to {high:.0f} g of copper a year: {below}."


@dataclass(frozen=True)
class LoopWear:
    """A stated estimate of how deep a loop wears: every number in it is a guess that is listed."""

    years: float
    depth_mm: float
    swings_a_year: float
    slide_mm: float
    load_n: float
    coefficient: float
    hardness_mpa: float


def loop_wear(leaf_kg: float, years: float, wire_mm: float = 3.0) -> LoopWear:
    """Return the estimated wear of a hang loop over the years: V = k W s / H (Archard, J. Appl. Phys. 24, 1953).

    Taken: a swing a second in wind for a tenth of the time, each sliding 2 mm; k = 1e-4, unlubricated metal on metal;
    the softer metal copper, 800 MPa; worn as a notch one wire wide and two long. A guess within a factor of ten.

    >>> loop_wear(0.0, 100.0).depth_mm
    0.0
    """
    swings, slide, factor, hardness = 3.15e6, 2.0, 1e-4, 800.0
    load = leaf_kg * 9.80665
    volume = factor * load * swings * years * slide / hardness
    return LoopWear(years, float(volume / (2.0 * wire_mm**2)), swings, slide, load, factor, hardness)


def wear_life(wear: LoopWear, wire_mm: float = 3.0) -> float:
    """Return the years until the loop is worn halfway through its wire, infinite for a weightless leaf."""
    return float(np.inf) if wear.depth_mm <= 0.0 else wear.years * wire_mm / 2.0 / wear.depth_mm
