"""The shop: bends, joints, bars, sections, hours and cost of one tree, planned once and printed by the records."""

from __future__ import annotations

from armature.shop.bars import SawnBar, SizePlan
from armature.shop.bending import METHODS, arc_offsets, paper_for
from armature.shop.card_numbers import card_strays
from armature.shop.chalk import Floor, floor_offsets
from armature.shop.compass import bearing, bearing_text, compass_word
from armature.shop.cutting import cut_lengths, solid_ends
from armature.shop.darts import DARTS, dart_width
from armature.shop.estimate import Line
from armature.shop.gauging import calipers
from armature.shop.hanging import DYNAMIC
from armature.shop.hooks import Hook, Lift
from armature.shop.labour import OPERATIONS, LeafWork
from armature.shop.plan import ShopPlan, shop_plan
from armature.shop.posing import pin_places
from armature.shop.preparing import BEVEL, FILLET, GAP, HEEL_OPEN, LAND, NO_REACH, POINT, ROOT, TOE, WAYS
from armature.shop.rebuild import rebuilt
from armature.shop.saddles import Saddle, chalk_place, saddle
from armature.shop.sections import Section, Splice
from armature.shop.slices import Slices
from armature.shop.splices import SiteJoint
from armature.shop.stocklist import collar_length, collar_thickness

__all__ = [
    "BEVEL",
    "DARTS",
    "DYNAMIC",
    "FILLET",
    "GAP",
    "HEEL_OPEN",
    "LAND",
    "METHODS",
    "NO_REACH",
    "OPERATIONS",
    "POINT",
    "ROOT",
    "TOE",
    "WAYS",
    "Floor",
    "Hook",
    "LeafWork",
    "Lift",
    "Line",
    "Saddle",
    "SawnBar",
    "Section",
    "ShopPlan",
    "SiteJoint",
    "SizePlan",
    "Slices",
    "Splice",
    "arc_offsets",
    "bearing",
    "bearing_text",
    "calipers",
    "card_strays",
    "chalk_place",
    "collar_length",
    "collar_thickness",
    "compass_word",
    "cut_lengths",
    "dart_width",
    "floor_offsets",
    "paper_for",
    "pin_places",
    "rebuilt",
    "saddle",
    "shop_plan",
    "solid_ends",
]
