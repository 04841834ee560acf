"""Growth: exact counts, and how members of each rank leave their parent and run."""

from __future__ import annotations

from itertools import pairwise
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from armature.commission.quantities import BrokenRule, Count, CountOrZero, Quantity
from armature.commission.section import Section

Insertion = Annotated[float, Quantity("angle", least=20.0, most=95.0)]
TwigInsertion = Annotated[float, Quantity("angle", least=20.0, most=115.0)]
Spread = Annotated[float, Quantity("angle", least=0.0, most=60.0)]
Sinuosity = Annotated[float, Field(strict=True, ge=1.0, le=1.6)]
Bends = Annotated[int, Field(strict=True, ge=0, le=12)]
Exponent = Annotated[float, Field(strict=True, ge=1.2, le=4.0)]
Swelling = Annotated[float, Field(strict=True, ge=0.0, le=0.8)]
Clearance = Annotated[float, Quantity("length", above=0.0, most=500.0)]

_ANGLE = "mean angle between the member and its parent's axis"
_ANGLE_SD = "standard deviation of that angle from member to member"
_PATH = "length of path over its chord, mean"
_BENDS = "most bends in one member"


class Limb(Section):
    """How limbs leave the trunk."""

    insertion_angle: Insertion = Field(45.0, description=_ANGLE)
    insertion_angle_sd: Spread = Field(14.0, description=_ANGLE_SD)
    sinuosity: Sinuosity = Field(1.06, description=_PATH)
    bends: Bends = Field(6, description=_BENDS)


class Branch(Section):
    """How branches leave their limb."""

    insertion_angle: Insertion = Field(54.0, description=_ANGLE)
    insertion_angle_sd: Spread = Field(38.0, description=_ANGLE_SD)
    sinuosity: Sinuosity = Field(1.08, description=_PATH)
    bends: Bends = Field(5, description=_BENDS)


class Branchlet(Section):
    """How branchlets leave their branch."""

    insertion_angle: Insertion = Field(58.0, description=_ANGLE)
    insertion_angle_sd: Spread = Field(26.0, description=_ANGLE_SD)
    sinuosity: Sinuosity = Field(1.07, description=_PATH)
    bends: Bends = Field(4, description=_BENDS)


class Twig(Section):
    """How twigs leave their branch or branchlet."""

    insertion_angle: TwigInsertion = Field(60.0, description=_ANGLE)
    insertion_angle_sd: Spread = Field(29.0, description=_ANGLE_SD)
    sinuosity: Sinuosity = Field(1.06, description=_PATH)
    bends: Bends = Field(3, description=_BENDS)
    forks: CountOrZero = Field(0, description="twigs that fork off another twig, of all twigs, exactly")


class Growth(Section):
    """Counts by rank, exact, and the rules of growing."""

    limbs: Annotated[Count, Field(le=200)] = Field(description="limbs on the trunk, exactly")
    branches: Count = Field(description="branches on all limbs, exactly; no fewer than limbs")
    branchlets: CountOrZero = Field(
        0, description="branchlets between branch and twig, exactly; 0 for none, else no fewer than branches"
    )
    twigs: Count = Field(description="twigs in all, exactly; no fewer than the rank that carries them")
    stem: Literal["post", "leader"] = Field(
        "leader",
        description="leader: the trunk's own bar runs on to the top, stepping down where each limb leaves, and bears"
        " branches of its own. post: the trunk ends where its topmost limbs part",
    )
    roots: Annotated[CountOrZero, Field(le=12)] = Field(
        0, description="forged roots from the trunk's foot onto the ground, exactly; 0 for none"
    )
    swelling: Swelling = Field(
        0.0,
        description="how much the feet of limbs, branches and roots swell where they leave, as a share of the bar",
    )
    pipe_exponent: Exponent = Field(
        2.2, description="n of the pipe rule dⁿ = Σ dᵢⁿ between a parent and its children; lower makes a thicker trunk"
    )
    clearance: Clearance = Field(6.0, description="least gap between any two members that are not joined")
    limb: Limb = Field(default_factory=Limb, description="how limbs leave the trunk")
    branch: Branch = Field(default_factory=Branch, description="how branches leave their limb")
    branchlet: Branchlet = Field(default_factory=Branchlet, description="how branchlets leave their branch")
    twig: Twig = Field(default_factory=Twig, description="how twigs leave their branch or branchlet")

    @model_validator(mode="after")
    def _ranks_widen(self) -> Self:
        names = ["limbs", "branches", "branchlets", "twigs"] if self.branchlets else ["limbs", "branches", "twigs"]
        for lower, upper in pairwise(names):
            few, many = getattr(self, lower), getattr(self, upper)
            if many < few:
                raise BrokenRule(upper, f"must be no fewer than {lower}: each of the {few} {lower} carries one", many)
        most = (self.twigs - (self.branchlets or self.branches)) // 2
        if self.twig.forks > most:
            raise BrokenRule(
                "twig.forks", f"must be at most {most}: every other twig of a branch may fork", self.twig.forks
            )
        return self
