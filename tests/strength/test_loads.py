"""Loads: what they add up to, by hand and by handbook."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from armature.strength import asce7
from armature.strength.actions import answered, basic_loads, drag, ice_thickness, iced_areas, pressure
from armature.strength.assess import foliage_for
from armature.strength.combinations import combinations, combined, leaf_drags, leaves_of
from armature.strength.conditions import conditions
from armature.strength.forces import Loads, forces
from armature.strength.frame import Frame, frame
from armature.strength.loads import (
    GRAVITY,
    Foliage,
    bar_wind,
    directions,
    leaf_weight,
    leaf_wind,
    masses,
    person_pulls,
    steel_weight,
    swung_drag,
)
from armature.strength.stiffness import stiffness
from armature.strength.sways import sways
from armature.tree import Floats
from tests.strength.made import WINDY, american, cantilever, commission, european, leafy_gallows
from tests.trees import post, random_tree

NONE = Foliage(np.zeros(0), np.zeros(0))


def foot(cut: Frame, loads: Loads) -> Floats:
    return forces(cut, loads).within[0, :3]


@pytest.mark.parametrize(
    ("size", "kg"), [(6, 0.222), (8, 0.395), (10, 0.617), (12, 0.888), (16, 1.578), (20, 2.466), (25, 3.853)]
)
def test_a_metre_of_round_bar_weighs_what_the_table_says(size: float, kg: float) -> None:
    """EN 10060 and handbook tables, kg a metre, from memory; 7850 kg/m3."""
    cut = frame(cantilever(1000.0, size, size))
    assert -foot(cut, steel_weight(cut, 7850.0))[2, 0] / GRAVITY == pytest.approx(kg, abs=6e-4)


def test_an_inch_bar_weighs_2_67_pounds_a_foot() -> None:
    """AISC Manual: 2.67 d^2 lb/ft, from memory; 7850 kg/m3 is 0.2836 lb/in3."""
    cut = frame(cantilever(304.8, 25.4, 25.4))
    assert -foot(cut, steel_weight(cut, 7850.0))[2, 0] / 4.4482216 == pytest.approx(2.67, abs=6e-3)


def test_own_weight_is_that_of_the_tapered_volume() -> None:
    tree = random_tree(30)
    cut = frame(tree)
    weight = -foot(cut, steel_weight(cut, 7850.0))[2, 0]
    # Two Gauss points are exact on any straight taper; the volume record's own frustum is the reference.
    assert weight == pytest.approx(float(tree.volumes.sum()) * 7850e-9 * GRAVITY, rel=1e-12)
    assert masses(cut, 7850.0, Foliage(np.zeros(len(tree.leaves)), np.zeros(len(tree.leaves)))).sum() == pytest.approx(
        weight / GRAVITY, rel=1e-12
    )


def test_leaves_pull_where_they_hang() -> None:
    cut = frame(leafy_gallows())
    found = forces(cut, leaf_weight(cut, Foliage(np.array([0.1]), np.array([2000.0])))).beyond[cut.offsets[1], :, 0]
    np.testing.assert_allclose(found, [0, 0, -0.980665, 0, 490.3325, 0], atol=1e-9)


def test_wind_on_a_post_is_q_c_d_l_in_every_direction() -> None:
    cut = frame(post(1000.0, 20.0))
    winds = directions(8)
    loads = bar_wind(cut, winds, lambda z: np.full_like(z, 1000.0), lambda s, d, q: np.full_like(d, 1.2))
    push = foot(cut, loads)
    # 1000 Pa x 1.2 x 0.020 m2 = 24 N along each wind.
    np.testing.assert_allclose(push, 24.0 * winds.T, atol=1e-9)


def test_a_leaning_bar_takes_the_wind_on_its_projected_area() -> None:
    cut = frame(cantilever(1000.0, 20.0, 20.0, (1.0, 0.0, 1.0)))
    loads = bar_wind(cut, directions(4), lambda z: np.full_like(z, 1000.0), lambda s, d, q: np.full_like(d, 1.2))
    push = np.linalg.norm(foot(cut, loads), axis=0)
    np.testing.assert_allclose(push, 24.0 * np.array([np.sqrt(0.5), 1.0, np.sqrt(0.5), 1.0]), rtol=1e-12)


def test_leaves_as_plates_are_some_twelve_kilonewton() -> None:
    """1,260 leaves of 60 cm2, 1170 Pa, drag 1.3: 11.5 kN, which can govern the trunk; streaming a sixth of it."""
    cut = frame(leafy_gallows(1260))
    foliage = Foliage(np.full(1260, 0.05), np.full(1260, 6000.0))
    push = foot(cut, leaf_wind(cut, foliage, lambda z: np.full_like(z, 1170.0)))[0, 0]
    drags = leaf_drags()
    assert push * drags["plates"] == pytest.approx(11_498.8, rel=1e-4)
    assert drags["streaming"] / drags["plates"] == pytest.approx(0.154, abs=1e-3)


def test_a_leaf_that_swings_hangs_where_wind_and_weight_balance() -> None:
    """A hinged plate by its own moments: push x cos(turn) at half its length against weight x sin(turn) there; the
    pull along the wind is push x cos^2. Halving for the turn, in five winds; 2 kg of 200 cm2, and a copper leaf."""
    for mass, area in ((2.0, 20_000.0), (0.0215, 2250.0)):
        for q in (1.0, 10.0, 100.0, 500.0, 1500.0):
            push, low, high = 1.3 * q * area * 1e-6, 0.0, np.pi / 2.0
            for _ in range(60):
                turn = (low + high) / 2.0
                low, high = (turn, high) if push * np.cos(turn) > mass * GRAVITY * np.sin(turn) else (low, turn)
            across = np.cos(turn) ** 2
            found = swung_drag(np.array([q]), Foliage(np.array([mass]), np.array([area])), 1.3, 0.2)
            assert float(found[0]) == pytest.approx(1.3 * across + 0.2 * (1.0 - across), rel=1e-9)


def test_any_wind_direction_is_a_sum_of_two() -> None:
    held = conditions(american())
    tree = leafy_gallows(3)
    cut = frame(tree)
    loads, winds = basic_loads(cut, held, Foliage(np.full(3, 0.05), np.full(3, 4000.0)), 12)
    rows = {name: forces(cut, each).within[:1] for name, each in loads.items()}
    for combo in combinations(held):
        both = combined(combo, rows, winds)
        if combo.wind and not combo.is_iced:
            bars = bar_wind(cut, winds, pressure(held, 51.4096), drag(held))
            for number, wind in enumerate(winds):
                push = forces(cut, bars).within[0, :3, number] * combo.wind
                push = push + combo.wind * combo.drag * rows[leaves_of(combo.bound)][0, :3] @ wind[:2]
                push = push + combo.dead * rows["dead"][0, :3, 0]
                np.testing.assert_allclose(both[0, :3, number], push, atol=1e-9)


def test_american_factors_are_those_of_lrfd() -> None:
    """ASCE 7-16 2.3.1 and 2.3.3: 1.4D; 1.2D + 1.0W; 0.9D + 1.0W; 1.2D + 1.0Di + 1.0Wi."""
    strength = [c for c in combinations(conditions(american())) if c.is_strength]
    factors = {(c.dead, c.wind, c.ice) for c in strength}
    assert factors == {(1.4, 0, 0), (1.2, 1.0, 0), (0.9, 1.0, 0), (1.2, 1.0, 1.0), (0.9, 1.0, 1.0)}
    assert all("ASCE 7-16 2.3" in c.clause for c in strength)


def test_european_factors_are_those_of_en_1990() -> None:
    """EN 1990 table A1.2(B): 1.35, 1.5, favourable 1.0; with psi 0.5 on what accompanies."""
    strength = [c for c in combinations(conditions(european())) if c.is_strength]
    factors = {(c.dead, c.wind, c.ice) for c in strength}
    assert factors == {(1.35, 0, 0), (1.35, 1.5, 0), (1.0, 1.5, 0), (1.35, 0.75, 1.5), (1.35, 1.5, 0.75)}
    assert not any("ASCE" in c.clause for c in strength)


def test_without_wind_nothing_blows_and_without_ice_none_forms() -> None:
    held = conditions(commission(""))
    loads, _ = basic_loads(frame(leafy_gallows()), held, Foliage(np.ones(1), np.ones(1)))
    assert set(loads) == {"dead"}
    assert [c.name for c in combinations(held)] == ["1.4D", "D"]
    cut = frame(leafy_gallows())
    lumps = np.ones(len(cut))
    stiff = stiffness(cut, 200e3, 77.2e3)
    assert answered(cut, held, loads, stiff, lumps, sways(cut, stiff, lumps)) == {}


def test_ice_weighs_what_its_ring_does() -> None:
    """ASCE 7-16 10.4.1: pi t (D + t) at 56 pcf (900 kg/m3), t with its rise of height at the node."""
    held = conditions(american())
    cut = frame(post(1000.0, 20.0), parts=40)
    loads, _ = basic_loads(cut, held, NONE)
    thick = ice_thickness(held, cut.points[:, 2])
    assert thick[-1] == pytest.approx(10.0 * 0.1**0.1, rel=1e-9)
    area = float(np.mean(asce7.bar_ice_area(20.0, thick[1:])))
    assert -foot(cut, loads["ice"])[2, 0] == pytest.approx(area * 900e-9 * 1000.0 * GRAVITY, rel=0.02)


def test_iced_leaves_catch_wind_on_their_ice() -> None:
    """A disc is its own check: radius r grows by t, area pi (r + t)^2 = A + P t + pi t^2; a leaf has the longer rim."""
    area, t = np.pi * 30.0**2, 25.4
    disc = area + 2.0 * np.pi * 30.0 * t + np.pi * t**2
    found = float(iced_areas(np.array([area]), np.array([t]))[0])
    # An ellipse twice as long as broad has 1.09 of a circle's rim.
    assert disc < found < disc * 1.06
    held = conditions(american())
    cut, foliage = frame(leafy_gallows(2)), Foliage(np.full(2, 0.05), np.full(2, 3000.0))
    loads, _ = basic_loads(cut, held, foliage, 4)
    bare = leaf_wind(cut, foliage, pressure(held, 17.8816)).points.sum()
    thick = float(ice_thickness(held, np.array([800.0]))[0])
    grown = float(iced_areas(np.array([3000.0]), np.array([thick]))[0]) / 3000.0
    assert loads["iced_leaves"].points.sum() / bare == pytest.approx(grown, rel=1e-6)


def test_wet_snow_lies_on_the_plan_of_bars_and_on_half_of_each_leaf() -> None:
    """1 kPa on a level limb of 10 mm by 500 mm is 5 N, on the upright post nothing, on half of 3000 mm2 1.5 N."""
    held = conditions(commission(WINDY + 'snow = "1 kPa"\n'))
    cut = frame(leafy_gallows())
    loads, _ = basic_loads(cut, held, Foliage(np.array([0.05]), np.array([3000.0])), 4)
    assert -foot(cut, loads["snow"])[2, 0] == pytest.approx(6.5)
    names = [c.name for c in combinations(held) if c.snow]
    assert names == ["1.2D + 1.6S + 0.5W", "1.2D + 0.5S + 1W"]


def test_european_bars_take_the_rough_cylinder() -> None:
    held = conditions(european())
    q = pressure(held, 26.0)(np.array([10_000.0]))
    assert q[0] == pytest.approx(993.84, abs=0.01)
    assert drag(held)(np.array([50.0]), np.array([20.0]), q)[0] == 1.2


def test_a_person_pulls_on_what_is_within_reach_and_nothing_else() -> None:
    cut = frame(leafy_gallows())
    at, rows, nodes = person_pulls(cut, 700.0, 1391.0)
    assert rows.tolist() == [0]
    assert cut.points[nodes[0], 2] <= 700.0
    # An upright post is pulled sideways, a level limb downward.
    np.testing.assert_allclose(at(nodes[:1]).points[nodes[0], :, 0], [1391.0, 0.0, 0.0])
    at, rows, nodes = person_pulls(cut, 2000.0, 1391.0)
    assert rows.tolist() == [0, 1]
    np.testing.assert_allclose(at(nodes[1:]).points[nodes[1], :, 0], [0.0, 0.0, -1391.0])
    assert cut.stations[nodes[1]] == pytest.approx(500.0)


def test_nominal_leaves_weigh_as_their_sheet() -> None:
    """24 oz copper, 7.33 kg/m2 (ASTM B370: 24 oz a square foot), on 0.4 x 75 mm squared, and a loop of 5 g."""
    found = foliage_for(leafy_gallows(2), commission())
    assert found.areas.tolist() == [2250.0, 2250.0]
    np.testing.assert_allclose(found.masses, 0.005 + 2250e-6 * 7.33, atol=2e-5)


def test_a_pipe_drawn_to_a_point_weighs_as_its_volume() -> None:
    """A pipe keeps its wall while it is drawn in, until the bore closes; the tree's own volume is the reference."""
    tree = replace(cantilever(2000.0, 76.1, 7.2).coned(froms=[900.0]), walls=np.array([8.0]))
    cut = frame(tree)
    assert cut.bores[0] == pytest.approx(60.1)
    assert cut.bores[-1] == 0.0
    weight = -foot(cut, steel_weight(cut, 7850.0))[2, 0]
    assert weight == pytest.approx(float(tree.volumes.sum()) * 7850e-9 * GRAVITY, rel=1e-9)
