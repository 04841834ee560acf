"""What the benches get of a job, in two pieces of work: the shop's part and the book of care; the leaves' part."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path

from armature.answer import Revision
from armature.commission import Commission
from armature.files import Finding
from armature.job.care import write_care
from armature.job.leaf_work import leaf_work
from armature.job.leaves import write_leaves
from armature.job.shop import shop_finding, write_shop
from armature.leaves import LeafPlan, plan_on
from armature.leaves.nesting import Layout
from armature.shop import ShopPlan, shop_plan
from armature.tree import Demands

# The tags of what is made, and how the cards differ from those before.
Held = tuple[Collection[str], Mapping[str, Revision] | None]


def write_trades(
    folder: Path,
    leaves: LeafPlan,
    layout: Layout | None,
    commission: Commission,
    strength: Finding | None,
    asked: Demands | None,
    held: Held | None,
    papers: bool,
) -> Finding | None:
    """Write bars.csv, shop/ and, where papers are asked for, care/ into a folder; return what the shop says.

    layout: the plates of the leaves. asked: what strength asks. held: what is made already, and how its
    cards differ; None where the shop is left out.
    """
    laid = plan_on(leaves, layout) if layout is not None else leaves
    plan = None if held is None else planned_shop(laid, commission, asked, *held)
    if plan is not None:
        write_shop(folder, plan, papers)
    if papers:
        write_care(folder / "care", laid, commission, strength, plan)
    return None if plan is None else shop_finding(plan)


def write_laid(leaves: LeafPlan, layout: Layout | None, commission: Commission, folder: Path, papers: bool) -> None:
    """Write the leaves' part of a job, on the plates of a layout, into a folder."""
    write_leaves(plan_on(leaves, layout) if layout is not None else leaves, commission, folder, papers=papers)


def planned_shop(
    leaves: LeafPlan,
    commission: Commission,
    asked: Demands | None,
    made: Collection[str],
    revisions: Mapping[str, Revision] | None,
) -> ShopPlan:
    """Return the shop's plan of a tree and its leaves; asked: what strength asks. made: tags of what is made."""
    return shop_plan(leaves.tree, commission, asked, leaf_work(leaves), made, revisions)
