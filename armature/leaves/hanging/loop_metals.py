"""Unlike metals at the loop: whether they may touch outdoors, what keeps them apart, and the parts to buy or make."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from armature.leaves.hanging.loops import Loop
from armature.metals import allowed_volts, anodic_index


@dataclass(frozen=True)
class Contact:
    """Two metals that meet: difference of their anodic indices and its limit outdoors, V, and what to do in words."""

    volts: float
    limit: float
    harmless: bool
    words: str


@dataclass(frozen=True)
class Part:
    """A line of the parts list: what, how many, size in words, stock in mm for each (0 where bought)."""

    what: str
    count: int
    size: str
    stock_mm: float


def contact(leaf: str, loop: str, isolation: str) -> Contact:
    """Return the verdict on a leaf's metal on a loop's metal with the chosen isolation.

    Raises StockError where a metal has no anodic index on hand.

    >>> contact("copper", "steel", "bush").harmless
    False
    """
    volts = round(abs(anodic_index(leaf) - anodic_index(loop)), 3)
    limit = allowed_volts()
    harmless = volts <= limit + 1e-9
    said = f"{leaf} on {loop}: {volts:.2f} V apart, {limit:.2f} V allowed outdoors"
    if harmless:
        return Contact(volts, limit, True, f"{said}: they may touch.")
    option = str(_table()["parts"][isolation]["words"])
    mended = "Isolate the loop" if isolation == "none" else option[0].upper() + option[1:]
    eaten = leaf if anodic_index(leaf) > anodic_index(loop) else loop
    caution = (
        f"{said}: in the wet they are a battery that eats the {eaten}. {mended}. "
        "Coat both metals (coating the less noble one alone is worse at a pinhole), and keep run-off from the leaves "
        "away from bare steel, zinc and pale stone."
    )
    return Contact(volts, limit, False, caution)


def parts_list(leaves: int, loop: Loop, eye: float, isolation: str, spares: float = 0.05) -> list[Part]:
    """Return what hanging the leaves takes: loops, and bushes, sleeves or rings, with spares of what is bought."""
    parts = [Part("loop", leaves, f"{loop.wire:g} mm wire, {loop.inside:g} mm inside", round(loop.stock, 2))]
    bought = leaves + int(-(-leaves * spares // 1))
    sizes = {
        "bush": f"for a {eye:g} mm hole and {loop.wire:g} mm wire",
        "sleeve": f"{loop.wire:g} mm inside, {3.1416 * loop.inside / 2:.0f} mm long",
        "ring": f"{loop.wire:g} mm wire, {loop.inside:g} mm inside",
    }
    if isolation in sizes:
        parts.append(Part(isolation, bought, sizes[isolation], 0.0))
    return parts


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(files("armature.data").joinpath("leaf_metals.toml").read_text(encoding="utf-8"))
