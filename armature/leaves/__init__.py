"""Leaves: outlines, hanging, plates and names.

plan = plan_leaves(commission, tree)
plan.tree          # hang points moved, designs and names given
plan.hung.masses   # kg, one a leaf
"""

from __future__ import annotations

from armature.leaves.drawing import draw_designs
from armature.leaves.grades import Bench
from armature.leaves.plan import LeafPlan, plan_leaves

__all__ = ["Bench", "LeafPlan", "draw_designs", "plan_leaves"]
