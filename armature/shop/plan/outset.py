"""What a shop plan starts from: tree and commission, and what follows from them at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from armature.answer import Revision
from armature.metals import BasePlate, base_plate, grade
from armature.shop.bending import Forge, Paper, paper_for
from armature.shop.boxes import Limits
from armature.shop.footing import Base, base
from armature.shop.labour import LeafWork
from armature.shop.stocklist import rod_counts
from armature.tree import Demands, Floats, Ints, Joints, Strings, Tree, forged_masses, heels, joints

if TYPE_CHECKING:
    from armature.commission import Commission


@dataclass(frozen=True, eq=False)
class Outset:
    """All that the shop's papers need, from a tree, its commission, what strength asks and what leaves ask.

    asked: None where strength was not worked out. leaf_work: sheet to buy and what is cut from it, where plates are
    laid. made: tags of members that exist: neither bought, sawn, drawn nor bent again. revisions: the latest of each
    card that has changed, by tag. Arrays are by member (M,) unless they say else.
    """

    tree: Tree
    commission: Commission
    asked: Demands | None = None
    leaf_work: LeafWork | None = None
    made: frozenset[str] = frozenset()
    revisions: Mapping[str, Revision] = field(default_factory=dict)

    @property
    def title(self) -> str:
        """Name of the piece."""
        return self.commission.title

    @cached_property
    def exists(self) -> NDArray[np.bool_]:
        """Which members are made already: (M,)."""
        return np.array([tag in self.made for tag in self.tree.tags.tolist()], dtype=bool)

    @cached_property
    def paper(self) -> Paper:
        """How the shop's numbers are rounded on paper."""
        return paper_for(self.commission.units)

    @property
    def page(self) -> str:
        """Name of the paper that cards are printed on."""
        page = self.commission.shop.printing.page
        return page if page != "by units" else ("Letter" if self.commission.units == "inch" else "A4")

    @property
    def templates(self) -> str:
        """Which members are drawn full size: "all", "bent" or "thick"."""
        return self.commission.shop.printing.templates

    @cached_property
    def forge(self) -> Forge:
        """What the forge can bend."""
        return Forge.of(self.commission)

    @cached_property
    def limits(self) -> Limits:
        """Truck, door and hook."""
        return Limits.of(self.commission.shop.transport)

    @cached_property
    def foot(self) -> BasePlate:
        """The plate that the trunk stands on."""
        rods = None if self.asked is None else self.asked.rods
        needed = None if rods is None else (rods.plate_side_mm, rods.plate_thickness_mm)
        width = self.commission.shop.transport.foot_width
        return base_plate(float(self.tree.start_diameters[0]), self.commission.units, width, needed)

    @cached_property
    def base(self) -> Base:
        """The base plate as it is cut and drilled, and its anchors."""
        rods = None if self.asked is None else self.asked.rods
        return base(self.foot, rods, self.commission.steel.density, self.commission.units)

    @cached_property
    def joints(self) -> Joints:
        """Where each member is welded on."""
        return joints(self.tree)

    @cached_property
    def kinds(self) -> Strings:
        """How each member is joined: (M,), "base" for the trunk."""
        joining = self.commission.shop.joining
        kinds = ["base", joining.limb, joining.branch, joining.branchlet, joining.twig, "weld"]
        return np.array(kinds)[self.tree.ranks]

    @cached_property
    def heels(self) -> Floats:
        """What the saddle of each member reaches behind its start: (M,) mm."""
        tree, listed = self.tree, self.joints
        return heels(tree.start_diameters, listed.parent_diameters, listed.leans, tree.setbacks)

    @cached_property
    def masses(self) -> Floats:
        """Mass of each member as forged: (M,) kg."""
        return forged_masses(self.tree, self.commission.steel.density)

    def children(self, row: int) -> Ints:
        """Return the children of a row, in order of their stations."""
        order, starts = self._families
        return order[starts[row] : starts[row + 1]]

    def thickness(self, row: int, station: float) -> float:
        """Return the diameter of a bar at a station, mm: quick, for the many marks of a card."""
        if row not in self._profiles:
            tapers = self.tree.tapers
            own = tapers.stations[int(tapers.offsets[row]) : int(tapers.offsets[row + 1])]
            at = np.unique(np.append(own, [0.0, float(self.tree.lengths[row])]))
            self._profiles[row] = at, self.tree.diameters_at(np.full(len(at), row), at)
        return float(np.interp(station, *self._profiles[row]))

    @cached_property
    def _families(self) -> tuple[Ints, Ints]:
        """All children by parent and station, and where each parent's begin."""
        tree = self.tree
        order = np.lexsort((tree.stations, tree.parents))
        return order, np.searchsorted(tree.parents[order], np.arange(len(tree) + 1))

    @cached_property
    def _profiles(self) -> dict[int, tuple[Floats, Floats]]:
        return {}

    @cached_property
    def _rods(self) -> Ints:
        joining = self.commission.shop.joining
        return rod_counts(self.tree, joining.trunk_rods, joining.limb_rods)

    @cached_property
    def _yields(self) -> Floats:
        thick = np.where(self.tree.walls > 0.0, self.tree.walls, self.tree.stock_diameters)
        return grade(self.commission.steel.grade).yield_mpa(thick)
