"""Worked values of the standards and of handbooks, each with its source; imperial examples in imperial."""

from __future__ import annotations

import numpy as np
import pytest

from armature.strength import aisc360, asce7, en1991, en1993
from armature.strength.base import BaseForces, anchor_ratio, anchor_tension, anchors
from armature.strength.elastic import equivalent_stress
from armature.strength.fatigue import gust_share
from armature.strength.lifetime import loss
from armature.strength.lock_in import lift, scruton
from armature.strength.people import push_at
from armature.strength.resistance import Use
from armature.strength.rounds import rounds
from armature.strength.welds import fillet_strength

MPH, PSF, KSI, INCH, KIP = 0.44704, 47.880259, 6.8947573, 25.4, 4448.2216


def test_exposure_coefficients_are_those_of_the_table() -> None:
    """ASCE 7-16 table 26.10-1, exposure C at 15, 20, 25, 30 ft; printed to two places, 0.945 as 0.94."""
    heights = np.array([15.0, 20.0, 25.0, 30.0]) * 0.3048
    found = asce7.exposure_coefficient(heights, "C")
    np.testing.assert_allclose(found, [0.849, 0.902, 0.945, 0.982], atol=6e-4)
    np.testing.assert_allclose(found, [0.85, 0.90, 0.94, 0.98], atol=6e-3)
    assert asce7.exposure_coefficient(1.0, "C") == asce7.exposure_coefficient(4.572, "C")
    # Exposures B and D at 15 ft by the same table, from memory: 0.57 (0.575 by formula) and 1.03.
    assert float(asce7.exposure_coefficient(4.572, "B")) == pytest.approx(0.57, abs=0.01)
    assert float(asce7.exposure_coefficient(4.572, "D")) == pytest.approx(1.03, abs=0.01)


def test_velocity_pressure_of_115_mph_at_15_feet() -> None:
    """ASCE 7-16 eq. 26.10-1, exposure C (Kz 0.85), Kd 0.85: 24.46 psf, 1170 Pa."""
    found = float(asce7.velocity_pressure(0.85, 1.0, 0.85, 1.0, 115.0 * MPH))
    # 0.613 in SI and 0.00256 in imperial are both rounded, 0.05 % apart.
    assert found == pytest.approx(1170.0, abs=1.0)
    assert found / PSF == pytest.approx(24.46, rel=6e-4)
    assert float(asce7.velocity_pressure(1.0, 1.0, 0.85, 1.0, 115.0 * MPH)) / PSF == pytest.approx(28.778, rel=6e-4)


def test_round_bars_take_1_2_when_long_and_0_7_when_short() -> None:
    """ASCE 7-16 figure 29.4-1, D sqrt(q) up to 2.5: 0.7, 0.8, 1.2 at h/D 1, 7, 25; above, rough: 0.7, 0.8, 0.9."""
    found = asce7.round_coefficient([1.0, 7.0, 16.0, 25.0, 80.0], 6.35, 1000.0)
    np.testing.assert_allclose(found, [0.7, 0.8, 1.0, 1.2, 1.2])
    np.testing.assert_allclose(asce7.round_coefficient([1.0, 7.0, 25.0], 200.0, 1000.0), [0.7, 0.8, 0.9])


def test_ice_on_a_quarter_inch_bar() -> None:
    """ASCE 7-16 eq. 10.4-1, from memory: half an inch on a quarter-inch bar: 1.178 in2, 0.458 lb/ft at 56 pcf."""
    area = float(asce7.bar_ice_area(0.25, 0.5))
    assert area == pytest.approx(1.178, abs=5e-4)
    assert area / 144.0 * 56.0 == pytest.approx(0.458, abs=5e-4)


def test_peak_pressure_of_terrain_ii_at_10_m() -> None:
    """EN 1991-1-4 eq. 4.8, vb 26 m/s: 993.84 Pa, by hand: kr 0.19, cr 0.19 ln 200, Iv 1 / ln 200."""
    assert float(en1991.peak_pressure(10.0, "II", 26.0)) == pytest.approx(993.84, abs=0.01)
    assert en1991.basic_pressure(25.0) == pytest.approx(390.6, abs=0.05)


def test_a_cylinder_in_fast_wind() -> None:
    """EN 1991-1-4 7.9, figure 7.28: b 0.4 m, k 0.2 mm, 40 m/s: 0.7904."""
    pressure = 0.5 * 1.25 * 40.0**2
    assert float(en1991.cylinder_coefficient(400.0, pressure, 0.2)) == pytest.approx(0.7904, abs=5e-5)
    assert float(en1991.cylinder_coefficient(6.35, pressure, 0.2)) == 1.2


