from dataclasses import replace

import numpy as np
import pytest

from armature.look import likeness
from armature.look.axes import skeleton_of_nodes

from .faults import copied, half_mirrored, turn_about
from .made import mirrored, turned
from .naturals import natural


@pytest.mark.parametrize("seed", [3, 4, 6])
def test_a_mirrored_crown_is_like_its_mirror_image_and_a_natural_one_is_not(seed: int) -> None:
    twin, own = skeleton_of_nodes(mirrored(seed)), skeleton_of_nodes(natural(seed))
    found = likeness.mirror_strongest(twin, likeness.crown_map(twin))
    assert found.value > 0.95
    assert found.azimuth % 180.0 == pytest.approx(90.0)  # it was mirrored in the plane x = 0
    assert likeness.mirror_strongest(own, likeness.crown_map(own)).value < 0.75


@pytest.mark.parametrize("fold", [2, 3, 4, 5])
def test_a_crown_set_around_its_trunk_is_like_itself_turned(fold: int) -> None:
    tree = skeleton_of_nodes(turned(4, fold))
    # 24 boxes do not divide by 5: the shared boxes of a fifth of a turn cost a few hundredths.
    assert likeness.turn_strongest(tree, likeness.crown_map(tree)).value > 0.85
    own = skeleton_of_nodes(natural(4))
    assert likeness.turn_strongest(own, likeness.crown_map(own)).value < 0.4


def test_the_side_map_of_a_mirrored_tree_folds_onto_itself() -> None:
    tree = skeleton_of_nodes(mirrored(3))
    square = np.array([90.0])
    maps = likeness.side_maps(tree, square)
    found = likeness.mirror_mean(tree, maps, square)
    assert found.value > 0.95
    assert found.azimuth == 90.0
    out = tree.middles - tree.foot
    off_axis = np.hypot(out[:, 0], out[:, 1]) > 0.03 * tree.height
    assert maps.sum() == pytest.approx(tree.spans[off_axis].sum())


def test_copies_are_found_whatever_their_turn_and_nothing_else_is() -> None:
    tree = skeleton_of_nodes(natural(1))
    assert likeness.twins(tree).value < 3.0
    fault = copied(tree, 2, np.random.default_rng(5))
    found = likeness.twins(fault.tree)
    named = {str(tag) for tag in fault.tree.tags[found.high_rows]}
    assert fault.tags <= named


def test_mirrored_members_count_as_alike() -> None:
    fault = half_mirrored(skeleton_of_nodes(natural(1)), 2, np.random.default_rng(1))
    assert likeness.twins(fault.tree).value > 50.0


def test_turning_the_whole_tree_changes_no_likeness_by_more_than_its_boxes() -> None:
    tree = skeleton_of_nodes(natural(2))
    turn = turn_about(np.array([0.0, 0.0, 1.0]), np.radians(45.0))
    other = replace(tree, points=(tree.points - tree.foot) @ turn.T + tree.foot)
    # 45 deg are three whole boxes of 24: the maps are the same but for their numbering.
    assert likeness.crown_map(other) == pytest.approx(np.roll(likeness.crown_map(tree), 3, axis=0))
