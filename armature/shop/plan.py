"""The whole shop plan of one tree: everything that the papers print, each part computed when it is first asked for.

Size letters: M members, B bends. Lengths are mm, angles degrees, masses kg.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from armature.answer import Revision
from armature.metals import BasePlate, base_plate, grade
from armature.shop.access import WeldOrder, weld_order
from armature.shop.anvil import Strays
from armature.shop.bars import BarPlan, Offcut, SizeOnSale, Yard, bar_plan
from armature.shop.bending import Forge, Paper, chalk_clocks, methods, paper_for
from armature.shop.boxes import Limits
from armature.shop.card_numbers import Written, written
from armature.shop.chalk import Floor, on_floor
from armature.shop.counting import counted
from armature.shop.cutting import SolidEnds, cut_lengths, joining_allowances, solid_ends
from armature.shop.erecting import Stage, erected
from armature.shop.estimate import Estimate, estimate
from armature.shop.faults import bar_faults, forge_faults, site_faults, weld_faults
from armature.shop.footing import Base, base
from armature.shop.gauging import bend_gauges, calipers
from armature.shop.hooks import Lift, lift
from armature.shop.labour import Counts, Labour, LeafWork, Rate, labour, read_rates
from armature.shop.looping import Loops, loops
from armature.shop.measuring import CheckDimensions, check_dimensions
from armature.shop.posing import Poses, poses
from armature.shop.preparing import Preparations, preparations
from armature.shop.sections import SectionPlan, section_plan
from armature.shop.splices import SiteJoint, site_joints
from armature.shop.stocklist import Sawing, SplitBar, bundled, rod_counts, sawing, split_bars, stock_pieces
from armature.shop.touching import Clash, clashes
from armature.shop.trucks import Truckload, other_trucks
from armature.shop.truth import Truth, simulated
from armature.shop.welds import Welds, welds
from armature.tree import (
    BendList,
    Demands,
    Floats,
    Ints,
    Joints,
    Strings,
    Tree,
    bend_list,
    forged_masses,
    heels,
    joints,
)

if TYPE_CHECKING:
    from armature.commission import Commission


# How often the whole skin is gone over: primer and two coats, one over zinc less, oil or wax on bare steel.
_COATS = {"bare": 1, "painted": 3, "galvanised": 0, "galvanised and painted": 2}


@dataclass(frozen=True, eq=False)
class ShopPlan:
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
    def limits(self) -> Limits:
        """Truck, door and hook."""
        return Limits.of(self.commission.shop.transport)

    @cached_property
    def joints(self) -> Joints:
        """Where each member is welded on."""
        return joints(self.tree)

    @cached_property
    def written(self) -> Written:
        """What the cards print: whole steps, rounded so that errors cancel."""
        return written(self.tree, self.joints, self.bends, self.clocks, self.paper)

    @cached_property
    def heel_marks(self) -> Floats:
        """How far behind START the steel reaches, as it is printed: (M,) mm, up to the next step."""
        return np.asarray(np.ceil(self.heels / self.paper.length_mm - 0.05) * self.paper.length_mm)

    @cached_property
    def sawn_to(self) -> Floats:
        """What is sawn of each member, or of each of its rods, as it is printed: (M,) mm, up to the next step."""
        step = self.paper.length_mm
        return np.asarray(np.ceil(np.round(self.cut / step, 6)) * step)

    @cached_property
    def bend_gauges(self) -> tuple[Floats, Floats, Floats]:
        """Of each bend, (B,) mm: inside radius, clock as a length round the skin, what one degree moves the tip."""
        return bend_gauges(self.tree, self.bends, self.written)

    @cached_property
    def draw_to(self) -> Floats:
        """What lies on the anvil when a bar is drawn, heel and all: (M,) mm."""
        return self.written.lengths + self.heel_marks

    @cached_property
    def bends(self) -> BendList:
        """All bends, exact."""
        return bend_list(self.tree.chains)

    @cached_property
    def clocks(self) -> Floats:
        """Where each bend goes, from the chalk line: (B,) deg."""
        return chalk_clocks(self.bends)

    @cached_property
    def forge(self) -> Forge:
        """What the forge can bend."""
        return Forge.of(self.commission)

    @cached_property
    def methods(self) -> Ints:
        """How each bend is made: (B,) index into METHODS."""
        return methods(self.tree, self.bends, self.forge)

    @cached_property
    def loops(self) -> Loops:
        """The loops of the leaves."""
        leaf = self.commission.leaves
        return loops(self.tree, self.joints, leaf.wire, leaf.loop, leaf.hang.isolation)

    @cached_property
    def cut(self) -> Floats:
        """Stock of each member, of one rod where it is a bundle, and of a pipe up to where its bore closes: (M,) mm."""
        tree, shop = self.tree, self.commission.shop
        added = shop.weld_allowance + joining_allowances(tree, self.commission, self.joints)
        single = cut_lengths(tree, self.commission, self.joints)
        return bundled(single, tree.lengths, self.heels, self._rods, shop.scale_loss, added)

    @cached_property
    def ends(self) -> SolidEnds:
        """The solid ends of pipes whose bore closes."""
        return solid_ends(self.tree, self.commission)

    @cached_property
    def heels(self) -> Floats:
        """What the saddle of each member reaches behind its start: (M,) mm."""
        tree, listed = self.tree, self.joints
        return heels(tree.start_diameters, listed.parent_diameters, listed.leans, tree.setbacks)

    @cached_property
    def welds(self) -> Welds:
        """How each member is welded on."""
        return welds(self.tree, self.kinds, self.paper, self.asked)

    @cached_property
    def masses(self) -> Floats:
        """Mass of each member as forged: (M,) kg."""
        return forged_masses(self.tree, self.commission.steel.density)

    @cached_property
    def kinds(self) -> Strings:
        """How each member is joined: (M,), "base" for the trunk."""
        joining = self.commission.shop.joining
        kinds = ["base", joining.limb, joining.branch, joining.branchlet, joining.twig, "weld"]
        return np.array(kinds)[self.tree.ranks]

    @cached_property
    def sawn(self) -> Sawing:
        """The pieces of stock for each member."""
        shop = self.commission.shop
        longest = np.array([self.yard.longest(d) for d in self.tree.stock_diameters.tolist()])
        return sawing(self.tree, self.cut, self._rods, self.commission.steel.bars, longest, shop.scarf_factor)

    @cached_property
    def checks(self) -> CheckDimensions:
        """What to measure before a joint is welded out."""
        return check_dimensions(self.tree)

    @cached_property
    def poses(self) -> Poses:
        """What tape and plumb line read when a member is held to its place."""
        return poses(self.tree, self.weld_sequence, self.sections, self.on_site, self.commission.units)

    @cached_property
    def preparations(self) -> Preparations:
        """How each end is prepared and welded."""
        tree, weld = self.tree, self.welding
        thin = np.where(tree.walls > 0.0, tree.walls, tree.start_diameters)
        parents = np.maximum(tree.parents, 0)
        beside = np.where(tree.parents >= 0, thin[parents], self.foot.thickness_mm)
        beside = np.where(tree.walls[parents] > 0.0, beside, np.maximum(beside, self.joints.parent_diameters))
        leans = np.where(tree.parents >= 0, self.joints.leans, 90.0)
        reached = np.where(tree.parents >= 0, np.where(self.on_site, weld.late, weld.reached), 8)
        heels = None if self.asked is None else self.asked.heel_uses
        thickest = np.maximum(thin, beside)
        # Stainless steel is not preheated: it takes the least of the table.
        warmed = np.zeros(len(tree)) if grade(self.commission.steel.grade).is_stainless else thickest
        return preparations(self.welds.grooves, thin, leans, reached, warmed, heels)

    @cached_property
    def splits(self) -> tuple[SplitBar, ...]:
        """Members better made of two bars."""
        return tuple(split_bars(self.tree, self.commission.steel.bars))

    @cached_property
    def bars(self) -> BarPlan:
        """What to buy and how to saw it."""
        pieces = stock_pieces(self.sawn, self.ends)
        wanted = np.array([tag.partition(".")[0] not in self.made for tag in pieces.tags.tolist()], dtype=bool)
        return bar_plan(pieces.taken(np.flatnonzero(wanted)), self.yard)

    @cached_property
    def yard(self) -> Yard:
        """How bars are bought and sawn."""
        shop = self.commission.shop
        rack = tuple(Offcut(piece.bar, piece.length, count=piece.count) for piece in shop.buying.rack)
        sizes = tuple(
            SizeOnSale(each.bar, each.lengths or self._lengths_on_sale, each.cut_to_length)
            for each in shop.buying.sizes
        )
        return Yard(
            self._lengths_on_sale,
            shop.kerf,
            self.paper.length_mm,
            shop.buying.least_rest,
            rack,
            self.commission.steel.density,
            shop.buying.end_trim,
            shop.buying.spare_share,
            shop.buying.spare_bars,
            sizes,
        )

    @cached_property
    def welding(self) -> WeldOrder:
        """An order of welding in which a torch reaches every joint."""
        return weld_order(self.tree)

    @cached_property
    def truth(self) -> Truth:
        """How far rounding and a real anvil move the tips."""
        return self._simulated[0]

    @cached_property
    def clashes(self) -> tuple[Clash, ...]:
        """Members that may touch when the tree is built by a real shop."""
        fitted = self._simulated[1]
        if fitted is None:
            return ()
        sway = None if self.asked is None else self.asked.sways
        return tuple(clashes(self.tree, fitted, sway, self.commission.seed))

    @cached_property
    def sections(self) -> SectionPlan:
        """What travels as one piece, in order of erection."""
        return self._erected[0]

    @cached_property
    def stages(self) -> tuple[Stage, ...]:
        """The order of erection."""
        return self._erected[1]

    @cached_property
    def site_joints(self) -> tuple[SiteJoint | None, ...]:
        """The joint of each section on site, None for the first."""
        made_as = self.commission.shop.transport.splice
        return site_joints(self.tree, self.sections, made_as, self._yields, self.asked, self.commission.units)

    @cached_property
    def trucks(self) -> tuple[Truckload, ...]:
        """How many sections other trucks would need."""
        least = self.commission.shop.transport.least_splice
        return other_trucks(self.tree, self.sections, self.limits, self.commission.steel.density, least, self.foot)

    @cached_property
    def lifts(self) -> tuple[Lift, ...]:
        """How each section is lifted."""
        way, tree = self.commission.shop.transport, self.tree
        return tuple(
            lift(tree, section, self._yields, way.sling_angle, way.legs, self.limits)
            for section in self.sections.sections
        )

    @cached_property
    def counts(self) -> Counts:
        """What the job asks of the crew."""
        counts = counted(
            self.tree,
            self.bends,
            self.kinds,
            self.welds,
            self.sawn,
            self.masses,
            self.sections,
            self.site_joints,
            self.leaf_work,
            self.base,
            _COATS[self.commission.site.coat or "bare"],
        )
        return counts.without(self.exists) if self.made else counts

    @cached_property
    def rates(self) -> dict[str, Rate]:
        """Hours by operation; raises an ArmatureError for a rates file that cannot be used."""
        named = self.commission.shop.crew.rates
        return read_rates(None if named is None else self.commission.file(named))

    @cached_property
    def labour(self) -> Labour:
        """Hours and weeks."""
        return labour(self.tree, self.counts, self.rates, self.commission.shop.crew)

    @cached_property
    def estimate(self) -> Estimate:
        """What the job costs."""
        shop = self.commission.shop
        return estimate(
            sum(size.mass_kg for size in self.bars.sizes),
            self.base.plate.side_mm**2 * self.base.plate.thickness_mm * self.commission.steel.density * 1e-9,
            self.leaf_work.sheet_kg if self.leaf_work else 0.0,
            sum(one.hours for one in self.labour.works),
            shop.buying,
            shop.crew,
            float(self.welds.metal.sum()) * self.commission.steel.density * 1e-9,
        )

    @cached_property
    def faults(self) -> tuple[str, ...]:
        """What cannot be met, in words; the rest of the plan holds all the same."""
        tree = self.tree
        bought = bar_faults(tree, self.commission, self.bars, self.ends)
        forged = (*forge_faults(tree, self.forge, self.commission.units), *weld_faults(tree, self.preparations))
        return (*forged, *bought, *site_faults(self.sections, self.lifts))

    def __repr__(self) -> str:
        bars, faults = len(self.bars.bars), len(self.faults)
        says = f"{faults} fault{'s' * (faults != 1)}" if faults else "no faults"
        size = f"{len(self.tree)} members, {len(self.methods)} bends, {self.masses.sum():.0f} kg as forged"
        return f"ShopPlan: {size}; {bars} bars to saw, {len(self.sections.sections)} sections to carry, {says}"

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
    def _profiles(self) -> dict[int, tuple[Floats, Floats]]:
        return {}

    def calipers(self, row: int) -> list[tuple[float, float]]:
        """Return stations from START and what the caliper reads there, mm; one where a bar has no taper."""
        if row not in self._calipers:
            self._calipers[row] = calipers(self.tree, row, self.paper.length_mm)
        return self._calipers[row]

    @cached_property
    def _calipers(self) -> dict[int, list[tuple[float, float]]]:
        return {}

    def bend_rows(self, row: int) -> Ints:
        """Return the places of a row in the bend list, in order."""
        first, last = np.searchsorted(self.bends.members, [row, row + 1])
        return np.arange(first, last)

    @cached_property
    def weld_sequence(self) -> Ints:
        """Rows in the order in which the crew welds, (M,): section by section in the shop, then on site."""
        order, section = self.welding.order, self.sections.of_member
        return order[np.lexsort((section[order], self.on_site[order]))]

    @cached_property
    def weld_numbers(self) -> Ints:
        """When each member is welded, (M,) by row: 0 the first, the trunk."""
        return np.argsort(self.weld_sequence)

    @cached_property
    def on_site(self) -> NDArray[np.bool_]:
        """Whether each member is welded on site, because a section begins at its joint: (M,)."""
        at_site = np.zeros(len(self.tree), dtype=bool)
        at_site[[each.splice.row for each in self.sections.sections if each.splice and each.splice.at_joint]] = True
        return at_site

    @cached_property
    def floor(self) -> Floor:
        """All members as they lie on the floor."""
        return on_floor(self.tree.chains)

    @cached_property
    def _families(self) -> tuple[Ints, Ints]:
        """All children by parent and station, and where each parent's begin."""
        tree = self.tree
        order = np.lexsort((tree.stations, tree.parents))
        return order, np.searchsorted(tree.parents[order], np.arange(len(tree) + 1))

    @cached_property
    def _rods(self) -> Ints:
        joining = self.commission.shop.joining
        return rod_counts(self.tree, joining.trunk_rods, joining.limb_rods)

    @property
    def _lengths_on_sale(self) -> tuple[float, ...]:
        shop = self.commission.shop
        return shop.buying.lengths or (shop.bar_length,)

    @cached_property
    def _yields(self) -> Floats:
        thick = np.where(self.tree.walls > 0.0, self.tree.walls, self.tree.stock_diameters)
        return grade(self.commission.steel.grade).yield_mpa(thick)

    @cached_property
    def _erected(self) -> tuple[SectionPlan, tuple[Stage, ...]]:
        least = self.commission.shop.transport.least_splice
        parted = section_plan(
            self.tree, self.limits, self.commission.steel.density, least, self.foot, self.commission.units
        )
        return erected(parted, self.foot.side_mm)

    @cached_property
    def _simulated(self) -> tuple[Truth, Strays | None]:
        return simulated(self.tree, self.commission.shop.anvil, self.commission.seed, self.written.strays)


def shop_plan(
    tree: Tree,
    commission: Commission,
    asked: Demands | None = None,
    leaf_work: LeafWork | None = None,
    made: Collection[str] = (),
    revisions: Mapping[str, Revision] | None = None,
) -> ShopPlan:
    """Return the plan. asked: what strength asks; without it the papers say that their fillets are the table's least.
    made: tags of members that exist, which are neither bought, sawn, drawn nor bent again. revisions: the latest of
    each card that has changed.

    What cannot be met is listed in `faults`, in words; the rest of the plan holds all the same. Raises an ArmatureError
    for a rates file that cannot be used.
    """
    plan = ShopPlan(tree, commission, asked, leaf_work, frozenset(made), revisions or {})
    # A rates file that is wrong must be told before anything is written.
    _ = plan.rates
    return plan
