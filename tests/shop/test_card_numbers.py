"""The figures on cards: whole steps all, near what they stand for, and chosen so that their errors cancel."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import armature
from armature.commission import read
from armature.grow import grow
from armature.shop import card_numbers
from armature.shop.anvil import paper_strays
from armature.shop.bending import bends_on_paper, chalk_clocks, joints_on_paper, paper_for
from armature.shop.card_numbers import Written, written
from armature.tree import Tree, bend_list, joints
from tests.trees import post, random_tree

TREE = random_tree(60)


def figures(tree: Tree, unit: str) -> Written:
    bends = bend_list(tree.chains)
    return written(tree, joints(tree), bends, chalk_clocks(bends), paper_for(unit))


@pytest.fixture(scope="module", params=["inch", "mm"])
def kept(request: pytest.FixtureRequest) -> tuple[Written, float]:
    return figures(TREE, request.param), paper_for(request.param).length_mm


def test_every_figure_is_a_whole_step(kept: tuple[Written, float]) -> None:
    card, step = kept
    for lengths in (card.feet, card.lengths, card.begins, card.ends):
        np.testing.assert_allclose(lengths / step, np.round(lengths / step), atol=1e-9)
    grown = TREE.parents >= 0
    # The plumb line tells a tenth of a degree; a jig on a parent, whole ones.
    np.testing.assert_allclose(card.leans[~grown] * 10.0, np.round(card.leans[~grown] * 10.0), atol=1e-9)
    for angles in (card.clocks, card.leans[grown], card.rolls, card.bend_clocks, card.angles):
        np.testing.assert_allclose(angles, np.round(angles), atol=1e-9)


def test_rounding_together_brings_tips_nearer_than_rounding_one_by_one(kept: tuple[Written, float]) -> None:
    card, step = kept
    paper = paper_for("mm" if step == 1.0 else "inch")
    listed, bends = joints(TREE), bend_list(TREE.chains)
    alone = paper_strays(TREE, joints_on_paper(listed, paper), bends_on_paper(bends, TREE.lengths, paper))
    assert np.median(card.strays) < np.median(alone) / 3.0
    assert card.strays.max() < alone.max() / 2.0


def test_bends_follow_each_other_and_end_before_the_tip(kept: tuple[Written, float]) -> None:
    card, step = kept
    bends = bend_list(TREE.chains)
    assert (card.ends - card.begins >= step - 1e-9).all()
    same = np.diff(bends.members) == 0
    assert (card.begins[1:][same] >= card.ends[:-1][same] - 1e-9).all()
    assert (card.ends <= card.lengths[bends.members] + 1e-9).all()


def test_figures_stay_near_what_they_stand_for(kept: tuple[Written, float]) -> None:
    card, step = kept
    bends = bend_list(TREE.chains)
    # The nearest step and one more at most; what a clash with the bend before moves comes on top.
    assert np.abs(card.lengths - TREE.lengths).max() <= 1.5 * step + 1e-9
    assert np.abs(card.angles - bends.bends).max() <= 1.5 + 1e-9
    assert np.quantile(np.abs(card.begins - bends.marks), 0.9) <= 1.5 * step + 1e-9


def test_the_first_bend_goes_toward_the_chalk_line(kept: tuple[Written, float]) -> None:
    card, _ = kept
    first = bend_list(TREE.chains).numbers == 1
    assert not card.bend_clocks[first].any()


def test_a_straight_post_keeps_its_length_and_stands_plumb() -> None:
    card = figures(post(1000.0), "mm")
    assert (card.lengths[0], card.leans[0], card.strays[0]) == (1000.0, 0.0, 0.0)


@pytest.mark.parametrize("seed", [2, 10, 11])
def test_a_trunk_leans_by_no_less_than_nothing(seed: int) -> None:
    # These three go a step past plumb where errors cancel best: said as a lean to the other side.
    tree = random_tree(8, seed)
    card = figures(tree, "inch")
    assert card.leans[0] == pytest.approx(0.1)
    assert card.lean_bearing(0) == pytest.approx(270.0)


def test_the_trunk_is_set_by_compass() -> None:
    card = figures(TREE, "mm")
    chalk = joints(TREE).chalks[0]
    wanted = np.degrees(np.arctan2(chalk[0], chalk[1])) % 360.0
    off = (card.chalk_bearing(0) - wanted + 180.0) % 360.0 - 180.0
    assert abs(off) <= 1.5


def test_the_same_tree_gives_the_same_figures() -> None:
    one, other = figures(TREE, "inch"), figures(TREE, "inch")
    np.testing.assert_array_equal(one.bend_clocks, other.bend_clocks)
    np.testing.assert_array_equal(one.feet, other.feet)


@pytest.mark.parametrize("preset", ["espalier", "weeping", "maquette"])
def test_tips_from_paper_are_in_place_on_every_habit(preset: str) -> None:
    asked = read(Path(armature.__file__).parent.parent / "presets" / f"{preset}.toml")
    card = figures(grow(asked), asked.units)
    # What was asked of paper: 2.5 mm in the middle, 10 mm at worst. The espalier has a straight trunk that leans by
    # 0.4 deg and a twig that leaves its branch within a tight bend.
    assert np.median(card.strays) < 2.5
    assert card.strays.max() < 10.0


def test_members_that_are_far_off_are_rounded_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    once = figures(TREE, "inch").strays
    monkeypatch.setattr(card_numbers, "_FAR", 0.5)
    again = figures(TREE, "inch").strays
    # Kept only where it is nearer; children of a parent that moved are dealt anew, hence the mean.
    assert again.mean() < 0.9 * once.mean()


def test_what_a_made_member_carries_is_aimed_from_where_it_really_is() -> None:
    tree = random_tree(24, seed=4)
    bends, listed = bend_list(tree.chains), joints(tree)
    paper = paper_for("inch")
    exists = tree.ranks < 3
    plain = written(tree, listed, bends, chalk_clocks(bends), paper)
    known = written(tree, listed, bends, chalk_clocks(bends), paper, exists)
    assert known.strays[exists].max() == 0.0
    assert plain.strays[exists].max() > 0.0
    # A twig's own figures are all that moves its tip then.
    np.testing.assert_array_equal(known.chains.vertices[0], tree.chains.vertices[0])
    assert known.strays[~exists].mean() < plain.strays[~exists].mean()
