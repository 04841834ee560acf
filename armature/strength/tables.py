"""The tables of this package, read once from `armature/data`."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """Return the table `data/<name>.toml` as nested dictionaries.

    >>> table("wind")["EN 1991-1-4"]["recurrence_years"]
    50
    """
    return tomllib.loads(files("armature.data").joinpath(f"{name}.toml").read_text(encoding="utf-8"))
