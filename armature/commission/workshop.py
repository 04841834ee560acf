"""The workshop behind the forge: how true it works, what it buys, how it joins, moves and counts its hours."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from armature.commission.quantities import (
    BarSize,
    BrokenRule,
    Count,
    Length,
    LengthOrZero,
    Quantity,
)
from armature.commission.section import Section

Swing = Annotated[float, Quantity("angle", least=0.0, most=30.0)]
Slip = Annotated[float, Quantity("length", least=0.0, most=200.0)]
Drawn = Annotated[float, Quantity("share", least=0.0, most=0.2)]
BarLength = Annotated[float, Quantity("length", least=100.0, most=30_000.0)]
Rest = Annotated[float, Quantity("length", least=0.0, most=30_000.0)]
Load = Annotated[float, Quantity("mass", above=0.0, most=500_000.0)]
SlingAngle = Annotated[float, Quantity("angle", least=30.0, most=90.0)]
Price = Annotated[float, Field(strict=True, ge=0.0, le=1e9)]
Hours = Annotated[float, Field(strict=True, gt=0.0, le=168.0)]
Spare = Annotated[float, Quantity("share", least=0.0, most=2.0)]
Spares = Annotated[int, Field(strict=True, ge=0, le=1000)]
Name = Annotated[str, Field(strict=True, min_length=1, max_length=200)]
Join = Literal["weld", "forge weld", "collar", "rivet"]
Rods = Literal[1, 3, 4, 7, 19]


class Anvil(Section):
    """How true the shop works: what 19 of 20 pieces keep. Tips are simulated with it."""

    bend: Swing = Field(2.0, description="error of a bend")
    turn: Swing = Field(3.0, description="error of the turn between two bends")
    feed: Slip = Field(3.0, description="error of a straight run")
    station: Slip = Field(3.0, description="error of a joint's station")
    clock: Swing = Field(3.0, description="error of a joint's clock")
    lean: Swing = Field(3.0, description="error of a joint's lean")
    roll: Swing = Field(3.0, description="error of a joint's roll")
    drawn: Drawn = Field(0.01, description="error of the length of a drawn taper")
    fit: Slip = Field(10.0, description="how near to its check dimensions a tip is brought when it is tacked")
    copies: Annotated[int, Field(strict=True, ge=0, le=5000)] = Field(64, description="copies of the tree simulated")


class Tool(Section):
    """What a bending tool takes. Ranges are common practice, no source: put in your own."""

    have: bool = Field(True, description="whether the shop has it")
    thinnest: LengthOrZero = Field(0.0, description="thinnest bar or pipe, outside")
    thickest: Length = Field(32.0, description="thickest bar or pipe, outside")
    tightest: LengthOrZero = Field(0.0, description="least inside radius")
    widest: Length = Field(20_000.0, description="most inside radius")


class Fork(Tool):
    """A bending fork in the vice, or a fork and wrench."""

    thickest: Length = Field(40.0, description="thickest bar, hot")
    cold: Length = Field(13.0, description="thickest bar bent cold by hand")


class Horn(Tool):
    """The horn of the anvil."""

    thickest: Length = Field(40.0, description="thickest bar")
    tightest: LengthOrZero = Field(12.0, description="least inside radius")
    widest: Length = Field(90.0, description="most inside radius")


class Press(Tool):
    """A hydraulic press with dies: bars hot, or cold in a shop that bends all cold; pipe cold, filled."""

    thinnest: LengthOrZero = Field(13.0, description="thinnest bar or pipe, outside")
    thickest: Length = Field(160.0, description="thickest bar or pipe, outside")
    tightest: LengthOrZero = Field(20.0, description="least inside radius")
    widest: Length = Field(20_000.0, description="most inside radius")


class Rolls(Tool):
    """Three-roll bending of bar and pipe, cold."""

    have: bool = Field(False, description="whether the shop has it")
    thickest: Length = Field(60.0, description="thickest bar or pipe, outside")
    tightest: LengthOrZero = Field(150.0, description="least inside radius")
    widest: Length = Field(20_000.0, description="most inside radius")


class Tools(Section):
    """What the shop bends with. Pipe is bent in the press or in rolls alone: over a horn it kinks."""

    fork: Fork = Field(default_factory=Fork, description="bending fork in the vice")
    horn: Horn = Field(default_factory=Horn, description="horn of the anvil")
    press: Press = Field(default_factory=Press, description="hydraulic press")
    rolls: Rolls = Field(default_factory=Rolls, description="bending rolls")


class Offcut(Section):
    """A length of bar already in the rack."""

    bar: BarSize = Field(description="diameter")
    length: BarLength = Field(description="length")
    count: Count = Field(1, description="how many")


class OnSale(Section):
    """How one size of bar is sold."""

    bar: BarSize = Field(description="diameter of the bar, or outside of the pipe")
    lengths: tuple[BarLength, ...] = Field(
        (), description="lengths on sale", json_schema_extra={"usual": "shop.buying.lengths"}
    )
    cut_to_length: bool = Field(False, description="whether the dealer saws each piece to its length")


class Buying(Section):
    """What bars are bought, and what the rack holds."""

    lengths: tuple[BarLength, ...] = Field(
        (), description="lengths of bar on sale", json_schema_extra={"usual": "shop.bar_length"}
    )
    sizes: tuple[OnSale, ...] = Field((), description="sizes that are sold otherwise")
    least_rest: Rest = Field(300.0, description="the shortest rest worth keeping in the rack")
    end_trim: Rest = Field(10.0, description="cut off each bar as bought, whose ends are out of square or bent")
    spare_share: Spare = Field(0.0, description="spare bars of each size, as a share of those planned, rounded up")
    spare_bars: Spares = Field(0, description="spare bars of each size, at least")
    rack: tuple[Offcut, ...] = Field((), description="off-cuts in the rack, used before a bar is bought")
    steel_price: Price | None = Field(None, description="price of bar, a kilogram")
    leaf_price: Price | None = Field(None, description="price of leaf metal, a kilogram")
    currency: Name = Field("USD", description="currency of all prices")


class Joining(Section):
    """How members of each rank are joined to their parent, and what thick members are made of."""

    limb: Join = Field("weld", description="how a limb is joined to the trunk")
    branch: Join = Field("weld", description="how a branch is joined")
    branchlet: Join = Field("weld", description="how a branchlet is joined")
    twig: Join = Field("weld", description="how a twig is joined")
    trunk_rods: Rods = Field(1, description="rods bundled into the trunk; 1 is one bar")
    limb_rods: Rods = Field(1, description="rods bundled into each limb; 1 is one bar")


class Transport(Section):
    """What the pieces have to fit: truck, door and hook."""

    length: Length = Field(6000.0, description="inside length of the truck's body")
    width: Length = Field(2400.0, description="inside width of the truck's body")
    height: Length = Field(2400.0, description="inside height of the truck's body")
    lift: Load = Field(1000.0, description="heaviest section that can be lifted")
    door_width: Length | None = Field(None, description="width of the narrowest door on the way")
    door_height: Length | None = Field(None, description="height of that door")
    legs: Annotated[int, Field(strict=True, ge=2, le=4)] = Field(
        3, description="most legs of the sling; no more than three are counted on"
    )
    sling_angle: SlingAngle = Field(60.0, description="angle of the sling's legs from level, not under 30 deg")
    splice: Literal["sleeve", "flange"] = Field("sleeve", description="how sections are joined on site")
    least_splice: BarSize = Field(
        19.05,
        description="thinnest member that may be spliced",
        json_schema_extra={"usual": "by units: 3/4 in, or 20 mm"},
    )
    foot_width: LengthOrZero | None = Field(
        None,
        description="width of the base plate that the trunk stands on",
        json_schema_extra={"usual": "what the anchors of the strength report need, else five trunks"},
    )

    @model_validator(mode="after")
    def _door_has_both_sides(self) -> Self:
        if (self.door_width is None) != (self.door_height is None):
            key = "door_height" if self.door_height is None else "door_width"
            raise BrokenRule(key, "must be given too where the other side of the door is")
        return self


class Crew(Section):
    """Hands, hours and what they cost."""

    people: Count = Field(2, description="people in the shop")
    hours_a_week: Hours = Field(35.0, description="hours that each works at it in a week")
    rates: Name | None = Field(None, description="file of hours by operation, in place of armature/data/rates.toml")
    hour_price: Price | None = Field(None, description="price of an hour")
    spare: Spare = Field(0.15, description="share added to hours and cost for what goes wrong")


class Printing(Section):
    """The paper that cards and templates are printed on."""

    page: Literal["by units", "A4", "Letter"] = Field(
        "by units", description="page size; by units: Letter for inch, else A4"
    )
    templates: Literal["all", "bent", "thick"] = Field(
        "bent",
        description="members drawn full size; bent: none that is straight, no branchlet or twig of one bend; "
        "thick: trunk, limbs and branches alone",
    )