def test_a_rarer_wind_is_faster_by_the_probability_factor() -> None:
    """EN 1991-1-4 eq. 4.2, K 0.2, n 0.5: 1.0 at 50 years; at 200 years sqrt(1.5) of it, by hand 1.0809."""
    term = (1.0 + 0.2 * -np.log(-np.log(1 - 1 / 200))) / (1.0 + 0.2 * -np.log(-np.log(0.98)))
    assert en1991.probability_factor(200.0) == pytest.approx(np.sqrt(term))
    assert en1991.probability_factor(200.0) == pytest.approx(1.075, abs=0.003)


def test_an_inch_round_in_bending() -> None:
    """AISC 360-16 F11, A36: Mn = 1.6 Fy S = 5.655 kip-in; with phi 0.90 5.09, and 3.386 by 1.67, never mixed."""
    one = rounds(1.0)
    yields = np.array(36.0)
    design = float(aisc360.bending(one, yields, 29000.0))
    assert design == pytest.approx(5.09, abs=5e-3)
    assert design / 0.9 == pytest.approx(5.655, abs=5e-4)
    assert design / 0.9 / 1.67 == pytest.approx(3.386, abs=5e-4)
    # Fy Z alone is 6.1 % too much: the cap of 1.6 governs every solid round.
    assert 36.0 * float(one.plastic) / (design / 0.9) == pytest.approx(1.061, abs=5e-4)


def test_slender_columns_buckle_by_euler_and_stocky_ones_yield() -> None:
    """AISC 360-16 E3: 0.877 Fe past 4.71 sqrt(E/Fy); both formulas meet there.

    AISC Manual table 4-14, KL/r 100, 50 ksi: phi Fcr 21.7 ksi, from memory.
    """
    fifty, yields = np.array(50.0), np.array(36.0)
    assert 0.9 * float(aisc360.critical_stress(np.array(100.0), fifty, 29000.0)) == pytest.approx(21.7, abs=0.05)
    edge = 4.71 * np.sqrt(29000.0 / 36.0)
    low, high = (float(aisc360.critical_stress(np.array(edge * f), yields, 29000.0)) for f in (0.999, 1.001))
    assert low == pytest.approx(high, rel=5e-3)


def test_axial_and_bending_add_up_by_h1() -> None:
    """AISC 360-16 eq. H1-1a and b, from memory: both give the same at a share of 0.2 with 8/9 and 1/2."""
    zero = np.array(0.0)
    assert float(aisc360.combined(np.array(0.3), np.array(0.45), zero, zero)) == pytest.approx(0.7)
    assert float(aisc360.combined(np.array(0.1), np.array(0.45), zero, zero)) == pytest.approx(0.5)
    assert float(aisc360.combined(np.array(0.2), np.array(0.9), zero, zero)) == pytest.approx(1.0)
    assert float(aisc360.combined(np.array(0.1999999), np.array(0.9), zero, zero)) == pytest.approx(1.0, abs=1e-6)


def test_torsion_of_a_pipe_and_of_a_bar() -> None:
    """AISC 360-16 H3.1, H3.3: 0.6 Fy C, C = pi (D - t)^2 t / 2 of a thin pipe, near J / r; a bar's is pi d^3 / 16."""
    pipe, bar, yields = rounds(4.5, 4.058), rounds(1.0), np.array(36.0)
    assert float(aisc360.torsion(bar, yields)) == pytest.approx(0.9 * 0.6 * 36.0 * np.pi / 16.0)
    assert float(aisc360.torsion(pipe, yields)) == pytest.approx(0.9 * 0.6 * 36.0 * float(pipe.torsion), rel=0.06)


def test_european_buckling_curve_c() -> None:
    """EN 1993-1-1 table 6.2, solid rounds on curve c: chi at slenderness 1.0 is 0.54, at 0.2 it is 1 (figure 6.4)."""
    unit = np.pi * np.sqrt(210_000.0 / 235.0)
    yields = np.array(235.0)
    assert float(en1993.buckling_factor(np.array(unit), yields, 210_000.0)) == pytest.approx(0.54, abs=5e-3)
    assert float(en1993.buckling_factor(np.array(0.2 * unit), yields, 210_000.0)) == pytest.approx(1.0)
    assert float(en1993.buckling_factor(np.array(2.0 * unit), yields, 210_000.0)) == pytest.approx(0.20, abs=5e-3)


def test_european_resistances_of_a_solid_round() -> None:
    """EN 1993-1-1 6.2: A fy, Wpl fy, A fy / sqrt 3, pi d^3 / 16 fy / sqrt 3, by hand for 20 mm in S235."""
    one, yields = rounds(20.0), np.array(235.0)
    assert float(en1993.tension(one, yields)) == pytest.approx(73_827.4, abs=0.1)
    assert float(en1993.bending(one, yields)) == pytest.approx(235.0 * 8000.0 / 6.0)
    assert float(en1993.shear(one, yields)) == pytest.approx(73_827.4 / np.sqrt(3.0), abs=0.1)
    assert float(en1993.torsion(one, yields)) == pytest.approx(np.pi * 8000.0 / 16.0 * 235.0 / np.sqrt(3.0))


