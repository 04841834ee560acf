"""The leaf maker's part of the commission: outlines, hanging, plates and lettering."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from armature.commission.quantities import BrokenRule, Length, Quantity, Share
from armature.commission.section import Section

PlateSize = tuple[Length, Length]
Swing = Annotated[float, Quantity("angle", above=0.0, most=90.0)]
Kerf = Annotated[float, Quantity("length", least=0.0, most=10.0)]
Web = Annotated[float, Quantity("length", above=0.0, most=100.0)]
Margin = Annotated[float, Quantity("length", least=0.0, most=200.0)]
Lead = Annotated[float, Quantity("length", least=0.0, most=50.0)]
Small = Annotated[float, Quantity("length", least=0.3, most=100.0)]
Error = Annotated[float, Quantity("length", least=0.005, most=1.0)]
Diameters = Annotated[float, Field(strict=True, ge=1.0, le=6.0)]
Seconds = Annotated[int, Field(strict=True, ge=0, le=36_000)]


@cache
def _tabled_forms() -> tuple[str, ...]:
    text = files("armature.data").joinpath("leaf_forms.toml").read_text(encoding="utf-8")
    return tuple(tomllib.loads(text))


class Outline(Section):
    """The outlines of the leaves."""

    forms: tuple[str, ...] = Field((), description="botanical forms to draw from, in turn; none: the usual mix")
    files: tuple[str, ...] = Field(
        (), description="the artist's own outlines, each a DXF or SVG file; these come first"
    )
    spread: Share = Field(0.1, description="how far a design's size may lie from the mean")
    chord_error: Error = Field(0.05, description="farthest that the cut arcs lie from the drawn curve")
    gap: Annotated[float, Quantity("length", least=0.0, most=5.0)] = Field(
        1.0, description="widest gap of a drawn outline that is closed by a straight"
    )
    dxf_units: Literal["mm", "cm", "inch"] | None = Field(
        None, description="unit of a DXF that states none, as R12 never does", json_schema_extra={"usual": "refused"}
    )
    dish: Annotated[float, Field(strict=True, ge=0.0, le=0.5)] = Field(
        0.12, description="hollow over width, in pictures"
    )
    curl: Annotated[float, Quantity("angle", least=-180.0, most=180.0)] = Field(
        20.0, description="bend along the leaf, in pictures"
    )

    @field_validator("forms")
    @classmethod
    def _forms_are_tabled(cls, forms: tuple[str, ...]) -> tuple[str, ...]:
        for form in forms:
            if form not in _tabled_forms():
                raise ValueError(f"each must be one of {', '.join(_tabled_forms())}; {form!r} is none")
        return forms


class Hang(Section):
    """Loops, eyes and the room to swing."""

    wire: Small | None = Field(
        None, description="loop wire", json_schema_extra={"usual": "length / 40, from 0.8 mm to 3 mm"}
    )
    loop: Small | None = Field(None, description="inside diameter of the loop", json_schema_extra={"usual": "4 × wire"})
    eye: Small | None = Field(None, description="hole in the leaf", json_schema_extra={"usual": "wire + 1 mm"})
    edge: Diameters = Field(2.0, description="distance of the hole's centre from the edge, in hole diameters")
    isolation: Literal["bush", "sleeve", "ring", "none"] = Field(
        "bush",
        description="what keeps unlike metals apart: a bush in the eye, a sleeve on the loop, a coated ring between",
    )
    swing: Swing = Field(30.0, description="angle from plumb to which a leaf is let swing")
    strike: Share = Field(0.25, description="share of a leaf's swing in which it may strike a leaf or steel")


class Plates(Section):
    """The sheets that leaves are cut from."""

    sizes: tuple[PlateSize, ...] = Field(
        ((609.6, 609.6),),
        min_length=1,
        description="plates to buy, preferred first",
        json_schema_extra={"usual": "by units: 24 x 24 in, or 1000 x 2000 mm"},
    )
    offcuts: tuple[PlateSize, ...] = Field((), description="pieces on hand, each used once, before a plate is bought")
    kerf: Kerf = Field(1.2, description="width of the cut")
    compensate: bool = Field(False, description="draw the path of the cut, half a kerf outside, instead of the outline")
    web: Web = Field(3.0, description="least distance between two leaves")
    margin: Margin = Field(5.0, description="least distance from a leaf to the plate's edge")
    rotation: Literal["free", "quarter", "grain"] = Field(
        "free", description="free, by quarter turns, or with the apex along the plate's long side"
    )
    lead_in: Lead = Field(2.0, description="length of the lead-in, which lies in the waste")
    tabs: Annotated[int, Field(strict=True, ge=0, le=12)] = Field(
        0, description="tabs that hold each leaf in its sheet until it is broken out; 0: none"
    )
    tab: Annotated[float, Quantity("length", least=0.1, most=5.0)] = Field(
        0.5, description="metal that each tab leaves standing"
    )
    pins: bool = Field(False, description="holes in the waste for pins or screws that hold the sheet down")
    feed: Annotated[float, Quantity("length", least=50.0, most=60_000.0)] = Field(
        3000.0, description="cut a minute, for the quote sheet: the table's own figure"
    )
    pierce: Annotated[float, Field(strict=True, ge=0.0, le=60.0)] = Field(
        1.0, description="seconds that each pierce takes, travel to it included, for the quote sheet"
    )
    spares: Share = Field(0.05, description="leaves cut beyond the count, for scrap")
    seconds: Seconds = Field(0, description="time to search for a tight layout; 0 takes the quick, repeatable one")

    @model_validator(mode="after")
    def _metal_is_left_between_cuts(self) -> Plates:
        if self.web < 2.0 * self.kerf:
            raise BrokenRule("web", f"must be at least two kerfs ({2 * self.kerf:g} mm): each side loses one", self.web)
        return self


class Lettering(Section):
    """Names on leaves."""

    least: Small = Field(2.3, description="smallest letter that is stamped")
    most: Small = Field(6.5, description="largest letter that is stamped")
    stamps: Literal["inch", "mm"] = Field(
        "inch", description="which set of letter stamps is on hand", json_schema_extra={"usual": "by units"}
    )
    lines: Annotated[int, Field(strict=True, ge=1, le=5)] = Field(3, description="most lines of one name")
    reach: Length = Field(2400.0, description="height that a visitor can reach; named leaves are placed low first")
    people: Annotated[int, Field(strict=True, ge=1, le=60)] = Field(
        1, description="people who strike names at the same time, each with an anvil and a set of stamps"
    )
    grades: str | None = Field(None, min_length=1, description="CSV of what came off the table: leaf,grade")
    stamped: str | None = Field(None, min_length=1, description="CSV of leaves stamped already: leaf,name; these stay")

    @model_validator(mode="after")
    def _letters_have_a_range(self) -> Lettering:
        if self.least > self.most:
            raise BrokenRule("least", f"must be at most lettering.most, {self.most:g} mm", f"{self.least:g} mm")
        return self
