"""The list alone must rebuild the tree."""

from __future__ import annotations

import numpy as np
import pytest

from armature.tree import assembled, bend_list, joints
from tests.trees import gallows, random_tree


@pytest.mark.parametrize("seed", range(5))
def test_joints_and_bends_alone_bring_every_tip_back_to_its_place(seed: int) -> None:
    tree = random_tree(60, seed)
    again = assembled(tree.parents, joints(tree), bend_list(tree.chains))
    # Four levels of rotations in doubles: a nanometre in some metres.
    np.testing.assert_allclose(again.vertices, tree.chains.vertices, atol=1e-6)
    np.testing.assert_allclose(again.radii, tree.chains.radii)


def test_a_straight_member_has_its_chalk_line_at_roll_zero() -> None:
    found = joints(gallows())
    assert found.rolls.tolist() == [0.0, 0.0]
    # n = cos(90) u - sin(90) t = -t: the chalk of a level limb on an upright post looks down.
    np.testing.assert_allclose(found.chalks[1], [0.0, 0.0, -1.0], atol=1e-12)


def test_a_level_limb_leans_ninety_degrees_toward_the_chalk_of_the_post() -> None:
    found = joints(gallows())
    assert found.leans[1] == pytest.approx(90.0)
    assert found.clocks[1] == pytest.approx(0.0)
    assert found.feet[1] == pytest.approx(800.0)
    assert found.parent_diameters.tolist() == [0.0, 20.0]
    np.testing.assert_allclose(found.points[1], [0.0, 0.0, 800.0])
