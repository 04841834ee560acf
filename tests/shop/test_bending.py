"""Bend limits, rounding on paper, offsets for bending by eye, saddles."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from armature.commission import Tools
from armature.shop.bending import (
    COLD,
    HOT_PRESS,
    NO_TOOL,
    PRESS,
    Forge,
    arc_offsets,
    bend_faults,
    bends_on_paper,
    methods,
    paper_for,
)
from armature.shop.chalk import floor_offsets
from armature.shop.saddles import saddle
from armature.tree import bend_list, bent, chain, heels
from tests.trees import post, random_tree

TWO_BENDS = chain([[0, 0, 0], [300, 0, 0], [300, 200, 0], [300, 200, 150]], [0, 40, 40, 0])


def test_a_bend_tighter_than_the_bar_allows_is_named() -> None:
    tree = random_tree(8)
    tight = bend_faults(tree, Forge(least_radius=2.5))
    # Bends of these trees have 2.5 bar diameters to the middle line, so two inside at full bar: under 2.5 all fail.
    assert {fault.rule for fault in tight} == {"inside radius under the hot limit"}
    assert not bend_faults(tree, Forge())


def test_bends_under_five_degrees_are_refused() -> None:
    slight = [fault for fault in bend_faults(random_tree(8), Forge(least_deg=12.0)) if "least" in fault.rule]
    bends = bend_list(random_tree(8).chains)
    assert len(slight) == int((bends.bends < 12.0).sum()) > 0


def test_thin_bars_with_wide_bends_are_bent_cold_and_thick_ones_hot() -> None:
    tree = random_tree(8)
    bends = bend_list(tree.chains)
    found = methods(tree, bends, Forge())
    assert (found[tree.ranks[bends.members] == 4] == COLD).any()
    assert (found[tree.ranks[bends.members] == 0] == HOT_PRESS).all()


def test_a_shop_that_bends_cold_bends_every_bar_cold_and_thick_ones_in_the_press() -> None:
    tree = random_tree(8)
    bends = bend_list(tree.chains)
    found = methods(tree, bends, Forge(all_cold=True))
    assert set(found.tolist()) == {COLD, PRESS}
    assert (found[tree.ranks[bends.members] == 4] == COLD).all()
    assert (found[tree.ranks[bends.members] == 0] == PRESS).all()


def test_a_pipe_that_no_tool_bends_is_told_while_planning() -> None:
    tree = random_tree(8)
    pipe = replace(tree, walls=np.where(tree.ranks == 0, 5.0, 0.0))
    bends = bend_list(pipe.chains)
    narrow = Tools.model_validate({"press": {"thickest": "20 mm"}})
    own = pipe.ranks[bends.members] == 0
    assert (methods(pipe, bends, Forge())[own] == PRESS).all()
    assert (methods(pipe, bends, Forge(narrow))[own] == NO_TOOL).all()
    assert any("no tool in shop.tools bends a pipe" in fault.rule for fault in bend_faults(pipe, Forge(narrow)))


def test_rounding_marks_does_not_add_up_along_the_bar() -> None:
    tree = random_tree(40)
    bends = bend_list(tree.chains)
    paper = paper_for("inch")
    printed = bends_on_paper(bends, tree.lengths, paper)
    # Half of a sixteenth, whatever the number of the bend.
    assert np.abs(printed.marks - bends.marks).max() <= 25.4 / 32 + 1e-9
    zero = np.zeros((len(tree), 3))
    made = bent(printed, zero, zero + [1.0, 0, 0], zero + [0, 1.0, 0])
    assert np.abs(made.lengths - tree.lengths).max() <= 25.4 / 32 + 1e-6


def test_chord_and_rise_are_those_of_the_circle() -> None:
    chord, rise = arc_offsets(np.array([50.0]), np.array([180.0]))
    assert (chord[0], rise[0]) == pytest.approx((100.0, 50.0))


def test_floor_offsets_measure_the_same_distances_as_space() -> None:
    found = floor_offsets(TWO_BENDS, 0, 50.0)
    assert found.base_mm == pytest.approx(np.sqrt(300**2 + 200**2 + 150**2))
    np.testing.assert_allclose(found.frame @ found.frame.T, np.eye(3), atol=1e-12)
    assert found.rises.max() >= np.abs(found.lifts).max()


def test_a_straight_bar_has_no_rise() -> None:
    found = floor_offsets(post().chains, 0, 100.0)
    assert not found.rises.any()
    assert not found.lifts.any()


@pytest.mark.parametrize(("child", "parent", "lean"), [(10.0, 40.0, 50.0), (20.0, 20.0, 90.0), (6.35, 16.0, 30.0)])
def test_every_point_of_a_wrap_lies_on_the_skin_of_the_parent(child: float, parent: float, lean: float) -> None:
    found = saddle(child, parent, lean)
    a, f = np.radians(lean), found.around / (child / 2.0)
    deepest = _nearest_reach(child, parent, lean)
    along = found.cut + deepest
    # The same point in the parent's frame: u away from it, b across; n points to the toe, so the heel is at -n.
    away = along * np.sin(a) - child / 2.0 * np.cos(f) * np.cos(a)
    across = child / 2.0 * np.sin(f)
    np.testing.assert_allclose(np.hypot(away, across), parent / 2.0, atol=1e-9)


def _nearest_reach(child: float, parent: float, lean: float) -> float:
    setback = parent / 2.0 / np.sin(np.radians(lean))
    heel = heels(np.array([child]), np.array([parent]), np.array([lean]), np.array([setback]))[0]
    return float(setback - heel)
