"""The shop: allowances and limits of the forge."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Field, model_validator

from armature.commission.quantities import BrokenRule, Quantity
from armature.commission.section import Section
from armature.commission.workshop import Anvil, Buying, Crew, Joining, Printing, Tools, Transport

Loss = Annotated[float, Quantity("share", least=0.0, most=0.25)]
Allowance = Annotated[float, Quantity("length", least=0.0, most=500.0)]
BarLength = Annotated[float, Quantity("length", least=100.0, most=30_000.0)]
Factor = Annotated[float, Field(strict=True, ge=0.0, le=10.0)]
LeastBend = Annotated[float, Quantity("angle", least=1.0, most=45.0)]


def _usual_bend(data: dict[str, Any]) -> float:
    return 1.0 if data["bending"] == "hot" else 2.0


class Shop(Section):
    """What the forge adds to a length, and how tight it can bend. Defaults are common practice, no source."""

    scale_loss: Loss = Field(0.025, description="steel lost as scale in forging, added to the length of stock")
    weld_allowance: Allowance = Field(
        0.0, description="length added at the foot of each member for fitting and welding"
    )
    scarf_factor: Factor = Field(1.0, description="length added where two bars are scarfed into one, in bar diameters")
    kerf: Allowance = Field(3.0, description="width of the saw cut")
    bar_length: BarLength = Field(
        6096.0, description="length of bars as bought", json_schema_extra={"usual": "by units: 20 ft, or 6 m"}
    )
    bending: Literal["hot", "cold"] = Field("hot", description="how bends are made")
    bend_factor: Factor = Field(
        default_factory=_usual_bend,
        description="least inside radius of a bend, in bar diameters",
        json_schema_extra={"usual": "1 hot, 2 cold"},
    )
    least_bend: LeastBend = Field(5.0, description="no bend is smaller than this: it could not be set at the anvil")
    anvil: Anvil = Field(default_factory=Anvil, description="how true the shop works")
    tools: Tools = Field(default_factory=Tools, description="what the shop bends with")
    buying: Buying = Field(default_factory=Buying, description="what bars are bought")
    joining: Joining = Field(default_factory=Joining, description="how members are joined")
    transport: Transport = Field(default_factory=Transport, description="truck, door and hook")
    crew: Crew = Field(default_factory=Crew, description="hands and hours")
    printing: Printing = Field(default_factory=Printing, description="paper")

    @model_validator(mode="after")
    def _a_cut_leaves_a_bar(self) -> Self:
        shortest = min(self.buying.lengths or (self.bar_length,))
        if self.kerf + self.buying.end_trim >= shortest:
            rule = f"and buying.end_trim, {self.buying.end_trim:g} mm, must leave something of a bar of {shortest:g} mm"
            raise BrokenRule("kerf", rule, f"{self.kerf:g} mm")
        return self
