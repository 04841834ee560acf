"""Steel: the grade, the bars on hand, and pipe for thick members."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, field_validator, model_validator

from armature.commission.quantities import BarSize, BrokenRule
from armature.commission.section import Section
from armature.edge import StockError
from armature.metals import grade, usual_bars


class Pipe(Section):
    """A pipe on hand."""

    outside: BarSize = Field(description="outside diameter")
    wall: BarSize = Field(description="wall thickness, under half the outside diameter")

    @model_validator(mode="after")
    def _has_a_bore(self) -> Self:
        if 2.0 * self.wall >= self.outside:
            raise BrokenRule("wall", f"must be under half of outside, {self.outside:g} mm", f"{self.wall:g} mm")
        return self


class Steel(Section):
    """What the members are forged from."""

    grade: str = Field(
        "A36",
        description="steel grade, from the table in armature/data/grades.toml",
        json_schema_extra={"usual": "by units: A36, or S235"},
    )
    bars: tuple[BarSize, ...] = Field(
        default_factory=usual_bars,
        min_length=1,
        description="diameters of round bar on hand",
        json_schema_extra={
            "usual": "by units: 1/4, 5/16, 3/8, 1/2, 5/8, 3/4, 1, 1 1/4, 1 1/2, 2, 2 1/2, 3, 4 in; "
            "or 6, 8, 10, 12, 16, 20, 25, 30, 40, 50, 60, 80, 100 mm",
        },
    )
    pipes: tuple[Pipe, ...] = Field((), description="pipes on hand, for trunk and limbs")
    trunk: Literal["bar", "pipe"] = Field("bar", description="what the trunk is made of")
    limbs: Literal["bar", "pipe"] = Field("bar", description="what the limbs are made of")
    hold: tuple[Literal["trunk", "limb", "branch", "branchlet", "twig"], ...] = Field(
        (), description="ranks that keep the bars they grew with: strength then says what these can carry"
    )

    @property
    def density(self) -> float:
        """Density of the grade, kg/m3."""
        return grade(self.grade).density_kg_m3

    @field_validator("grade")
    @classmethod
    def _is_tabled(cls, name: str) -> str:
        try:
            return grade(name).name
        except StockError as missing:
            raise ValueError(str(missing)) from None

    @field_validator("bars")
    @classmethod
    def _thinnest_first(cls, bars: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(sorted(set(bars)))

    @field_validator("pipes")
    @classmethod
    def _narrowest_first(cls, pipes: tuple[Pipe, ...]) -> tuple[Pipe, ...]:
        return tuple(sorted(pipes, key=lambda pipe: (pipe.outside, pipe.wall)))

    @model_validator(mode="after")
    def _pipe_is_on_hand(self) -> Self:
        for rank in ("trunk", "limbs"):
            if getattr(self, rank) == "pipe" and not self.pipes:
                raise BrokenRule(rank, '"pipe" needs steel.pipes: list at least one')
        return self
