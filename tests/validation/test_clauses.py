"""Every clause that the strength checks name has a worked figure, or a reason why it has none.

The figures are by hand, the constants from memory of the standards unless a test says otherwise; a tolerance is never
wider than two per cent, so that a slip of five is seen.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from armature.strength import aisc360, en1993
from armature.strength.base import BaseForces, shear_lug
from armature.strength.conditions import conditions
from armature.strength.quakes import base_share
from armature.strength.rounds import rounds
from armature.strength.welds import base_strength, fillet_strength_en
from tests.strength.made import commission

ROOT = Path(__file__).parents[2]
_STANDARD = (
    r"(?:AISC 360-16|AISC Design Guide 1|ASCE 7-16|ACI 318-19|EN 199\d(?:-\d+){0,2}|EN 1176-1"
    r"|ISO \d{4,5}(?:-\d)?(?::\d{4})?)"
)
_KIND = r"(?:(?:eq\.|table|figure|annex|appendix|commentary) )"
_TOKEN = r"(?:[A-Z]{0,2}-?\d[\w.-]*(?:\([\da-z]+\))*|(?<=annex )[A-Z](?![a-z]))"
_RUN = re.compile(rf"({_STANDARD}),? ({_KIND}?{_TOKEN}(?:(?:,| to| and|;) (?:{_KIND})?{_TOKEN})*)")

# The test in which a clause's figure is worked out: file in tests, name.
WORKED = {
    "validation/test_clauses.py::test_a_shear_lug_bears_and_bends_by_hand": ("ACI 318-19 17.11.2",),
    "strength/test_checks.py::test_concrete_holds_its_anchors_by_aci": (
        *("ACI 318-19 17.6.2", "ACI 318-19 17.6.2.2", "ACI 318-19 17.6.3", "ACI 318-19 17.7.2"),
        "ACI 318-19 17.7.2.2(b)",
    ),
    "strength/test_fatigue.py::test_small_ranges_beside_a_large_one_go_on_at_slope_five": (
        *("AISC 360-16 3.3", "AISC 360-16 appendix 3.1", "EN 1993-1-9 7.1(3)"),
    ),
    "strength/test_fatigue.py::test_fatigue_lives_are_those_of_the_curves": (
        *("AISC 360-16 A-3-1", "AISC 360-16 appendix 3", "EN 1993-1-9 7.1", "EN 1993-1-9 figure 7.1"),
    ),
    "strength/test_fatigue.py::test_longer_welds_are_worse_details_on_the_parents_skin": (
        *("AISC 360-16 7.2", "AISC 360-16 table A-3.1", "EN 1993-1-9 table 8.4"),
    ),
    "strength/test_fatigue.py::test_a_ratio_of_one_is_the_end_of_life_under_gusts": ("EN 1993-1-9 8(2)",),
    "strength/test_checks.py::test_second_order_is_that_of_a_leaning_column": (
        *("AISC 360-16 C2", "AISC 360-16 C2.1", "EN 1993-1-1 5.2.1", "EN 1993-1-1 5.2.2(5)"),
    ),
    "validation/test_codes.py::test_a_round_bar_in_tension_compression_and_shear": (
        *("AISC 360-16 D2", "AISC 360-16 D2-1", "AISC 360-16 E3", "AISC 360-16 G1"),
    ),
    "validation/test_codes.py::test_slender_columns_buckle_by_euler_and_stocky_ones_yield": (
        *("AISC 360-16 E3-2", "AISC 360-16 E3-4"),
    ),
    "validation/test_codes.py::test_an_inch_round_in_bending": ("AISC 360-16 F11", "AISC 360-16 F11.1"),
    "validation/test_codes.py::test_a_standard_pipe_bends_and_shears_by_f8_and_g5": ("AISC 360-16 G5",),
    "validation/test_codes.py::test_axial_and_bending_add_up_by_h1": ("AISC 360-16 H1.1",),
    "validation/test_codes.py::test_a_twisted_bar_is_no_hollow_section": ("AISC 360-16 H3.3",),
    "validation/test_codes.py::test_a_quarter_inch_fillet": ("AISC 360-16 J2.4", "AISC 360-16 table J2.5"),
    "validation/test_clauses.py::test_the_steel_beside_a_fillet_by_hand": ("AISC 360-16 J4.2",),
    "strength/test_checks.py::test_an_open_ring_of_weld_carries_what_its_pieces_add_up_to": (
        *("AISC 360-16 J2.2b", "EN 1993-1-8 4.3.2.1"),
    ),
    "validation/test_codes.py::test_an_anchor_rod_by_j3": ("AISC 360-16 J3.6", "AISC 360-16 J3.7"),
    "validation/test_codes.py::test_ice_on_a_quarter_inch_bar": ("ASCE 7-16 10.4-1", "ASCE 7-16 10.4.1"),
    "strength/test_checks.py::test_ice_leans_on_the_moved_shape_too": ("ASCE 7-16 10.4-2", "ASCE 7-16 10.4-5"),
    "strength/test_loads.py::test_iced_leaves_catch_wind_on_their_ice": ("ASCE 7-16 10.5",),
    "strength/test_people.py::test_an_earthquake_is_the_weight_turned_sideways": (
        *("ASCE 7-16 12.4.2.2", "ASCE 7-16 12.8-2", "ASCE 7-16 12.8-3", "ASCE 7-16 12.8.1", "ASCE 7-16 15.4-1"),
        *("ASCE 7-16 15.4.1", "ASCE 7-16 2.3.6", "ASCE 7-16 2.4.5"),
    ),
    "validation/test_clauses.py::test_a_european_earthquake_by_hand": ("EN 1998-1 4.3.3.2", "EN 1990 6.12"),
    "strength/test_loads.py::test_american_factors_are_those_of_lrfd": (
        *("ASCE 7-16 2.3", "ASCE 7-16 2.3.1", "ASCE 7-16 2.3.3"),
    ),
    "strength/test_checks.py::test_a_footing_neither_tips_nor_slides_nor_sinks": (
        *("ASCE 7-16 2.4.1", "ASCE 7-16 0.6D", "EN 1997-1 6.5.2.4", "EN 1997-1 6.5.3", "EN 1997-1 2.4.7.3"),
    ),
    "validation/test_codes.py::test_velocity_pressure_of_115_mph_at_15_feet": ("ASCE 7-16 26.10-1",),
    "validation/test_codes.py::test_exposure_coefficients_are_those_of_the_table": ("ASCE 7-16 table 26.10-1",),
    "validation/test_codes.py::test_round_bars_take_1_2_when_long_and_0_7_when_short": ("ASCE 7-16 figure 29.4-1",),
    "strength/test_loads.py::test_wind_on_a_post_is_q_c_d_l_in_every_direction": (
        *("ASCE 7-16 29.4", "EN 1991-1-4 5.3"),
    ),
    "strength/test_dynamics.py::test_the_flexible_gust_factor_of_asce_by_hand": (
        *("ASCE 7-16 26.11-15", "ASCE 7-16 26.11-7", "ASCE 7-16 26.11-8", "ASCE 7-16 26.11-9", "ASCE 7-16 26.11.5"),
    ),
    "strength/test_lock_in.py::test_both_standards_mean_the_same_wind": ("ASCE 7-16 26.11-16", "EN 1991-1-4 4.3"),
    "strength/test_lifetime.py::test_the_wind_of_the_asked_years_keeps_its_chance": ("ASCE 7-16 C26.5.1",),
    "strength/test_people.py::test_two_and_three_persons_pull_as_en_1176_says": ("EN 1176-1 annex A",),
    "strength/test_loads.py::test_european_factors_are_those_of_en_1990": (
        *("EN 1990 6.10", "EN 1990 table A1.2", "EN 1993-3-1 annex C"),
    ),
    "validation/test_codes.py::test_a_rarer_wind_is_faster_by_the_probability_factor": ("EN 1991-1-4 4.2",),
    "validation/test_codes.py::test_peak_pressure_of_terrain_ii_at_10_m": (
        *("EN 1991-1-4 4.10", "EN 1991-1-4 4.5", "EN 1991-1-4 4.7", "EN 1991-1-4 4.8"),
    ),
    "strength/test_dynamics.py::test_the_structural_factor_of_en_by_hand": (
        *("EN 1991-1-4 6.3.1", "EN 1991-1-4 annex B"),
    ),
    "validation/test_codes.py::test_a_cylinder_in_fast_wind": (
        *("EN 1991-1-4 7.9", "EN 1991-1-4 7.9.2", "EN 1991-1-4 figure 7.28"),
    ),
    "validation/test_codes.py::test_a_chimney_in_annex_e_of_en_1991": ("EN 1991-1-4 annex E",),
    "validation/test_codes.py::test_the_elastic_limit_of_a_bar_by_hand": ("EN 1993-1-1 6.1",),
    "validation/test_codes.py::test_european_resistances_of_a_solid_round": (
        *("EN 1993-1-1 6.2.3", "EN 1993-1-1 6.6", "EN 1993-1-1 6.2.5", "EN 1993-1-1 6.2.6", "EN 1993-1-1 6.18"),
        *("EN 1993-1-1 6.2.7", "EN 1993-1-1 6.2.7(5)"),
    ),
    "validation/test_clauses.py::test_a_european_pipe_in_shear_by_hand": ("EN 1993-1-1 6.2.6(3)",),
    "validation/test_codes.py::test_european_buckling_curve_c": (
        *("EN 1993-1-1 6.3.1", "EN 1993-1-1 6.47", "EN 1993-1-1 6.49"),
    ),
    "validation/test_clauses.py::test_european_shares_add_up_by_hand": (
        *("EN 1993-1-1 6.2.1(5)", "EN 1993-1-1 6.2.1(7)", "EN 1993-1-1 6.3.3"),
    ),
    "validation/test_clauses.py::test_a_european_fillet_by_hand": ("EN 1993-1-8 4.5.3.3",),
    "strength/test_checks.py::test_european_welds_use_the_correlation_factor_of_the_steel": (
        *("EN 1993-1-8 table 4.1",),
    ),
    "validation/test_codes.py::test_bare_steel_at_the_top_of_c3": ("ISO 9223:2012 table 2", "ISO 9224:2012 table 2"),
    "validation/test_codes.py::test_a_person_in_rhythm_pushes_within_published_ranges": ("ISO 10137 annex A",),
}
# Clauses that are scope, a choice or a way of working, and give no figure of their own.
NO_FIGURE = {
    "AISC 360-16 2.1": "F11 and its part 2.1 for the plate, worked by Design Guide 1",
    "AISC 360-16 L1": "serviceability: asks for a look, gives no limit",
    "ASCE 7-16 2.5": "extraordinary events: the factor is 1",
    "EN 1990 6.11": "accidental situations: the factor is 1",
    "EN 1990 6.12b": "earthquakes: all factors are 1",
    "EN 1990 6.14b": "the characteristic combination: all factors are 1",
    "ASCE 7-16 table 1.5-1": "what risk category II is",
    "EN 1991-1-4 4.2(2)": "direction and season: 1.0",
    "EN 1991-1-4 7.13": "end effect: taken as 1",
    "EN 1993-1-10 table 2.1": "which coupons are asked for: advice",
    "EN 1993-1-8 4.2(2)": "the weld metal is no weaker than the steel",
    "EN 1993-1-8 4.7.1": "a groove of full penetration is as strong as the bar",
}


def named() -> set[str]:
    """Return every clause that the sources of the strength checks name."""
    found = set()
    for path in sorted((ROOT / "armature" / "strength").glob("*.py")):
        # A clause may be broken over two lines of a text or of a string.
        text = re.sub(r'"?\n\s*f?"?', " ", path.read_text(encoding="utf-8"))
        for run in _RUN.finditer(text):
            for kind, token in re.findall(rf"({_KIND})?({_TOKEN})", run.group(2)):
                kept = kind if kind.strip() in ("annex", "table", "appendix", "figure") else ""
                found.add(f"{run.group(1)} {kept}{token.rstrip('.-')}")
    return found


def test_every_clause_in_the_code_has_a_worked_figure_or_a_reason() -> None:
    listed = {clause for clauses in WORKED.values() for clause in clauses} | set(NO_FIGURE)
    assert sorted(named() - listed) == []
    assert sorted(listed - named()) == []


@pytest.mark.parametrize("where", WORKED)
def test_the_worked_figure_is_there(where: str) -> None:
    file, name = where.split("::")
    assert f"def {name}(" in (ROOT / "tests" / file).read_text(encoding="utf-8")


def test_a_shear_lug_bears_and_bends_by_hand() -> None:
    """ACI 318-19 17.11.2: 60 kN on 80 mm of 25 MPa: 60 000 / (0.65 x 1.7 x 25 x 80) = 27.1, 40 mm at least; bent by
    60 kN x (25 + 20) mm: sqrt(4 x 2.7e6 / (0.9 x 250 x 80)) = 24.5 mm. At 140 kN 65 mm deep and 42.3 mm thick."""
    lug = shear_lug([BaseForces("", 0.0, 60_000.0, 0.0, 0.0, 0.0)], 80.0, 250.0, 25.0)
    assert (lug.depth_mm, lug.thickness_mm) == (40.0, 25.0)
    deep = shear_lug([BaseForces("", 0.0, 140_000.0, 0.0, 0.0, 0.0)], 80.0, 250.0, 25.0)
    assert (deep.depth_mm, deep.thickness_mm) == (65.0, 43.0)


def test_the_steel_beside_a_fillet_by_hand() -> None:
    """AISC 360-16 J4.2, 6.35 mm: yield 0.6 x 248 = 148.8 MPa, rupture 0.75 x 0.6 x 400 = 180; of 345/450 202.5."""
    found = base_strength(np.array([6.35, 6.35]), np.array([248.0, 345.0]), 400.0)
    assert found[0] == pytest.approx(945.0, abs=1.0)
    assert float(base_strength(np.array(6.35), np.array(345.0), 450.0)) == pytest.approx(1286.0, abs=1.0)


def test_a_european_fillet_by_hand() -> None:
    """EN 1993-1-8 4.5.3.3, S235, leg 6 mm: 360 / (1.732 x 0.8 x 1.25) = 207.8 MPa on a throat of 4.243 mm."""
    assert float(fillet_strength_en(np.array(6.0), 360.0, 0.8)) == pytest.approx(881.8, rel=1e-3)


def test_european_shares_add_up_by_hand() -> None:
    """EN 1993-1-1 6.2.1: normal 0.3 + 0.4, shear 0.1 + 0.2: sqrt(0.49 + 0.09) = 0.7616."""
    one = [np.array(share) for share in (0.3, 0.4, 0.1, 0.2)]
    assert float(en1993.combined(*one)) == pytest.approx(0.7616, abs=1e-4)


def test_a_european_pipe_in_shear_by_hand() -> None:
    """EN 1993-1-1 6.2.6(3): 60.3 x 4 mm has 707.5 mm2; 2 / pi of it is 450.4; 235 / root 3 = 135.7: 61.1 kN."""
    assert float(en1993.shear(rounds(60.3, 52.3), np.array(235.0))) == pytest.approx(61_110.0, rel=2e-3)
    # Of the same pipe AISC 360-16 G5 takes half the area: 0.9 x 0.6 x 235 x 353.7 = 44.9 kN.
    assert float(aisc360.shear(rounds(60.3, 52.3), np.array(235.0))) == pytest.approx(44_890.0, rel=2e-3)


def test_a_european_earthquake_by_hand() -> None:
    """EN 1998-1 4.3.3.2: S_d / q = 0.5 / 1.25 = 0.4 of the weight on the plateau, 0.2 x 1 / 1.25 = 0.16 at 1 s."""
    held = conditions(
        commission(
            '[site]\nstandard = "EN 1991-1-4"\nwind_speed = "26 m/s"\nexposure = "II"\n'
            "quake = {short = 0.5, second = 0.2, response = 1.25}\n"
        )
    )
    assert base_share(held, 5.0) == pytest.approx(0.4)
    assert base_share(held, 1.0) == pytest.approx(0.16)
