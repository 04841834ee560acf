"""The canopy: the envelope that foliage fills, and the boxes it keeps out of."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Annotated, Any, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from armature.commission.quantities import BrokenRule, Length, LengthOrZero, Pair, Place
from armature.commission.section import Section
from armature.habits import habits

if TYPE_CHECKING:
    Habit = str
else:
    # The table of habits is the list: a new row is a new word here.
    Habit = Literal[tuple(habits())]


class KeepOut(Section):
    """A box that no member may enter: a window, a path, a lamp post, head room."""

    name: str = Field("keep-out", min_length=1, description="what stands there")
    min: Place = Field(description="corner with the smallest x, y, z; the trunk's foot is [0, 0, 0], z up")
    max: Place = Field(description="corner with the largest x, y, z")

    @model_validator(mode="after")
    def _box_has_room(self) -> Self:
        for axis, low, high in zip("xyz", self.min, self.max, strict=True):
            if not low < high:
                raise BrokenRule("min", f"must be below max in {axis}", f"{low:g} mm")
        return self


def _is_file(outline: Any) -> str:
    return "outline in a file" if isinstance(outline, str) else "outline in pairs"


Outline = Annotated[
    Annotated[tuple[tuple[LengthOrZero, LengthOrZero], ...], Tag("outline in pairs"), Field(min_length=2)]
    | Annotated[str, Tag("outline in a file"), Field(min_length=1)],
    Discriminator(_is_file),
]


def _usual_spread(data: dict[str, Any]) -> Pair:
    if isinstance(data.get("outline"), tuple):
        return _outline_spread(data["outline"])
    width: float = data["height"] * habits()[data["habit"]].width
    return width, width * habits()[data["habit"]].depth


def _usual_stem(data: dict[str, Any]) -> float:
    if isinstance(data.get("outline"), tuple):
        return float(data["outline"][0][0])
    return float(data["height"] * habits()[data["habit"]].stem)


def _outline_spread(outline: tuple[tuple[float, float], ...]) -> Pair:
    width = 2.0 * max(radius for _, radius in outline)
    return width, width


class Canopy(Section):
    """Form and size of the crown."""

    habit: Habit = Field("rounded", description="form of the crown")
    height: Length = Field(description="ground to top")
    outline: Outline | None = Field(
        None,
        description="for the habit `outline`: [height, radius] pairs from the ground up, or the name of a closed mesh"
        " file (STL, OBJ, PLY, 3MF or GLB, in mm, standing where the tree stands)",
        json_schema_extra={"usual": "none"},
    )
    spread: Pair = Field(
        default_factory=_usual_spread,
        description="width and depth of the crown (x and y); of an espalier: along the wall, out from the wall",
        json_schema_extra={
            "usual": "height × 0.35 to 1.1 by habit, depth 0.6 to 0.95 of it (espalier 0.14); of an outline, its widest"
        },
    )
    clear_stem: LengthOrZero = Field(
        default_factory=_usual_stem,
        description="ground to the lowest foliage",
        json_schema_extra={"usual": "height × 0.12 to 0.58 by habit, or where the outline begins"},
    )
    keep_out: tuple[KeepOut, ...] = Field((), description="boxes that no member may enter")

    @model_validator(mode="after")
    def _fits_together(self) -> Self:
        if self.clear_stem >= self.height:
            raise BrokenRule("clear_stem", f"must be below height, {self.height:g} mm", f"{self.clear_stem:g} mm")
        if (self.habit == "outline") != (self.outline is not None):
            raise BrokenRule("outline", 'must be given when the habit is "outline", and only then')
        if isinstance(self.outline, tuple):
            _check_outline(self.outline, self.height)
            if self.spread != _outline_spread(self.outline):
                raise BrokenRule("spread", "is that of canopy.outline: leave it out")
        return self


def _check_outline(outline: tuple[tuple[float, float], ...], height: float) -> None:
    heights, radii = zip(*outline, strict=True)
    if any(upper <= lower for lower, upper in pairwise(heights)):
        raise BrokenRule("outline", "heights must rise from each pair to the next")
    if heights[-1] > height:
        raise BrokenRule("outline", f"must end at or below height, {height:g} mm", f"{heights[-1]:g} mm")
    if max(radii) <= 0.0:
        raise BrokenRule("outline", "needs a radius above zero")
