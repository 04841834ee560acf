"""Natural ranges, their sources and the words that go with them: read from data/look_measures.toml."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np


@dataclass(frozen=True)
class Range:
    """What is natural for one measure.

    low, high: 5 and 95 % of natural trees; fall: distances below and above them at which the score reaches 0; allow:
    added on both sides, over the root of the count. least: the smallest value that can be. designs: (low, high, fall
    below, fall above) for a made tree. scored: all, designs, measured or none. says, helps: words for too low and too
    high.
    """

    name: str
    family: str
    title: str
    unit: str
    decimals: int
    low: float
    high: float
    falls: tuple[float, float]
    allow: float
    least: float
    designs: tuple[float, float, float, float] | None
    scored: str
    source: str
    says: tuple[str, str]
    helps: tuple[str, str]

    def limits(self, designed: bool) -> tuple[float, float]:
        """Return the natural low and high for a made or a measured tree."""
        return self.designs[:2] if designed and self.designs else (self.low, self.high)

    def speaks_for(self, designed: bool) -> bool:
        """Return whether the measure is scored for a made (or else measured) tree."""
        return self.scored == "all" or self.scored == ("designs" if designed else "measured")

    def scores(self, value: float, count: int, designed: bool) -> float:
        """Return 100 inside the range allowed, falling in a straight line to 0 at the fall beyond it."""
        low, high = self.allowed(count, designed)
        under, over = self.designs[2:] if designed and self.designs else self.falls
        beyond = max((low - value) / under, (value - high) / over, 0.0)
        return round(100.0 * max(1.0 - beyond, 0.0), 1)

    def allowed(self, count: int, designed: bool) -> tuple[float, float]:
        """Return the low and high up to which a measure that rests on `count` things scores 100.

        Few things measured widen the natural range: by `allow` over the root of their count.
        """
        low, high = self.limits(designed)
        slack = self.allow / float(np.sqrt(max(count, 1)))
        return max(low - slack, self.least), high + slack


@cache
def ranges() -> dict[str, Range]:
    """Return the ranges by the name of the measure, in the order in which they are reported."""
    table = tomllib.loads(files("armature").joinpath("data/look_measures.toml").read_text(encoding="utf-8"))
    return {row["name"]: _range(row) for row in table["measure"]}


def _range(row: dict[str, object]) -> Range:
    own, fall = row.get("design"), row["fall"]
    assert isinstance(fall, list)
    made = None
    if isinstance(own, list):
        falls = row.get("design_fall", fall)
        assert isinstance(falls, list)
        made = (float(own[0]), float(own[1]), float(falls[0]), float(falls[1]))
    text = {key: str(row.get(key, "")) for key in ("unit", "low_says", "high_says", "low_helps", "high_helps")}
    return Range(
        name=str(row["name"]),
        family=str(row["family"]),
        title=str(row["title"]),
        unit=text["unit"],
        decimals=int(str(row["decimals"])),
        low=float(str(row["low"])),
        high=float(str(row["high"])),
        falls=(float(fall[0]), float(fall[1])),
        allow=float(str(row["allow"])),
        least=float(str(row.get("least", 0.0))),
        designs=made,
        scored=str(row["scored"]),
        source=str(row["source"]),
        says=(text["low_says"], text["high_says"]),
        helps=(text["low_helps"], text["high_helps"]),
    )
