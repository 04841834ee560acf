"""The whole shop plan of one tree: everything that the papers print, each part computed when it is first asked for.

A tower of parts, each resting on those below it: outset, forging, buying, erecting, joining, and the whole. Size
letters: M members, B bends. Lengths are mm, angles degrees, masses kg.
"""

from __future__ import annotations

from armature.shop.plan.whole import ShopPlan, shop_plan

__all__ = ["ShopPlan", "shop_plan"]
