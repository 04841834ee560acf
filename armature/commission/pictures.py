"""Pictures: the size of stills, the age of the leaves, the hour of the sun, the film."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any, Literal, Self

from pydantic import Field, field_validator, model_validator

from armature.commission.quantities import BrokenRule, Quantity
from armature.commission.section import Section

Pixels = Annotated[int, Field(strict=True, ge=64, le=8192)]
FilmPixels = Annotated[int, Field(strict=True, ge=64, le=2160)]
Frames = Annotated[int, Field(strict=True, ge=0, le=3600)]
Latitude = Annotated[float, Quantity("angle", least=-90.0, most=90.0)]
Hour = Annotated[float, Field(strict=True, ge=0.0, le=24.0)]


class Pictures(Section):
    """How the tree is shown."""

    width: Pixels = Field(1200, description="width of a still in pixels")
    height: Pixels = Field(1500, description="height of a still in pixels")
    age: Literal["new", "brown", "green"] = Field(
        "new", description="the leaves' metal: fresh, after some years in the open, or after decades"
    )
    figure: bool = Field(
        True, strict=True, description="whether a person, or a staff beside a small piece, stands there for scale"
    )
    setting: Literal["courtyard", "plain"] = Field(
        "courtyard", description="what the tree stands on in pictures: a yard paved with stone, or plain ground"
    )
    clear: bool = Field(False, strict=True, description="whether stills have a see-through background")
    date: str | None = Field(
        None,
        description="day of the sun, as in 2026-06-21; needs latitude too; +y of the tree is north",
        json_schema_extra={"usual": "none: a late morning that flatters steel and copper"},
    )
    hour: Hour = Field(10.0, description="hour of the sun, in solar time: 12 is when it stands highest")
    latitude: Latitude | None = Field(
        None, description="of the place, south negative", json_schema_extra={"usual": "none"}
    )
    lamps: bool = Field(False, strict=True, description="whether lamps at the tree's foot shine when the sun is down")
    turntable: Frames = Field(120, description="pictures in one turn of the film, 2 or more; 0 for no film")
    turntable_side: FilmPixels = Field(720, description="width and height of the film in pixels")
    gif: bool = Field(False, strict=True, description="whether the film is written as a small gif too")

    @field_validator("date")
    @classmethod
    def _is_a_day(cls, given: Any) -> Any:
        if given is not None:
            try:
                date.fromisoformat(given)
            except ValueError:
                raise ValueError("must be a day as in 2026-06-21") from None
        return given

    @field_validator("turntable")
    @classmethod
    def _turns(cls, given: int) -> int:
        if given == 1:
            raise ValueError("must be 0 for no film, or at least 2")
        return given

    @model_validator(mode="after")
    def _sun_is_whole(self) -> Self:
        if (self.date is None) != (self.latitude is None):
            raise BrokenRule("date", "and latitude go together: give both or neither")
        return self
