"""How the leaves' sheet metal looks, new and with age, from `data/patinas.toml`: one table for pictures and meshes."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

# Fresh from the hammer, after some years in the open, after decades.
AGES = ("new", "brown", "green")


@dataclass(frozen=True)
class Patina:
    """A metal at an age: three sRGB tones (usual, lighter, deeper) as hex digits; roughness and metal, 0 to 1."""

    tones: tuple[str, str, str]
    roughness: float
    metal: float


def patina(metal: str, age: str) -> Patina:
    """Return how a sheet metal of `data/sheets.toml` looks at one of the `AGES`.

    >>> patina("copper", "green").metal
    0.05
    """
    finish = _table()[metal][age]
    return Patina(tuple(finish["tones"]), finish["roughness"], finish["metal"])


def mirror(metal: str) -> tuple[float, float, float]:
    """Return the linear red, green and blue that the bare metal throws back."""
    red, green, blue = _table()[metal]["mirror"]
    return red, green, blue


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(files("armature.data").joinpath("patinas.toml").read_text(encoding="utf-8"))
