"""The site: the wind and weather that the tree has to stand in."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from armature.commission.quantities import BarSize, BrokenRule, Length, LengthOrZero, Place, Quantity, Section

WindSpeed = Annotated[float, Quantity("speed", above=0.0, most=120.0)]
Years = Annotated[int, Field(strict=True, ge=1, le=2000)]
Topography = Annotated[float, Field(strict=True, ge=1.0, le=5.0)]
Damping = Annotated[float, Quantity("share", least=0.0005, most=0.2)]
Ice = Annotated[float, Quantity("length", least=0.0, most=200.0)]
Bearing = Annotated[float, Quantity("stress", above=0.0, most=5.0)]
Snow = Annotated[float, Quantity("stress", least=0.0, most=0.03)]
Coat = Literal["bare", "painted", "galvanised", "galvanised and painted"]
Pull = Annotated[float, Quantity("force", least=0.0, most=20_000.0)]

_EXPOSURES = {"ASCE 7-16": ("B", "C", "D"), "EN 1991-1-4": ("0", "I", "II", "III", "IV")}


class Tie(Section):
    """A bar, pinned at both ends, from a member to another member or to the ground."""

    member: str = Field(min_length=1, description="tag of the member it holds")
    at: LengthOrZero = Field(description="station on that member")
    to_member: str | None = Field(
        None, description="tag of the other member", json_schema_extra={"usual": "none: then to_point"}
    )
    to_at: LengthOrZero = Field(0.0, description="station on the other member")
    to_point: Place | None = Field(
        None, description="fixed point in the ground or a wall", json_schema_extra={"usual": "none: then to_member"}
    )
    bar: BarSize = Field(description="diameter of the tie")

    @model_validator(mode="after")
    def _has_one_far_end(self) -> Self:
        if (self.to_member is None) == (self.to_point is None):
            raise ValueError("a tie needs one far end: either to_member or to_point")
        return self


class Site(Section):
    """Where the tree stands. What could hurt someone has no default."""

    standard: Literal["ASCE 7-16", "EN 1991-1-4"] = Field("ASCE 7-16", description="wind standard")
    wind_speed: WindSpeed | None = Field(
        None,
        description="basic wind speed of the standard: 3-second gust (ASCE) or 10-minute mean (EN), from the local map",
        json_schema_extra={"usual": "none: strength is judged only when it is given"},
    )
    exposure: str | None = Field(
        None,
        description="exposure B, C or D (ASCE), or terrain 0, I, II, III or IV (EN)",
        json_schema_extra={"usual": "none: strength is judged only when it is given"},
    )
    corrosivity: Literal["C1", "C2", "C3", "C4", "C5", "CX"] = Field("C3", description="class of ISO 9223")
    years: Years = Field(100, description="how long the tree has to last")

    risk_category: Literal["I", "II", "III", "IV"] | None = Field(
        None,
        description="risk category of ASCE 7-16 table 1.5-1: sets how rare the mapped wind is, and the weight of ice",
        json_schema_extra={"usual": "II, and the report says so"},
    )
    topography: Topography | None = Field(
        None,
        description="speed-up on hills and cliffs: Kzt (ASCE) or the orography factor c_o (EN)",
        json_schema_extra={"usual": "1.0, flat ground, and the report says so"},
    )
    damping: Damping | None = Field(
        None,
        description="damping as a share of critical",
        json_schema_extra={"usual": "0.2 %, welded steel, and the report says so"},
    )
    ice: Ice | None = Field(
        None,
        description="nominal radial thickness of ice from the local map, 0 where none forms",
        json_schema_extra={"usual": "none: ice is checked only when it is given"},
    )
    ice_wind: WindSpeed | None = Field(
        None,
        description="wind speed that comes with the ice, as wind_speed",
        json_schema_extra={"usual": "none: ice is checked only when it is given"},
    )
    snow: Snow | None = Field(
        None,
        description="ground snow load from the local map, wet snow lying on bars and leaves; 0 where none falls",
        json_schema_extra={"usual": "none: snow is checked only when it is given"},
    )
    coat: Coat | None = Field(
        None, description="coat of the steel", json_schema_extra={"usual": "bare, and the report says so"}
    )
    reach: Length | None = Field(
        None,
        description="height up to which the public can take hold",
        json_schema_extra={"usual": "2.5 m, and the report says so"},
    )
    pull: Pull | None = Field(
        None,
        description="pull of a person on a member within reach",
        json_schema_extra={"usual": "1391 N, one user of play equipment, EN 1176-1 annex A; the report says so"},
    )
    soil_bearing: Bearing | None = Field(
        None,
        description="allowed pressure on the soil under the footing",
        json_schema_extra={"usual": "72 kPa, presumed for clay, and the report says so"},
    )
    ties: tuple[Tie, ...] = Field((), description="tie bars between members, or to the ground")

    @model_validator(mode="after")
    def _exposure_is_of_the_standard(self) -> Self:
        known = _EXPOSURES[self.standard]
        if self.exposure is not None and self.exposure not in known:
            raise BrokenRule("exposure", f"of {self.standard} must be one of {', '.join(known)}", self.exposure)
        return self
