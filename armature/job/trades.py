"""What the benches get of a job, in one piece of work: the shop's part and the book of care, and what the shop says."""

from __future__ import annotations

from pathlib import Path

from armature.commission import Commission
from armature.files import Finding
from armature.job.care import write_care
from armature.job.shop import shop_finding, write_shop
from armature.leaves import LeafPlan
from armature.shop import ShopPlan


def write_trades(
    folder: Path,
    leaves: LeafPlan,
    commission: Commission,
    strength: Finding | None,
    shop: ShopPlan | None,
    papers: bool,
) -> Finding | None:
    """Write bars.csv, shop/ and, where papers are asked for, care/ into a folder; return what the shop says.

    A plan works its parts out when they are first asked for: whoever writes them is the one to say what they come to.
    """
    if shop is not None:
        write_shop(folder, shop, papers)
    if papers:
        write_care(folder / "care", leaves, commission, strength, shop)
    return None if shop is None else shop_finding(shop)
