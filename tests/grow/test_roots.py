"""Roots run from the trunk's foot onto the ground, and are members like others."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from armature.commission import changed, read
from armature.edge import CommissionError, GrowthError
from armature.files.lists import joints_csv, members_csv
from armature.files.sound import flaw
from armature.grow import MeetingError, cleared, grow, kept_members
from armature.grow.roots import root_diameter
from armature.look import judged
from armature.make import planned
from armature.strength import assessed
from armature.tree import ROOT, Tree, assembled, bend_list, joints, sampled
from tests.grow.commissions import commission
from tests.grow.test_growing import least_gap

ASKED = changed(commission("spreading", 4, limbs=4, branches=14, twigs=160), {"growth.stem": "leader"})
ROOTED = changed(ASKED, {"growth.roots": 5})


@pytest.fixture(scope="module")
def tree() -> Tree:
    return grow(ROOTED)


def test_counts_are_exact_and_all_else_stays(tree: Tree) -> None:
    assert flaw(tree) == ""
    roots = tree.of_rank(ROOT)
    assert tree.tags[roots].tolist() == ["R1", "R2", "R3", "R4", "R5"]
    assert (tree.parents[roots] == 0).all()
    assert tree.taken(np.setdiff1d(np.arange(len(tree)), roots)).same_as(grow(ASKED))
    assert str(tree.has_leader) == "True"


def test_roots_lie_on_the_ground_and_never_under_it(tree: Tree) -> None:
    roots = tree.alone(tree.of_rank(ROOT))
    line = sampled(roots.chains, 0.02, 4.0)
    rows = np.repeat(np.arange(len(roots)), np.diff(line.offsets))
    under = line.points[:, 2] - roots.diameters_at(rows, line.stations) / 2.0
    trunk = tree.start_diameters[0]
    # Corners lie on a straight fall, a taper that holds at first does not quite: a tenth of the root at most.
    assert under.min() > -0.1 * roots.start_diameters.max()
    away = np.hypot(*line.points[:, :2].T)
    assert (under[away > 2.2 * trunk] < 0.2 * roots.start_diameters.max()).all()
    assert (np.hypot(*roots.tips[:, :2].T) > 3.0 * trunk).all()


def test_roots_begin_on_the_skin_bend_as_the_shop_can_and_keep_clear(tree: Tree) -> None:
    roots = tree.of_rank(ROOT)
    line = sampled(tree.alone([0]).chains, 0.01, 1.0)
    for row in roots.tolist():
        away = np.linalg.norm(line.points - tree.starts[row], axis=1)
        near = int(np.argmin(away))
        # Points every millimetre: the true foot is at most half a millimetre away along the trunk.
        assert away[near] == pytest.approx(tree.diameters_at([0], [line.stations[near]])[0] / 2.0, abs=0.15)
    listed = joints(tree)
    again = assembled(tree.parents, listed, bend_list(tree.chains))
    np.testing.assert_allclose(again.vertices, tree.chains.vertices, atol=1e-5)
    assert (joints(tree).leans[roots] > 90.0).all()
    bends = bend_list(tree.alone(roots).chains)
    thick = tree.start_diameters[roots][bends.members]
    assert (bends.radii >= (ROOTED.shop.bend_factor + 0.5) * thick - 1e-6).all()
    assert (bends.bends >= ROOTED.shop.least_bend - 1e-6).all()
    assert least_gap(tree) > 0.0


def test_together_roots_are_as_thick_as_the_trunk_while_there_is_room_round_it() -> None:
    assert 4 * root_diameter(100.0, 4, 2.0) ** 2 == pytest.approx(100.0**2)
    # Twelve roots of the pipe rule would not fit side by side: 12 x 1.5 x d is the trunk's girth.
    assert root_diameter(100.0, 12, 2.0) == pytest.approx(np.pi * 100.0 / 18.0)


def test_lists_strength_and_look_take_roots_as_members(tree: Tree) -> None:
    none = np.zeros(len(tree))
    assert "\nR3,root,T," in members_csv(tree, none, none)
    assert "\nR3,T," in joints_csv(tree)
    found = assessed(tree, ROOTED)
    assert np.isfinite(found.ratios[tree.of_rank(ROOT)]).all()
    # Roots are no part of the crown.
    assert judged(tree).overall == judged(grow(ASKED)).overall


def test_a_made_root_comes_back_as_it_is(tree: Tree) -> None:
    kept = kept_members(tree, ["R2"])
    again = grow(changed(ROOTED, {"growth.roots": 6}), kept)
    row, old = again.rows["R2"], tree.rows["R2"]
    assert (again.chains.taken([row]).vertices == tree.chains.taken([old]).vertices).all()
    assert (again.ranks == ROOT).sum() == 6


def test_a_box_at_the_foot_and_too_many_roots_are_refused() -> None:
    with pytest.raises(CommissionError, match=r"growth\.roots"):
        changed(ASKED, {"growth.roots": 13})
    box = '[[canopy.keep_out]]\nmin = ["-2 m", "-2 m", "-1 m"]\nmax = ["2 m", "2 m", "0.4 m"]'
    growth = "growth = {limbs = 2, branches = 6, twigs = 24, roots = 4}"
    walled = read(f'title = "T"\n{growth}\ncanopy.height = "3 m"\n{box}\n')
    with pytest.raises(GrowthError, match=r"growth\.roots: 4 roots find no room"):
        grow(walled)


def test_the_shop_plans_a_tree_with_leader_swellings_and_roots(tmp_path: Path) -> None:
    asked = changed(commission("rounded", 2, leaves=0), {"growth.stem": "leader", "growth.swelling": 0.3})
    plans = planned(changed(asked, {"growth.roots": 4}), tmp_path, ("plates", "mending", "strength"))
    assert plans.shop is not None
    assert [fault for fault in plans.shop.faults if "R" in str(fault)] == []
    assert (plans.shop.kinds[plans.tree.of_rank(ROOT)] == "weld").all()


def test_roots_that_meet_are_never_swung_off_the_ground(tree: Tree) -> None:
    factor = np.where(tree.ranks == ROOT, 6.0, 1.0)
    tapers = replace(
        tree.tapers,
        diameters=tree.tapers.diameters * factor[tree.tapers.members],
        tips=tree.tapers.tips * factor,
    )
    with pytest.raises(MeetingError, match=r"R\d and"):
        cleared(replace(tree, tapers=tapers), ROOTED)