def test_a_quarter_inch_fillet() -> None:
    """AISC 360-16 J2.4, from memory: phi 0.60 FEXX 0.707 leg: 5.57 kip/in for 1/4 in of E70."""
    strength = float(fillet_strength(np.array(0.25 * INCH), 70.0 * KSI))
    assert strength * INCH / KIP == pytest.approx(5.57, abs=5e-3)


def test_bare_steel_at_the_top_of_c3() -> None:
    """ISO 9223 and ISO 9224 (mean exponent): 50 um the first year; 166.7, 239.6, 427.5, 740.7, 1993.6 after."""
    found = loss(50.0, [1, 10, 20, 50, 100, 300], 0.523)
    np.testing.assert_allclose(found, [50.0, 166.7, 239.6, 427.5, 740.7, 1993.6], atol=0.06)
    # A quarter-inch twig: 4.87 mm left after 100 years, 2.36 after 300.
    np.testing.assert_allclose(6.35 - 2.0 * found[[4, 5]] / 1000.0, [4.87, 2.36], atol=5e-3)


def test_copper_leaf_keeps_three_quarters_after_300_years() -> None:
    """ISO 9223 C3 and ISO 9224: 1.3 um the first year: 99 um a side of 0.82 mm."""
    found = float(loss(1.3, 300.0, 0.667))
    assert found == pytest.approx(99.0, abs=0.5)
    assert 1.0 - 2.0 * found / 820.0 == pytest.approx(0.76, abs=0.01)


def test_the_strongest_gust_of_50_years_is_the_whole_load() -> None:
    """EN 1991-1-4 figure B.3: by its formula 100 % once, 68 % a hundred times, 41.6 % ten thousand times."""
    shares = gust_share(np.array([1.0, 1e2, 1e4]))
    np.testing.assert_allclose(shares, [1.0, 0.68, 0.416], atol=1e-9)


def test_a_twisted_bar_is_no_hollow_section() -> None:
    """AISC 360-16 H3.3 by the yield rule: at the skin n 0.55, v 0.6; in the middle n 0.1, v 0.8. A pipe has H3-6."""
    axial, moment, sheared, twisted = (np.array([value]) for value in (0.1, 0.5, 0.2, 0.6))
    assert float(aisc360.combined(axial, moment, sheared, twisted)[0]) == pytest.approx(np.hypot(0.55, 0.6))
    assert float(aisc360.combined(axial, np.array([0.1]), sheared, twisted)[0]) == pytest.approx(np.hypot(0.1, 0.8))
    assert float(aisc360.combined(axial, moment, sheared, twisted, np.array([True]))[0]) == pytest.approx(1.24)
    # A pipe leaves out torsion up to a fifth, H3.2; a bar never does, and so its ratio has no step there.
    low, high = (float(aisc360.combined(axial, moment, sheared, np.array([t]))[0]) for t in (0.2, 0.2001))
    assert high == pytest.approx(low, rel=1e-3)
    assert low == pytest.approx(np.hypot(0.55, 0.2))
    assert float(aisc360.combined(axial, moment, sheared, np.array([0.2]), np.array([True]))[0]) == pytest.approx(0.55)


def test_the_elastic_limit_of_a_bar_by_hand() -> None:
    """EN 1993-1-1 eq. 6.1: 20 mm, 100 N m: sigma 127.3 MPa; 50 N m of twist: tau 31.8; sqrt(127.3^2 + 3 31.8^2)."""
    zero = np.zeros((1, 1))
    asked = Use(zero, zero, zero + 50e3, zero + 100e3)
    bar = rounds([20.0])
    found = equivalent_stress(asked, bar.area, bar.elastic, bar.torsion)
    assert float(found[0, 0]) == pytest.approx(138.7, abs=0.2)


def test_a_standard_pipe_bends_and_shears_by_f8_and_g5() -> None:
    """AISC Design Examples F.9 and G.5, from memory: HSS/pipe by F8: My Z where D/t <= 0.07 E/Fy; Vn = 0.6 Fy Ag / 2.

    NPS 4 standard (4.500 by 0.237 in) in A53 grade B, 35 ksi: Z = (4.5^3 - 4.026^3) / 6 = 4.311 in3; phi Mn
    0.9 x 35 x 4.311 = 135.8 kip-in; phi Vn 0.9 x 0.6 x 35 x 3.174 / 2 = 29.99 kip.
    """
    pipe, yields = rounds(4.5, 4.026), np.array(35.0)
    assert float(aisc360.bending(pipe, yields, 29000.0)) == pytest.approx(135.8, rel=2e-3)
    assert float(aisc360.shear(pipe, yields)) == pytest.approx(29.99, rel=2e-3)
    # F8-2 past D/t = 0.07 E/Fy: (0.021 E / (D/t) + Fy) S; here D/t 100: S = pi (D^4 - d^4) / (32 D).
    thin = rounds(20.0, 19.6)
    elastic = np.pi * (20.0**4 - 19.6**4) / (32.0 * 20.0)
    assert float(aisc360.bending(thin, yields, 29000.0)) == pytest.approx(
        0.9 * (0.021 * 290.0 + 35.0) * elastic, rel=1e-9
    )


