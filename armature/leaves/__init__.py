"""Leaves: outlines, hanging, plates and names.

plan = plan_leaves(commission, tree)
plan.tree          # hang points moved, designs and names given
plan.hung.masses   # kg, one a leaf
"""

from __future__ import annotations

from armature.leaves.given import read_given
from armature.leaves.kept import kept_plan, rehung, relisted, renamed
from armature.leaves.naming import Bench
from armature.leaves.outline import draw_designs
from armature.leaves.plan import SPARE, LeafPlan, kept_rows, laid, panel_sizes, places_of, plan_leaves, plan_on
from armature.leaves.shaping import Shaped, shaped, shaping_words
from armature.leaves.stored_panels import panels_text
from armature.leaves.tracing import Traced, trace, traced_svg
from armature.leaves.zones import Lift, lifts

__all__ = [
    "SPARE",
    "Bench",
    "LeafPlan",
    "Lift",
    "Shaped",
    "Traced",
    "draw_designs",
    "kept_plan",
    "kept_rows",
    "laid",
    "lifts",
    "panel_sizes",
    "panels_text",
    "places_of",
    "plan_leaves",
    "plan_on",
    "read_given",
    "rehung",
    "relisted",
    "renamed",
    "shaped",
    "shaping_words",
    "trace",
    "traced_svg",
]
