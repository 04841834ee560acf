"""A trunk that runs on to the top as a leader."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from armature.commission import changed
from armature.files.sound import flaw
from armature.grow import grow
from armature.grow.kept import in_order
from armature.grow.stems import leader_tapers, sites, stepped_diameters
from armature.tree import BRANCH, LIMB, TRUNK, TWIG, Tree, joints, no_leaves
from tests.grow.commissions import SIZES, commission
from tests.grow.test_growing import check_promises, least_gap
from tests.trees import random_tree

CASES = [(habit, seed) for seed, habit in enumerate(sorted(SIZES))]


def led(habit: str, seed: int, **more: Any) -> Tree:
    return grow(changed(commission(habit, seed, **more), {"growth.stem": "leader"}))


@pytest.fixture(scope="module")
def trees() -> list[Tree]:
    return [led(habit, seed) for habit, seed in CASES]


def test_counts_are_exact_and_members_keep_clear(trees: list[Tree]) -> None:
    for tree, (habit, seed) in zip(trees, CASES, strict=True):
        assert flaw(tree) == ""
        check_promises(tree, commission(habit, seed))
        assert least_gap(tree) > 0.0


def test_the_leader_is_the_end_of_the_trunk_and_bears_branches(trees: list[Tree]) -> None:
    for tree in trees:
        assert tree.of_rank(TRUNK).tolist() == [0]
        own = np.flatnonzero((tree.parents == 0) & (tree.ranks == BRANCH))
        assert tree.has_leader
        assert tree.tags[own].tolist() == [f"T{number:02d}" for number in range(1, len(own) + 1)]
        assert tree.stations[own].min() > tree.stations[tree.of_rank(LIMB)].max()
        # No knob: the trunk thins to a whip, and is the topmost bar but for twigs.
        assert tree.end_diameters[0] < 0.3 * tree.start_diameters[0]
        assert tree.tips[0, 2] > 0.85 * tree.tips[:, 2].max()


def test_the_trunk_steps_down_by_the_pipe_rule_where_each_limb_leaves(trees: list[Tree]) -> None:
    for tree, (habit, seed) in zip(trees, CASES, strict=True):
        exponent = commission(habit, seed).growth.pipe_exponent
        limbs = tree.of_rank(LIMB)
        limbs = limbs[np.argsort(tree.stations[limbs])]
        power = tree.start_diameters**exponent
        above = power[(tree.parents == 0) & (tree.ranks == BRANCH)].sum()
        beyond = np.cumsum(power[limbs][::-1])[::-1] + above
        here = tree.diameters_at(np.zeros(len(limbs), dtype=np.int64), tree.stations[limbs])
        # A step that has no room is left out, and a seat may ask for more: never for less.
        assert (here >= beyond ** (1.0 / exponent) * (1.0 - 1e-9)).all()
        assert (here >= 1.04 * tree.start_diameters[limbs] - 1e-9).all()
        assert here[0] == pytest.approx(tree.start_diameters[0])
        assert (np.diff(here) <= 1e-9).all()


def test_limbs_begin_on_the_trunks_skin_after_it_has_stepped_down(trees: list[Tree]) -> None:
    for tree in trees:
        listed = joints(tree)
        limbs = tree.of_rank(LIMB)
        feet, lean = listed.feet[limbs], np.radians(listed.leans[limbs])
        radius = tree.diameters_at(np.zeros(len(limbs), dtype=np.int64), feet) / 2.0
        # On a straight run the start stands off the axis by the setback's part square to it; bends add a little.
        np.testing.assert_allclose(tree.setbacks[limbs] * np.sin(lean), radius, rtol=0.05)


def test_a_leader_without_a_branch_to_spare_is_a_bare_whip() -> None:
    tree = led("spreading", 3, limbs=4, branches=4)
    assert not tree.has_leader
    assert (tree.ranks == LIMB).sum() == 4
    assert (tree.parents == 0).sum() == 4


def test_steps_by_hand() -> None:
    # Four limbs of 6 mm and a leader of 6 mm, n = 2: 6 times the square roots of 5, 4, 3, 2, 1.
    sizes = stepped_diameters(np.full(4, 6.0), 6.0, 2.0)
    np.testing.assert_allclose(sizes, 6.0 * np.sqrt([5, 4, 3, 2, 1]))
    # A thick limb beside a thin leader: the trunk seats it.
    assert stepped_diameters(np.array([20.0]), 1.0, 3.0)[0] == pytest.approx(1.02 * 1.04 * 20.0)


def test_a_step_stands_behind_its_weld_and_before_the_next() -> None:
    limbs, wanted = np.array([20.0, 20.0]), np.array([1000.0, 1400.0])
    sizes = stepped_diameters(limbs, 20.0, 2.0)
    places = sites(wanted, limbs, sizes, 1600.0)
    assert places.highs[0] < places.lows[1]
    tapers = leader_tapers(places, limbs, 3000.0, 5.0, np.array([1020.0, 1410.0]))
    lengths = np.array([3000.0])
    assert tapers.at(lengths, [0, 0], [1035.0, 1385.0]).round(3).tolist() == sizes[:2].round(3).tolist()
    assert tapers.at(lengths, [0, 0], [1425.0, 1600.0]).round(3).tolist() == sizes[1:].round(3).tolist()
    assert tapers.tips.tolist() == [5.0]


def test_the_same_leader_comes_again() -> None:
    assert led("spreading", 1).same_as(led("spreading", 1))
    assert not led("spreading", 1).same_as(led("spreading", 2))


def test_stems_come_first_by_number_and_forks_after_their_twigs() -> None:
    tree = random_tree(6, 2, limbs=1)
    twigs = tree.of_rank(TWIG)
    branch = int(tree.parents[twigs[0]])
    own = twigs[tree.parents[twigs] == branch]
    fork = replace(
        tree.alone([own[0]]), tags=np.array([f"{tree.tags[branch]}-{len(own) + 1}"]), parents=np.array([own[0]])
    )
    stem = replace(tree.alone([0]), tags=np.array(["T2"]))
    mixed = tree.grafted(stem, fork)
    order = np.random.default_rng(1).permutation(len(mixed))
    new = np.argsort(order)
    shuffled = replace(mixed.alone(order), parents=np.where(mixed.parents[order] >= 0, new[mixed.parents[order]], -1))
    sorted_tree = in_order(shuffled)
    assert sorted_tree.tags[:2].tolist() == ["T", "T2"]
    assert (sorted_tree.parents < np.arange(len(sorted_tree))).all()
    carried = sorted_tree.parents[sorted_tree.rows[str(fork.tags[0])]]
    assert sorted_tree.tags[carried] == tree.tags[own[0]]
    assert sorted_tree.hung(no_leaves()).taken(np.arange(len(mixed))).same_as(in_order(mixed.hung(no_leaves())))
