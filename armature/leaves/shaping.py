"""What shaping does to a leaf: how deep it is, how much shorter it hangs, and how far letters bend with it."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armature.leaves.naming import Panel
from armature.leaves.outline import Design

Floats = NDArray[np.float64]
# Letters struck on the flat stay true where the sheet under a line bends less than this, mm: common practice,
# no source.
TRUE = 0.4


@dataclass(frozen=True, eq=False)
class Shaped:
    """A shaped leaf: section (N, 2) mm across its widest place, profile (N, 2) mm along it (depth, drop); deep: mm from
    front to back; shorter: mm that it hangs shorter; letters: mm that the sheet bends under the longest line, 0 without
    a place for a name; radius: mm, of the former that gives the hollow."""

    section: Floats
    profile: Floats
    deep: float
    shorter: float
    letters: float
    radius: float

    @property
    def letters_first(self) -> bool:
        """Whether letters struck on the flat stay true."""
        return self.letters <= TRUE


def shaped(design: Design, dish: float, curl_deg: float, panel: Panel | None) -> Shaped:
    """Return what a dish (depth over width, a parabola across) and a curl (bend along the leaf) do to a design.

    The parabola y = 4 h (x/w)^2 of depth h = dish x w has the radius w^2 / (8 h) at its middle; the leaf bent evenly
    through an angle a keeps its length L along the midrib and hangs L (1 - sin a / a) shorter.
    """
    width, length = design.blade[1], design.length
    depth = dish * width
    x = np.linspace(-width / 2, width / 2, 61)
    section = np.stack([x, 4.0 * depth * (x / width) ** 2], axis=1)
    bend = float(np.deg2rad(curl_deg))
    along = np.linspace(0.0, length, 61)
    rate = bend / length
    if abs(bend) > 1e-9:
        profile = np.stack([(1 - np.cos(rate * along)) / rate, np.sin(rate * along) / rate], axis=1)
    else:
        profile = np.stack([np.zeros_like(along), along], axis=1)
    radius = width**2 / (8.0 * depth) if depth > 1e-9 else np.inf
    letters = 0.0
    if panel is not None:
        a = np.deg2rad(panel.turn_deg)
        across, down = abs(np.cos(a)) * panel.width, abs(np.sin(a)) * panel.width
        letters = across**2 / (8.0 * radius) + down**2 * abs(rate) / 8.0
    deep = depth + float(np.ptp(profile[:, 0]))
    return Shaped(section, profile, deep, length - float(profile[-1, 1]), float(letters), float(radius))


def shaping_words(metal: str) -> tuple[str, str, tuple[str, ...]]:
    """Return how a metal is annealed, when again, and how it can be kept over the years."""
    row = _table()[metal]
    return str(row["anneal"]), str(row["again"]), tuple(_table()["finishes"][row["finish"]]["options"])


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(files("armature.data").joinpath("leaf_shaping.toml").read_text(encoding="utf-8"))