def test_a_round_bar_in_tension_compression_and_shear() -> None:
    """AISC 360-16 D2, E3, G1 by hand, as in Design Examples D and E: 1 in of A36, K L / r 100.

    phi Tn 0.9 x 36 x 0.7854 = 25.45 kip; Fe = pi^2 29000 / 100^2 = 28.62, Fcr = 0.658^(36/28.62) 36 = 21.26: phi Pn
    15.03 kip; phi Vn 0.9 x 0.6 x 36 x 0.75 x 0.7854 = 11.45 kip.
    """
    one, yields = rounds(1.0), np.array(36.0)
    assert float(aisc360.tension(one, yields)) == pytest.approx(25.45, abs=5e-3)
    assert float(aisc360.compression(one, yields, 29000.0, np.array(12.5))) == pytest.approx(15.03, rel=1e-3)
    assert float(aisc360.shear(one, yields)) == pytest.approx(11.45, abs=5e-3)


def test_an_anchor_rod_by_j3() -> None:
    """AISC 360-16 table J3.2, Design Guide 1 table 3.1 from memory: F1554 grade 36, 3/4 in: phi Rn 14.4 kip in tension.

    0.75 x 0.75 x 58 x 0.4418 = 14.41 kip; in shear with threads in the plane 0.75 x 0.45 x 58 x 0.4418 = 8.65 kip.
    """
    d = 0.75 * INCH
    # Fu of the table is 400 MPa, 58 ksi rounded.
    assert anchor_ratio(14.41 * KIP, 0.0, d) == pytest.approx(1.0, rel=1e-2)
    assert anchor_ratio(0.0, 8.65 * KIP, d) == pytest.approx(1.0, rel=1e-2)


def test_a_chimney_in_annex_e_of_en_1991() -> None:
    """EN 1991-1-4 E.1.5 by hand, a steel stack from memory of the usual textbook figures: 2 m, 60 m, 0.7 Hz, 300 kg/m.

    v_crit = b n / St = 2 x 0.7 / 0.18 = 7.78 m/s; Sc = 2 x 0.012 x 300 / (1.25 x 4) = 1.44: so little that it swings.
    """
    damping = 0.012 / (2.0 * np.pi)
    assert float(scruton(damping, np.array(300.0), np.array(2000.0))) == pytest.approx(1.44, abs=5e-3)
    # c_lat whole to 0.83 of the mean wind (table E.3): at 7.78 over 25 m/s 0.7.
    assert float(lift(np.array(7.78 / 25.0))) == 0.7


def test_a_base_plate_by_design_guide_1() -> None:
    """AISC Design Guide 1, 3.2 from memory: t = sqrt(4 M / (phi Fy b)); 50 kN, 16 mm rod, A36, foot welded by a groove.

    Lever 3 x 16 = 48 mm, strip 64 mm: sqrt(4 x 50e3 x 48 / (0.9 x 248 x 64)) = 25.9 mm.
    """
    push = BaseForces("x", 0.0, 0.0, 50e3 * 196.0, 0.0, 0.0)
    assert anchor_tension(push, 4, 196.0) == pytest.approx(50e3)
    rods = anchors([push], 100.0, 248.0)
    own = np.sqrt(4.0 * rods.tension_n * 3.0 * rods.diameter_mm / (0.9 * 248.0 * 4.0 * rods.diameter_mm))
    assert rods.plate_thickness_mm == pytest.approx(own)
    assert np.sqrt(4.0 * 50e3 * 48.0 / (0.9 * 248.0 * 64.0)) == pytest.approx(25.9, abs=0.05)


def test_a_person_in_rhythm_pushes_within_published_ranges() -> None:
    """Swaying and bouncing from 1 to 3.5 Hz (ISO 10137 annex A, from memory); sideways swaying of standing persons is
    put at 0.1 to 0.35 of their weight (Bachmann, Vibration Problems in Structures, from memory): 75 to 260 N of 75 kg.
    """
    assert 0.1 * 75.0 * 9.81 < float(push_at(np.array(1.0))) <= 0.35 * 75.0 * 9.81
    assert float(push_at(np.array(5.1))) == 0.0
