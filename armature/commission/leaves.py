"""Leaves: how many, of which sheet, how large, and the names to stamp."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field, ValidationInfo, field_validator, model_validator

from armature.commission.leafwork import Hang, Lettering, Outline, Plates
from armature.commission.quantities import BrokenRule, Quantity
from armature.commission.section import Section
from armature.edge import StockError
from armature.metals import Sheet, sheet

LeafCount = Annotated[int, Field(strict=True, ge=0, le=5_000_000)]
LeafLength = Annotated[float, Quantity("length", least=5.0, most=2000.0)]
Spacing = Annotated[float, Quantity("length", above=0.0, most=2000.0)]
Designs = Annotated[int, Field(strict=True, ge=1, le=500)]
_FEW = 9


def _usual_spacing(data: dict[str, Any]) -> float:
    return float(data["length"]) / 3.0


class Leaves(Section):
    """The sheet-metal leaves."""

    count: LeafCount = Field(description="leaves in all, exactly", json_schema_extra={"usual": "3 × growth.twigs"})
    metal: str = Field("copper", description="sheet metal, from the table in armature/data/sheets.toml")
    sheet: str = Field(
        "24 oz",
        description="gauge of that metal, or a thickness with its unit",
        json_schema_extra={"usual": "by units: 24 oz, or 0.8 mm"},
    )
    designs: Designs = Field(
        _FEW, description="how many outlines the leaves take turns with; over 9 no more than leaves"
    )
    names: str | None = Field(
        None, min_length=1, description="CSV file of names to stamp, one a row", json_schema_extra={"usual": "none"}
    )
    length: LeafLength = Field(75.0, description="length of a blade")
    spacing: Spacing = Field(
        default_factory=_usual_spacing,
        description="least distance between two hang points",
        json_schema_extra={"usual": "length / 3"},
    )

    outline: Outline = Field(default_factory=Outline, description="outlines of the leaves")
    hang: Hang = Field(default_factory=Hang, description="loops, eyes and the room to swing")
    plates: Plates = Field(default_factory=Plates, description="the sheets that leaves are cut from")
    lettering: Lettering = Field(default_factory=Lettering, description="names on leaves")

    @property
    def wire(self) -> float:
        """Wire of the loops, mm."""
        return self.hang.wire or round(min(max(self.length / 40.0, 0.8), 3.0), 1)

    @property
    def loop(self) -> float:
        """Inside diameter of the loops, mm."""
        return self.hang.loop or 4.0 * self.wire

    @property
    def eye(self) -> float:
        """Hole in a leaf, mm."""
        return self.hang.eye or self.wire + 1.0

    @property
    def least_eye(self) -> float:
        """Narrowest hole that takes the wire with room to move, and that the table can cut, mm."""
        return max(self.wire + 0.4, self.thickness, self.plates.kerf)

    @property
    def thickness(self) -> float:
        """Thickness of the sheet, mm."""
        return sheet(self.metal, self.sheet).thickness_mm

    @property
    def kg_m2(self) -> float:
        """Mass of one square metre of the sheet, kg."""
        return sheet(self.metal, self.sheet).mass_kg_m2

    @model_validator(mode="after")
    def _eye_can_be_cut(self) -> Leaves:
        if self.eye < self.least_eye:
            rule = "0.4 mm over the wire, the sheet's thickness, and the kerf"
            rule = f"the eye must be at least {self.least_eye:.2f} mm: {rule}"
            raise BrokenRule("hang", rule, f"{self.eye:g} mm")
        if self.loop < self.wire:
            rule = f"the loop must be as wide inside as its wire ({self.wire:g} mm)"
            raise BrokenRule("hang", rule, f"{self.loop:g} mm")
        return self

    @model_validator(mode="after")
    def _every_outline_is_used(self) -> Leaves:
        given = len(self.outline.files)
        if given > self.designs:
            raise BrokenRule("designs", f"must be at least {given}, one for each of outline.files", self.designs)
        if self.count and self.designs > max(self.count, _FEW):
            raise BrokenRule("designs", f"must be no more than the leaves, {self.count}", self.designs)
        return self

    @model_validator(mode="after")
    def _stamped_names_are_listed(self) -> Leaves:
        if self.lettering.stamped and not self.names:
            raise BrokenRule("names", "is needed with lettering.stamped: a stamped name stays on the list")
        return self

    @field_validator("metal")
    @classmethod
    def _metal_is_tabled(cls, metal: str) -> str:
        return _listed(metal, "1 mm").metal

    @field_validator("sheet")
    @classmethod
    def _sheet_is_tabled(cls, gauge: str, info: ValidationInfo) -> str:
        return _listed(info.data["metal"], gauge).gauge if "metal" in info.data else gauge


def _listed(metal: str, gauge: str) -> Sheet:
    try:
        return sheet(metal, gauge)
    except StockError as missing:
        raise ValueError(str(missing)) from None
