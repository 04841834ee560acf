"""Checks refer to what stands, and fix the pose."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from armature.shop import ShopPlan, shop_plan
from armature.tree import TWIG
from tests.shop.commissions import commission
from tests.trees import random_tree

TIGHT = 'shop.transport.length = "1500 mm"\nshop.transport.width = "900 mm"\nshop.transport.height = "900 mm"\n'


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    more = f'shop.anvil.copies = 0\n{TIGHT}shop.transport.least_splice = "8 mm"\n'
    return shop_plan(random_tree(60), commission(tmp_path_factory.mktemp("job"), more=more))


def test_checks_name_only_what_stands_when_the_member_is_held(plan: ShopPlan) -> None:
    when, tree, sections = plan.weld_numbers, plan.tree, plan.sections
    assert plan.on_site.any()
    # A bar that is sawn for transport has its START in one section, its tip in the last that begins on it.
    splices = [(each.splice, number) for number, each in enumerate(sections.sections) if each.splice is not None]
    cuts = sorted((cut.station_mm, cut.row, number) for cut, number in splices if not cut.at_joint)
    last = {row: number for _, row, number in cuts}
    assert last
    asked = 0
    for row in range(len(tree)):
        for name in plan.poses.names[row].tolist():
            tag, point = name.split(" ")
            if tag == "pin":
                continue
            other, asked = tree.rows[tag], asked + 1
            assert other != row
            # A tape pulls the tip of a twig aside.
            assert point != "tip" or tree.ranks[other] < TWIG or tree.ranks[row] == TWIG
            holds = last.get(other, sections.of_member[other]) if point == "tip" else sections.of_member[other]
            if plan.on_site[row]:
                # It comes with all that is welded on it: only what went up before stands there.
                assert holds < sections.of_member[row]
                continue
            assert holds == sections.of_member[row]
            # The first bar of a section is held over the grid before the others.
            assert when[other] < when[row] or plan.on_site[other]
    assert asked > len(tree)


def test_three_tapes_meet_at_every_tip_squarely_enough_to_fix_it(plan: ShopPlan) -> None:
    # The volume that three unit directions span: 1 where they are square to each other, 0 where they lie in a plane.
    assert np.quantile(plan.poses.spread, 0.1) > 0.3
    assert plan.poses.spread.min() > 0.1


def test_a_member_turned_at_its_weld_is_told_by_tapes_and_plumb_line(plan: ShopPlan) -> None:
    tree, poses = plan.tree, plan.poses
    for row in tree.of_rank(2).tolist():
        if not len(plan.bend_rows(row)):
            continue
        start = tree.starts[row]
        for axis in np.eye(3):
            turn = Rotation.from_rotvec(np.radians(5.0) * axis)
            tip, middle = (start + turn.apply(point - start) for point in (poses.tips[row], poses.middles[row]))
            moved = np.linalg.norm(tip - poses.tips[row]) + np.linalg.norm(middle - poses.middles[row])
            # Five degrees about any axis but the chord shows by more than what is called good on one of the checks.
            off = np.abs(np.concatenate([tip - poses.tips[row], middle - poses.middles[row]])).max()
            assert off > 0.2 * moved


def test_pins_stand_in_whole_feet_or_quarter_metres(tmp_path: Path) -> None:
    for units, step in (("inch", 304.8), ("mm", 250.0)):
        made = shop_plan(random_tree(8), commission(tmp_path, units=units, more="shop.anvil.copies = 0\n"))
        assert made.poses.pin_mm % step == pytest.approx(0.0, abs=1e-6)
