"""People, earthquake, galloping: by hand, where the commission asks for them."""

from __future__ import annotations

import numpy as np
import pytest

from armature.strength import assessed, checks
from armature.strength.actions import winds_of
from armature.strength.combinations import combinations
from armature.strength.conditions import conditions
from armature.strength.forces import forces
from armature.strength.frame import frame
from armature.strength.galloping import galloping, onset
from armature.strength.loads import Foliage, masses, pull_toward
from armature.strength.people import STROKE_MM, climbed, crowd_share, lowest, magnified, rocked
from armature.strength.quakes import base_share, quake_loads
from armature.strength.stiffness import stiffness
from armature.strength.sways import sways
from tests.strength.made import WINDY, american, cantilever, commission, leafy_gallows
from tests.trees import random_tree


def test_two_and_three_persons_pull_as_en_1176_says() -> None:
    """Annex A, from memory: (n 53.8 + 1.64 x 9.6 root n) x 10 x (1 + 1 / n): 1391, 1948, 2516 N."""
    assert [round(1391.0 * crowd_share(n)) for n in (1, 2, 3)] == [1391, 1948, 2516]
    assert crowd_share(0) == 1.0


def test_a_limb_within_reach_is_a_step_up_and_nobody_climbs_where_none_is_let() -> None:
    """A level limb of 40 mm at 800 mm: from it hands reach 3.3 m; of 10 mm it holds no foot."""
    from dataclasses import replace

    from armature.tree import cones

    thick = replace(leafy_gallows(), tapers=cones([60.0, 40.0], [60.0, 40.0]))
    held = conditions(commission("[site]\nclimbers = 1\n"))
    assert climbed(frame(thick), held) == pytest.approx(800.0 + 2500.0)
    assert climbed(frame(leafy_gallows()), held) == 2500.0
    assert climbed(frame(thick), conditions(commission("[site]\nclimbers = 0\n"))) == 2500.0


def test_an_upright_run_is_pulled_the_way_it_leans() -> None:
    cut = frame(cantilever(1000.0, 20.0, 20.0, (0.0, 0.2, 1.0)))
    np.testing.assert_allclose(pull_toward(cut, np.array([len(cut) - 1])), [[0.0, 1.0, 0.0]], atol=1e-12)


def test_a_post_rocked_at_its_rhythm_swings_as_the_textbook_says() -> None:
    """A weight of 60 kg on a post: one degree of freedom, F x magnified / k at the top, or the stroke."""
    tree = leafy_gallows()
    post = cantilever(2000.0, 40.0, 40.0)
    cut = frame(post, parts=16)
    lumps = masses(cut, 7850.0, Foliage(np.zeros(0), np.zeros(0)))
    lumps[:] = 0.0
    lumps[-1] = 60.0
    held = conditions(commission('[site]\ndamping = "5 %"\n'))
    sway = sways(cut, stiffness(cut, 200e3, 77.2e3), lumps)
    stiff = 3.0 * 200e3 * np.pi / 64.0 * 40.0**4 / 2000.0**3
    assert sway.frequencies[0] == pytest.approx(np.sqrt(stiff * 1000.0 / 60.0) / (2.0 * np.pi), rel=1e-3)
    found = assessed(tree, commission(""))
    made = rocked(cut, sway, held, np.zeros((1, 6)), found.limit, None)
    free = 250.0 * float(magnified(np.array(0.05))) / stiff
    assert sway.frequencies[0] < 2.5
    assert made.swings[0] == pytest.approx(min(free, STROKE_MM), rel=1e-3)
    assert made.moments[0] == pytest.approx(made.swings[0] * stiff * 2000.0, rel=1e-3)
    softer = rocked(cut, sway, held, np.zeros((1, 6)), found.limit, np.array([0.05]))
    assert softer.moments[0] <= made.moments[0]


def test_head_room_is_checked_where_it_is_asked_for() -> None:
    """The gallows' leaf hangs at 800 mm, under its bar of 10, its loop of 25 and its own length."""
    tree, area = leafy_gallows(), np.array([2000.0])
    height, tag = lowest(frame(tree), area)
    assert tag == "A"
    assert height == pytest.approx(800.0 - 25.0 - np.sqrt(8.0 * 2000.0 / np.pi))
    rows = checks(assessed(tree, commission(WINDY + 'head_room = "2.1 m"\n'), np.array([0.05]), area))
    row = next(row for row in rows if "heads and eyes" in row.title)
    assert row.ratio == pytest.approx(2100.0 / height)
    assert row.over == ("A",)
    assert not any("heads" in row.title for row in checks(assessed(tree, commission(WINDY))))


def test_an_earthquake_is_the_weight_turned_sideways() -> None:
    """S_DS 0.5 over R 1.25: 0.4 of the weight; at 4 s S_D1 / T R governs: 0.2 / 5 = 0.04; never under 0.03."""
    site = WINDY + "quake = {short = 0.5, second = 0.2, response = 1.25}\n"
    held = conditions(commission(site))
    assert base_share(held, 5.0) == pytest.approx(0.4)
    assert base_share(held, 0.25) == pytest.approx(0.04)
    found = assessed(random_tree(6), commission(site))
    dead = next(each for each in found.base if each.name == "D")
    shaken = next(each for each in found.base if each.name == "1.2D + Ev + Eh")
    share = base_share(held, float(found.gusts["plates"].frequencies[0]))
    assert shaken.shear == pytest.approx(share * dead.vertical, rel=1e-6)
    assert shaken.vertical == pytest.approx(1.3 * dead.vertical, rel=1e-6)
    assert not any(combo.quake for combo in combinations(conditions(american())))


def test_quake_loads_add_up_to_the_share() -> None:
    from armature.strength.actions import dead_loads

    held = conditions(commission("[site]\nquake = {short = 1.0, second = 1.0, response = 2.0}\n"))
    cut = frame(leafy_gallows())
    dead = dead_loads(cut, held, Foliage(np.array([1.0]), np.array([1.0])))
    push = forces(cut, quake_loads(held, dead, 10.0)["quake"]).within[0, 0, 0]
    assert push == pytest.approx(0.5 * -forces(cut, dead).within[0, 2, 0])


def test_iced_bars_gallop_from_twice_their_scruton_number() -> None:
    """EN 1991-1-4 eq. E.18 by hand: Sc = 4 pi 0.002 x 1.0 / (1.25 x 0.02^2) = 50.3; 2 x 50.3 x 5 Hz x 0.02 m."""
    assert float(onset(np.array(5.0), 0.002, np.array(1.0), np.array(20.0))) == pytest.approx(10.05, abs=0.02)
    found = assessed(random_tree(6), american())
    prone = galloping(found)
    assert prone is not None
    top = float(found.frame.points[found.frame.members == 0, 2].max())
    mean = winds_of(found.conditions, 40 * 0.44704).mean_speed(np.array([top / 1000.0]))
    assert prone.winds[0] == pytest.approx(1.25 * float(mean[0]))
    row = next(row for row in checks(found) if row.title.startswith("galloping"))
    assert row.aside
    assert galloping(assessed(leafy_gallows(), commission(WINDY))) is None
