"""The whole shop plan of one tree: everything that the papers print, computed once.

Size letters: M members, B bends. Lengths are mm, angles degrees, masses kg.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from armature.base_plate import BasePlate, base_plate
from armature.centreline import BendList, Floats, Ints, bend_list
from armature.cutting import SolidEnds, cut_lengths, forged_masses, heels, joining_allowances, solid_ends
from armature.joints import Joints, joints
from armature.shop.access import WeldOrder, weld_order
from armature.shop.anvil import Tolerances, paper_strays, strays
from armature.shop.bars import BarPlan, Offcut, Yard, bar_plan
from armature.shop.bending import (
    Forge,
    Paper,
    bend_faults,
    bends_on_paper,
    chalk_clocks,
    joints_on_paper,
    methods,
    paper_for,
)
from armature.shop.boxes import Limits
from armature.shop.chalk import Floor, on_floor
from armature.shop.clashes import Clash, clashes
from armature.shop.counting import counted
from armature.shop.erecting import Stage, erected
from armature.shop.estimate import Estimate, Prices, estimate
from armature.shop.hooks import Lift, lift
from armature.shop.labour import Labour, LeafWork, labour, read_rates
from armature.shop.looping import Loops, loops
from armature.shop.measuring import CheckDimensions, check_dimensions
from armature.shop.sections import SectionPlan, section_plan
from armature.shop.splices import Forces, SiteJoint, site_joints
from armature.shop.stocklist import Sawing, SplitBar, bundled, rod_counts, sawing, split_bars, stock_pieces
from armature.shop.trucks import Truckload, other_trucks
from armature.shop.welds import Welds, welds
from armature.stock import grade
from armature.tree import Strings, Tree

if TYPE_CHECKING:
    from armature.commission import Commission


@dataclass(frozen=True, eq=False)
class Truth:
    """How far tips stray, (M,) mm: by rounding on paper; over copies, half and 95 of 100, by numbers and fitted."""

    paper: Floats
    half: Floats
    most: Floats
    fitted_half: Floats
    fitted_most: Floats
    copies: int


@dataclass(frozen=True, eq=False)
class ShopPlan:
    """All that the shop's papers need. Arrays are by member (M,) unless they say else; `methods` is by bend (B,).

    kinds: how each member is joined. sawn: the pieces of stock for it. cut: stock, of one
    rod where it is a bundle, and of a pipe up to where its bore closes, where its one of `ends` goes on. heels: what
    its saddle reaches behind its start. masses: as forged. clocks (B,): where bends go, from the chalk line.
    templates: which members are drawn full size, "all", "bent" or "thick".
    """

    tree: Tree
    title: str
    paper: Paper
    page: str
    templates: str
    foot: BasePlate
    limits: Limits
    joints: Joints
    bends: BendList
    clocks: Floats
    methods: Ints
    loops: Loops
    cut: Floats
    ends: SolidEnds
    heels: Floats
    welds: Welds
    masses: Floats
    kinds: Strings
    sawn: Sawing
    checks: CheckDimensions
    splits: tuple[SplitBar, ...]
    bars: BarPlan
    welding: WeldOrder
    truth: Truth
    clashes: tuple[Clash, ...]
    sections: SectionPlan
    site_joints: tuple[SiteJoint | None, ...]
    trucks: tuple[Truckload, ...]
    lifts: tuple[Lift, ...]
    stages: tuple[Stage, ...]
    labour: Labour
    estimate: Estimate
    faults: tuple[str, ...]

    def children(self, row: int) -> Ints:
        """Return the children of a row, in order of their stations."""
        order, starts = self._families
        return order[starts[row] : starts[row + 1]]

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
        found = np.zeros(len(self.tree), dtype=bool)
        found[[each.splice.row for each in self.sections.sections if each.splice and each.splice.at_joint]] = True
        return found

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


def shop_plan(
    tree: Tree,
    commission: Commission,
    sway: Floats | None = None,
    leaf_work: LeafWork | None = None,
    needed: tuple[Floats, NDArray[np.bool_]] | None = None,
    plate: tuple[float, float] | None = None,
    bending: tuple[Ints, Floats, Floats] | None = None,
) -> ShopPlan:
    """Return the plan. sway: (M,) mm, how far wind moves each tip, where it is known; leaf_work: sheet to
    buy and what is cut from it, where plates are laid.

    needed: what strength asks of the welds, fillet legs (M,) mm and where a groove has to be (M,), where it is known;
    without it the papers say that their fillets are only the least of the table. plate: side and thickness mm of the
    base plate that strength needs. bending: rows (Q,), stations (Q,) mm and the largest moments (Q,) N mm there. What
    cannot be met is listed in `faults`, in words; the rest of the plan holds all the same. Raises an ArmatureError for
    a rates file that cannot be used.
    """
    shop = commission.shop
    listed, bends, paper = joints(tree), bend_list(tree.chains), paper_for(commission.units)
    kinds = _kinds(tree, commission)
    heel = heels(tree.start_diameters, listed.parent_diameters, listed.leans, tree.setbacks)
    lengths = shop.buying.lengths or (shop.bar_length,)
    cut, sawn = _sawn(tree, commission, listed, heel, max(lengths) - shop.buying.end_trim)
    ends = solid_ends(tree, commission)
    bars = bar_plan(stock_pieces(sawn, ends), _yard(commission, lengths, paper))
    limits, transport = _limits(commission), shop.transport
    foot = base_plate(float(tree.start_diameters[0]), commission.units, transport.foot_width, plate)
    sections = section_plan(tree, limits, commission.steel.density, transport.least_splice)
    sections, stages = erected(sections, foot.side_mm)
    yields = grade(commission.steel.grade).yield_mpa(np.where(tree.walls > 0.0, tree.walls, tree.stock_diameters))
    lifts = tuple(
        lift(tree, section, yields, transport.sling_angle, transport.legs, limits) for section in sections.sections
    )
    forces = None if bending is None else Forces(*bending)
    made = site_joints(tree, sections, transport.splice, yields, forces)
    masses = forged_masses(tree, commission.steel.density)
    welded = welds(tree, kinds, paper, needed)
    truth, touching = _truth(tree, commission, listed, bends, paper, sway)
    counts = counted(tree, bends, kinds, welded, sawn, masses, sections, made, leaf_work)
    rates = read_rates(None if shop.crew.rates is None else commission.file(shop.crew.rates))
    work = labour(tree, counts, rates, shop.crew.people, shop.crew.hours_a_week, shop.crew.spare)
    prices = Prices(
        shop.buying.steel_price, shop.buying.leaf_price, shop.crew.hour_price, shop.crew.spare, shop.buying.currency
    )
    forge = _forge(commission)
    return ShopPlan(
        tree=tree,
        title=commission.title,
        paper=paper,
        page=_page(commission),
        templates=shop.printing.templates,
        foot=foot,
        limits=limits,
        joints=listed,
        bends=bends,
        clocks=chalk_clocks(bends),
        methods=methods(tree, bends, forge),
        loops=_loops(tree, commission, listed),
        cut=cut,
        ends=ends,
        heels=heel,
        welds=welded,
        masses=masses,
        kinds=kinds,
        sawn=sawn,
        checks=check_dimensions(tree),
        splits=tuple(split_bars(tree, commission.steel.bars)),
        bars=bars,
        welding=weld_order(tree),
        truth=truth,
        clashes=touching,
        sections=sections,
        site_joints=made,
        trucks=other_trucks(tree, sections, limits, commission.steel.density, transport.least_splice),
        lifts=lifts,
        stages=stages,
        labour=work,
        estimate=estimate(
            sum(size.mass_kg for size in bars.sizes),
            leaf_work.sheet_kg if leaf_work else 0.0,
            sum(one.hours for one in work.works),
            prices,
            float(welded.metal.sum()) * commission.steel.density * 1e-9,
        ),
        faults=_faults(tree, forge, bars, sections, lifts, ends, commission),
    )


def _loops(tree: Tree, commission: Commission, listed: Joints) -> Loops:
    leaf = commission.leaves
    return loops(tree, listed, leaf.wire, leaf.loop, leaf.hang.isolation)


def _kinds(tree: Tree, commission: Commission) -> Strings:
    joining = commission.shop.joining
    return np.array(["base", joining.limb, joining.branch, joining.branchlet, joining.twig])[tree.ranks]


def _sawn(tree: Tree, commission: Commission, listed: Joints, heel: Floats, longest: float) -> tuple[Floats, Sawing]:
    """Return the stock of each member, or of each of its rods, (M,) mm, and the pieces it is sawn into."""
    shop = commission.shop
    rods = rod_counts(tree, shop.joining.trunk_rods, shop.joining.limb_rods)
    added = shop.weld_allowance + joining_allowances(tree, commission, listed)
    cut = bundled(cut_lengths(tree, commission, listed), tree.lengths, heel, rods, shop.scale_loss, added)
    return cut, sawing(tree, cut, rods, commission.steel.bars, longest, shop.scarf_factor)


def _yard(commission: Commission, lengths: tuple[float, ...], paper: Paper) -> Yard:
    buying = commission.shop.buying
    rack = tuple(Offcut(cut.bar, cut.length, count=cut.count) for cut in buying.rack)
    return Yard(
        lengths,
        commission.shop.kerf,
        paper.length_mm,
        buying.least_rest,
        rack,
        commission.steel.density,
        buying.end_trim,
        buying.spare_share,
        buying.spare_bars,
    )


def _limits(commission: Commission) -> Limits:
    transport = commission.shop.transport
    door = None
    if transport.door_width is not None and transport.door_height is not None:
        door = (transport.door_width, transport.door_height)
    return Limits((transport.length, transport.width, transport.height), transport.lift, door)


def _forge(commission: Commission) -> Forge:
    growth, shop = commission.growth, commission.shop
    most = (12, growth.limb.bends, growth.branch.bends, growth.branchlet.bends, growth.twig.bends)
    return Forge(
        least_radius=shop.bend_factor,
        all_cold=shop.bending == "cold",
        least_deg=shop.least_bend,
        most_bends=most,
    )


def _page(commission: Commission) -> str:
    page = commission.shop.printing.page
    return page if page != "by units" else ("Letter" if commission.units == "inch" else "A4")


def _truth(
    tree: Tree, commission: Commission, listed: Joints, bends: BendList, paper: Paper, sway: Floats | None
) -> tuple[Truth, tuple[Clash, ...]]:
    anvil = commission.shop.anvil
    on_paper = paper_strays(tree, joints_on_paper(listed, paper), bends_on_paper(bends, tree.lengths, paper))
    none = np.zeros(len(tree))
    if not anvil.copies:
        return Truth(on_paper, none, none, none, none, 0), ()
    held = Tolerances(
        anvil.bend, anvil.turn, anvil.feed, anvil.station, anvil.clock, anvil.lean, anvil.roll, anvil.drawn
    )
    by_numbers = strays(tree, held, anvil.copies, commission.seed)
    fitted = strays(tree, Tolerances(**{**vars(held), "fit_mm": anvil.fit}), anvil.copies, commission.seed)
    truth = Truth(
        on_paper, by_numbers.within(0.5), by_numbers.within(0.95), fitted.within(0.5), fitted.within(0.95), anvil.copies
    )
    return truth, tuple(clashes(tree, fitted, sway, commission.seed))


def _faults(
    tree: Tree,
    forge: Forge,
    bars: BarPlan,
    sections: SectionPlan,
    lifts: tuple[Lift, ...],
    ends: SolidEnds,
    commission: Commission,
) -> tuple[str, ...]:
    found = [
        f"{fault.tag}, bend {fault.bend}: {fault.rule}, {fault.value:.1f} of {fault.limit:.1f}"
        for fault in bend_faults(tree, forge)
    ]
    found += [
        f"{tag} needs {length:.0f} mm in one piece: add a longer shop.buying.lengths" for tag, length in bars.too_long
    ]
    found += [
        f"{tree.tags[row]}: no bar on hand is as thick as its solid end, {thick:.0f} mm: it has to be upset, or add one"
        for row, thick, bar in zip(ends.rows.tolist(), ends.diameters.tolist(), ends.bars.tolist(), strict=True)
        if bar < thick - 1e-6
    ]
    found += [f"transport: {fault}" for fault in sections.faults]
    found += [f"lifting: section S{n} {each.fault}" for n, each in enumerate(lifts, start=1) if each.fault]
    usual = {float(bar) for bar in commission.steel.bars} | {float(pipe.outside) for pipe in commission.steel.pipes}
    missing = sorted(
        {size for size in tree.stock_diameters.tolist() if not any(abs(size - bar) < 0.05 for bar in usual)}
    )
    found += [
        f"bar of {size:.2f} mm is in the tree but not in steel.bars: add it or size the tree anew" for size in missing
    ]
    return tuple(found)
