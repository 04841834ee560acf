"""Unlike metals in the wet: anodic indices and how far apart two metals may be, from `data/contact.toml`.

Guides after MIL-STD-889; the indices from memory, the limits read.
"""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from armature.edge import StockError

OUTDOORS = "outdoors or in salt air"


def anodic_index(metal: str) -> float:
    """Return the anodic index of a metal in volts below gold; alloys are found by the words in their names.

    Raises StockError where none is on hand.

    >>> anodic_index("Copper"), anodic_index("lead-free bronze")
    (0.35, 0.4)
    """
    indices: dict[str, float] = _table()["index_v"]
    name = metal.strip().lower().replace("aluminum", "aluminium")
    within = [key for key in sorted(indices, key=len, reverse=True) if key in name and key != "lead"]
    if name not in indices and not within:
        raise StockError(f"no anodic index on hand for {metal!r}; known: {', '.join(indices)}")
    return float(indices[name if name in indices else within[0]])


def allowed_volts(exposure: str = OUTDOORS) -> float:
    """Return the largest difference of anodic indices, V, that is held harmless in an exposure."""
    return float(_table()["allowed_v"][exposure])


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(files("armature.data").joinpath("contact.toml").read_text(encoding="utf-8"))
