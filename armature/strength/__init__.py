"""Will it stand, and for how long: loads, forces, checks by clause, sizes, lifetime and the report.

A combination is a sum of basic load cases with a standard's factors. A cross-section is a place where the checks look.
A ratio is what is asked over what is allowed: over 1 fails. Forces are N, moments N mm, stresses MPa, lengths mm.
"""

from __future__ import annotations

from armature.strength.advice import CAUTION, DETAILS, NOT_COVERED, SAFETY, inspection_plan
from armature.strength.asce7 import ASCE7, exposure_coefficient, velocity_pressure
from armature.strength.asked import demands
from armature.strength.assess import Assessment, assessed
from armature.strength.check import Check
from armature.strength.contact import contacts, isolation, run_off, wear_life
from armature.strength.coupons import coupons, spares
from armature.strength.dynamics import Gusts
from armature.strength.en1991 import EN1991, peak_pressure, probability_factor
from armature.strength.findings import checks, governing, leaf_bounds, verdict, wasting, worst_ratio
from armature.strength.following import Followed, Step, followed, whole_sums
from armature.strength.foot import foot_anchors, foot_footing, foot_lug, foot_plate
from armature.strength.lifetime import COATS
from armature.strength.loads import GRAVITY
from armature.strength.people import climbed
from armature.strength.rounds import rounds
from armature.strength.second_order import LIMIT as SECOND_ORDER_LIMIT
from armature.strength.sizing import strengthened
from armature.strength.solver_cases import model_cases
from armature.strength.tables import table
from armature.strength.worst import first_worst

__all__ = [
    "ASCE7",
    "CAUTION",
    "COATS",
    "DETAILS",
    "EN1991",
    "GRAVITY",
    "NOT_COVERED",
    "SAFETY",
    "SECOND_ORDER_LIMIT",
    "Assessment",
    "Check",
    "Followed",
    "Gusts",
    "Step",
    "assessed",
    "checks",
    "climbed",
    "contacts",
    "coupons",
    "demands",
    "exposure_coefficient",
    "first_worst",
    "followed",
    "foot_anchors",
    "foot_footing",
    "foot_lug",
    "foot_plate",
    "governing",
    "inspection_plan",
    "isolation",
    "leaf_bounds",
    "model_cases",
    "peak_pressure",
    "probability_factor",
    "rounds",
    "run_off",
    "spares",
    "strengthened",
    "table",
    "velocity_pressure",
    "verdict",
    "wasting",
    "wear_life",
    "whole_sums",
    "worst_ratio",
]
