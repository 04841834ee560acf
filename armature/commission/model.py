"""The whole commission: one frozen record of its sections."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, PrivateAttr, field_validator, model_validator

from armature.commission.by_units import with_units
from armature.commission.canopy import Canopy
from armature.commission.given import Given
from armature.commission.growth import Growth
from armature.commission.leaves import Leaves
from armature.commission.pictures import Pictures
from armature.commission.section import Section
from armature.commission.shop import Shop
from armature.commission.site import Site
from armature.commission.steel import Steel
from armature.edge import CommissionError

Seed = Annotated[int, Field(strict=True, ge=0, le=2**63 - 1)]
Title = Annotated[str, Field(strict=True, min_length=1, max_length=200)]

_LEAVES_A_TWIG = 3


class Commission(Section):
    """A job as its commission file gives it, defaults filled in; lengths in mm, angles in degrees, speeds in m/s.

    Equality is that of the values: the folder the file was read from only tells where other files are looked for.
    """

    title: Title = Field(description="name of the piece")
    seed: Seed = Field(1, description="which of the endless trees of this commission is grown")
    units: Literal["inch", "mm"] = Field("mm", description="what the shop reads on paper")
    canopy: Canopy = Field(description="form and size of the crown")
    growth: Growth = Field(description="counts by rank, and the rules of growing")
    given: Given = Field(default_factory=Given, description="steel that exists before anything is planned")
    steel: Steel = Field(default_factory=Steel, description="what the members are forged from")
    leaves: Leaves = Field(description="the sheet-metal leaves")
    site: Site = Field(default_factory=Site, description="the wind and weather that the tree has to stand in")
    shop: Shop = Field(default_factory=Shop, description="allowances and limits of the forge")
    pictures: Pictures = Field(default_factory=Pictures, description="how the tree is shown")

    _folder: Path = PrivateAttr(default_factory=Path)
    _source: str = PrivateAttr("commission")

    @property
    def folder(self) -> Path:
        """Folder that file names in the commission are relative to."""
        return self._folder

    @property
    def source(self) -> str:
        """File that the commission was read from, as errors name it; `commission` where it was none."""
        return self._source

    def file(self, name: str) -> Path:
        """Return the path of a file that the commission names.

        Raises CommissionError where it does not lie below the commission's folder: a commission comes from anywhere,
        and must not have any file of the machine read.
        """
        if rule := self.outside(name):
            raise CommissionError(self._source, rule, name)
        return self._folder / name

    def outside(self, name: str) -> str:
        """Return the rule that a file's name breaks by leading out of the commission's folder, nothing where none."""
        try:
            below = (self._folder / name).resolve().is_relative_to(self._folder.resolve())
        except (OSError, ValueError, RuntimeError):
            return ""  # no path at all: told where it is opened
        return "" if below else "files must lie below the commission's folder, or below the one that --files-from names"

    def __repr__(self) -> str:
        growth = self.growth
        ranks = ("limbs", "branches", "branchlets", "twigs")
        counts = [f"{getattr(growth, rank)} {rank}" for rank in ranks if getattr(growth, rank)]
        size = f"{self.canopy.habit}, {self.canopy.height / 1000:g} m high"
        return f"Commission {self.title!r}: {size}; {', '.join(counts)}, {self.leaves.count} leaves; seed {self.seed}"

    def __str__(self) -> str:
        return repr(self)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Commission) and self.__dict__ == other.__dict__

    def __hash__(self) -> int:
        return hash(tuple(self.__dict__.values()))

    @field_validator("title")
    @classmethod
    def _one_line(cls, title: str) -> str:
        if not title.strip() or not title.isprintable():
            raise ValueError("must be one line of text")
        return title.strip()

    @model_validator(mode="before")
    @classmethod
    def _stock_follows_units(cls, given: Any) -> Any:
        """A shop that reads millimetres buys metric stock where the commission names none."""
        return with_units(given) if isinstance(given, dict) else given

    @model_validator(mode="before")
    @classmethod
    def _leaves_follow_twigs(cls, given: Any) -> Any:
        """A commission that counts no leaves gets three a twig, so that the counts of steel alone are enough."""
        if not isinstance(given, dict) or not isinstance(given.get("growth"), dict):
            return given
        twigs, leaves = given["growth"].get("twigs"), given.get("leaves", {})
        if type(twigs) is not int or not isinstance(leaves, dict) or "count" in leaves:
            return given
        return given | {"leaves": leaves | {"count": _LEAVES_A_TWIG * max(twigs, 0)}}
