"""Types of commission values: quantities with units, counts, ratios, each with its range."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field, GetCoreSchemaHandler, SerializationInfo
from pydantic_core import CoreSchema, core_schema

from armature.edge import Kind, exact_length, exact_number, parse, wants_unit

_UNIT: dict[Kind, str] = {
    "length": "mm", "angle": "deg", "speed": "m/s", "mass": "kg", "force": "N", "stress": "MPa", "share": "%",
}  # fmt: skip


class BrokenRule(ValueError):
    """A rule between two keys of a section is broken; `key` is the one to mend, `value` what it holds."""

    def __init__(self, key: str, rule: str, value: object = None) -> None:
        self.key, self.value = key, value
        super().__init__(rule)


@dataclass(frozen=True)
class Quantity:
    """A range for a value that is written as text with a unit and kept as a float: mm, deg, m/s, kg, N, MPa, one.

    `above` is an open lower bound, `least` and `most` closed ones, all in the unit kept.
    """

    kind: Kind
    above: float | None = None
    least: float | None = None
    most: float | None = None

    def __get_pydantic_core_schema__(self, _source: object, _handler: GetCoreSchemaHandler) -> CoreSchema:
        """Read text on the way in, write text on the way out."""
        writer = core_schema.plain_serializer_function_ser_schema(self._written, info_arg=True)
        return core_schema.no_info_plain_validator_function(self._read, serialization=writer)

    def text(self, value: float, system: str = "mm") -> str:
        """Return the quantity as text that reads back as the same float; lengths in inches where `system` says so."""
        if self.kind == "length":
            return exact_length(value, "inch" if system == "inch" else "mm")
        return f"{_exact_share(value) if self.kind == 'share' else exact_number(value)} {_UNIT[self.kind]}"

    @property
    def range(self) -> str:
        """The range in words, empty when there is none."""
        parts = [
            "" if self.above is None else f"more than {self._short(self.above)}",
            "" if self.least is None else f"at least {self._short(self.least)}",
            "" if self.most is None else f"at most {self._short(self.most)}",
        ]
        return " and ".join(part for part in parts if part)

    def _read(self, given: Any) -> float:
        if not isinstance(given, str):
            raise ValueError(wants_unit(self.kind))
        value = parse(given, self.kind)
        below = (self.above is not None and value <= self.above) or (self.least is not None and value < self.least)
        if below or (self.most is not None and value > self.most) or not math.isfinite(value):
            raise ValueError(f"must be {self.range}")
        return value

    def _written(self, value: float, info: SerializationInfo) -> str:
        return self.text(value, (info.context or {}).get("units", "mm"))

    def _short(self, value: float) -> str:
        if self.kind == "length" and abs(value) >= 1000:
            return f"{value / 1000:g} m"
        return self.text(value)


def _exact_share(value: float) -> str:
    """Percent text whose hundredth is the same float: a share of 0.07 is not 100 times 0.07 in floats."""
    for digits in range(1, 19):
        text = f"{value * 100:.{digits}g}"
        if "e" not in text and parse(f"{text} %", "share") == value:
            return text
    return exact_number(value * 100)


Length = Annotated[float, Quantity("length", above=0.0, most=200_000.0)]
LengthOrZero = Annotated[float, Quantity("length", least=0.0, most=200_000.0)]
Coordinate = Annotated[float, Quantity("length", least=-200_000.0, most=200_000.0)]
BarSize = Annotated[float, Quantity("length", least=0.5, most=600.0)]
Share = Annotated[float, Quantity("share", least=0.0, most=1.0)]

Count = Annotated[int, Field(strict=True, ge=1, le=1_000_000)]
CountOrZero = Annotated[int, Field(strict=True, ge=0, le=1_000_000)]
Pair = tuple[Length, Length]
Place = tuple[Coordinate, Coordinate, Coordinate]
