"""The whole plan: what the job asks of the crew, what it costs, and what cannot be met."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

from armature.answer import Revision
from armature.shop.counting import counted
from armature.shop.estimate import Estimate, estimate
from armature.shop.faults import bar_faults, forge_faults, site_faults, weld_faults
from armature.shop.labour import Counts, Labour, LeafWork, Rate, labour, read_rates
from armature.shop.plan.joining import Joining
from armature.tree import Demands, Tree

if TYPE_CHECKING:
    from armature.commission import Commission

# How often the whole skin is gone over: primer and two coats, one over zinc less, oil or wax on bare steel.
_COATS = {"bare": 1, "painted": 3, "galvanised": 0, "galvanised and painted": 2}


class ShopPlan(Joining):
    """The whole shop plan of one tree, each part computed when it is first asked for."""

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
