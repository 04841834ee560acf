"""The shop: bends, joints, bars, sections, hours and cost of one tree, planned once and printed by the records."""

from __future__ import annotations

from armature.shop.bending import paper_for
from armature.shop.plan import ShopPlan, shop_plan
from armature.shop.rebuild import rebuilt

__all__ = ["ShopPlan", "paper_for", "rebuilt", "shop_plan"]
