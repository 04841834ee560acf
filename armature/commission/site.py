"""The site: the wind and weather that the tree has to stand in."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from armature.commission.quantities import BarSize, BrokenRule, Length, LengthOrZero, Place, Quantity
from armature.commission.section import Section

WindSpeed = Annotated[float, Quantity("speed", above=0.0, most=120.0)]
Years = Annotated[int, Field(strict=True, ge=1, le=2000)]
Topography = Annotated[float, Field(strict=True, ge=1.0, le=5.0)]
Damping = Annotated[float, Quantity("share", least=0.0005, most=0.2)]
Ice = Annotated[float, Quantity("length", least=0.0, most=200.0)]
Bearing = Annotated[float, Quantity("stress", above=0.0, most=5.0)]
Snow = Annotated[float, Quantity("stress", least=0.0, most=0.03)]
Waste = Annotated[float, Quantity("length", least=0.0, most=20.0)]
Climbers = Annotated[int, Field(strict=True, ge=0, le=20)]
FootDepth = Annotated[float, Quantity("length", least=200.0, most=5000.0)]
Concrete = Annotated[float, Quantity("stress", least=12.0, most=70.0)]
Friction = Annotated[float, Field(strict=True, ge=0.1, le=0.8)]
Acceleration = Annotated[float, Field(strict=True, gt=0.0, le=3.0)]
Response = Annotated[float, Field(strict=True, ge=1.0, le=3.0)]
Coat = Literal["bare", "painted", "galvanised", "galvanised and painted"]
Pull = Annotated[float, Quantity("force", least=0.0, most=20_000.0)]

# What a standard's own figures and formulas reach to, from memory; its key, the most it may be, and where that stands.
_RANGES = {
    "ASCE 7-16": {
        "topography": (3.2, "1 to 3.2, the most that figure 26.8-1 gives: (1 + K1 K2 K3)^2"),
        "wind_speed": (93.9, "up to 93.9 m/s (210 mph), where figure 26.5-1 ends: a gust of three seconds"),
        "ice_wind": (93.9, "up to 93.9 m/s (210 mph), where the figures end: a gust of three seconds"),
    },
    "EN 1991-1-4": {"topography": (1.6, "1 to 1.6, the most that A.3 gives: 1 + 2 s 0.3; it is on the speed")},
}
_EXPOSURES = {"ASCE 7-16": ("B", "C", "D"), "EN 1991-1-4": ("0", "I", "II", "III", "IV")}


class Quake(Section):
    """Design spectral accelerations, as a share of gravity, from the site's own study or map."""

    short: Acceleration = Field(
        description="at short periods: S_DS (ASCE 7-16 11.4.5), or the plateau of EN 1998-1 3.2.2.5"
    )
    second: Acceleration = Field(description="at one second: S_D1, or the spectrum of EN 1998-1 at 1 s")
    response: Response = Field(1.25, description="R, or q: how far the steel is trusted to yield; 1.25 is nearly none")


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
    renew_every: Years | None = Field(
        None,
        description="years between renewals of the coat, each time cleaned to bright steel",
        json_schema_extra={"usual": "none: the coat is never renewed"},
    )
    allowance: Waste | None = Field(
        None,
        description="steel a side that may waste before bars are mended: sizing leaves that much over",
        json_schema_extra={"usual": "what wastes between two renewals"},
    )
    wind_for_years: bool = Field(
        False, description="whether the wind is raised to the same chance over `years` as the mapped one has in 50"
    )
    climbers: Climbers | None = Field(
        None,
        description="persons who may hang on one member at once, or climb it",
        json_schema_extra={"usual": "1, and the report says so"},
    )
    head_room: Length | None = Field(
        None,
        description="height over ground that steel and leaf edges have to leave free, but for the trunk",
        json_schema_extra={"usual": "none: tips under 2.1 m are listed"},
    )
    ground: Literal["soil", "paving", "remains"] = Field(
        "soil", description="what it stands on: paving and remains may not be dug, so a ballasted foot stands on them"
    )
    foot_depth: FootDepth = Field(600.0, description="depth of the footing, all concrete")
    frost_depth: LengthOrZero | None = Field(
        None,
        description="depth to which the ground freezes, from the local code",
        json_schema_extra={"usual": "none: not checked, and the report says so"},
    )
    concrete: Concrete = Field(25.0, description="cylinder strength of the footing's concrete, f'c or f_ck")
    friction: Friction = Field(0.35, description="friction of concrete on the ground, for sliding")
    quake: Quake | None = Field(
        None, description="earthquake", json_schema_extra={"usual": "none: not checked, and the report says so"}
    )
    ties: tuple[Tie, ...] = Field((), description="tie bars between members, or to the ground")

    @model_validator(mode="after")
    def _exposure_is_of_the_standard(self) -> Self:
        known = _EXPOSURES[self.standard]
        if self.exposure is not None and self.exposure not in known:
            raise BrokenRule("exposure", f"of {self.standard} must be one of {', '.join(known)}", self.exposure)
        return self

    @model_validator(mode="after")
    def _values_are_within_the_standard(self) -> Self:
        for key, (most, words) in _RANGES[self.standard].items():
            value = getattr(self, key)
            if value is not None and value > most:
                raise BrokenRule(key, f"of {self.standard} must be {words}", f"{value:g}")
        return self

    @model_validator(mode="after")
    def _what_is_renewed_is_a_coat(self) -> Self:
        if self.renew_every is not None and self.coat in (None, "bare"):
            raise BrokenRule("renew_every", "needs a coat other than bare to renew", self.renew_every)
        return self
