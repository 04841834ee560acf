"""Leaves: how many, of which sheet, how large, and the names to stamp."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field, ValidationInfo, field_validator

from armature.commission.leafwork import Hang, Lettering, Outline, Plates
from armature.commission.quantities import Quantity, Section
from armature.errors import StockError
from armature.stock import Sheet, sheet

LeafCount = Annotated[int, Field(strict=True, ge=0, le=5_000_000)]
LeafLength = Annotated[float, Quantity("length", least=5.0, most=2000.0)]
Spacing = Annotated[float, Quantity("length", above=0.0, most=2000.0)]
Designs = Annotated[int, Field(strict=True, ge=1, le=200)]


def _usual_spacing(data: dict[str, Any]) -> float:
    return float(data["length"]) / 3.0


class Leaves(Section):
    """The sheet-metal leaves."""

    count: LeafCount = Field(description="leaves in all, exactly", json_schema_extra={"usual": "3 × growth.twigs"})
    metal: str = Field("copper", description="sheet metal, from the table in armature/data/sheets.toml")
    sheet: str = Field("24 oz", description="gauge of that metal, or a thickness with its unit")
    designs: Designs = Field(9, description="how many outlines the leaves take turns with")
    names: str | None = Field(
        None, min_length=1, description="CSV file of names to stamp, one a row", json_schema_extra={"usual": "none"}
    )
    length: LeafLength = Field(120.0, description="length of a blade")
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
    def thickness(self) -> float:
        """Thickness of the sheet, mm."""
        return sheet(self.metal, self.sheet).thickness_mm

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
