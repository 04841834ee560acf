"""The simulated anvil against closed forms, the order of welding, and clashes."""

from __future__ import annotations

import numpy as np
import pytest

from armature.commission import Anvil
from armature.shop.access import Torch, weld_order
from armature.shop.anvil import strays
from armature.shop.touching import clashes
from tests.trees import gallows, random_tree

NONE = ("bend", "turn", "feed", "station", "clock", "lean", "roll", "drawn")


def anvil(copies: int, **held: float) -> Anvil:
    return Anvil().model_copy(update={"copies": copies, **held})


def exact(copies: int, **held: float) -> Anvil:
    return anvil(copies, **{**dict.fromkeys(NONE, 0.0), **held})


def test_no_tolerance_gives_the_tree_itself() -> None:
    found = strays(random_tree(40), exact(3), 1)
    # Rotations in doubles over four levels.
    assert found.distances.max() < 1e-6


def test_a_lean_error_alone_swings_the_tip_by_reach_times_angle() -> None:
    found = strays(gallows(), exact(4000, lean=2.0), 1)
    # The limb reaches 510 mm from P on the post; one standard deviation is half of the tolerance, 1 degree.
    assert found.offsets[:, 1, 2].std() == pytest.approx(510.0 * np.radians(1.0), rel=0.05)
    assert found.distances[:, 0].max() < 1e-9


def test_errors_of_a_member_do_not_depend_on_its_neighbours() -> None:
    tree = random_tree(16)
    fewer = tree.taken(np.arange(len(tree) - 3))
    whole, part = strays(tree, anvil(5), 7), strays(fewer, anvil(5), 7)
    np.testing.assert_allclose(whole.offsets[:, : len(fewer)], part.offsets, atol=1e-9)


def test_fitting_to_check_dimensions_brings_tips_nearer() -> None:
    tree = random_tree(40)
    plain = strays(tree, anvil(60), 1)
    fitted = strays(tree, anvil(60, fit=5.0), 1, fitted=True)
    assert np.median(fitted.distances) < 0.75 * np.median(plain.distances)


def test_a_member_fitted_without_error_points_at_its_place() -> None:
    # One bent limb on the ground: whatever its bends, its tip ends on the line to where it should be.
    tree = random_tree(8).taken([0])
    found = strays(tree, anvil(20, station=0.0, fit=1e-9), 3, fitted=True)
    wanted = tree.tips[0] - tree.starts[0]
    made = found.offsets[:, 0] + wanted
    np.testing.assert_allclose(np.cross(made, wanted) / np.dot(wanted, wanted), 0.0, atol=1e-9)


def test_every_member_held_to_the_grid_points_at_its_place_from_wherever_it_starts() -> None:
    tree = random_tree(24)
    found = strays(tree, anvil(6, fit=1e-9), 3, fitted=True)
    chains = found.chains
    starts, tips = chains.vertices[chains.offsets[:-1]], chains.vertices[chains.offsets[1:] - 1]
    wanted = np.tile(tree.tips, (6, 1)) - starts
    off = np.linalg.norm(np.cross(tips - starts, wanted), axis=1) / np.einsum("ij,ij->i", wanted, wanted)
    assert off.max() < 1e-9
    # Bars start where their parents really run, and are as long as they were made: tips are out by that alone.
    assert np.median(found.distances) > 1.0


def test_a_bend_bent_too_far_keeps_the_steel_between_its_marks() -> None:
    tree = random_tree(24)
    found = strays(tree, exact(3, bend=2.0), 1)
    np.testing.assert_allclose(found.chains.lengths.reshape(3, -1), np.tile(tree.lengths, (3, 1)), rtol=1e-9)
    assert found.distances.max() > 5.0


def test_members_that_cross_clash_in_every_copy_and_a_lone_limb_in_none() -> None:
    tree = random_tree(60)
    still = strays(tree, exact(2), 1)
    assert all(clash.chance_still == 1.0 for clash in clashes(tree, still))
    assert clashes(gallows(), strays(gallows(), exact(2), 1)) == []


def test_wind_can_only_be_counted_where_sway_is_given() -> None:
    tree = random_tree(60)
    found = strays(tree, anvil(10), 1)
    assert all(clash.chance_wind == 0.0 for clash in clashes(tree, found))
    windy = clashes(tree, found, np.full(len(tree), 50.0))
    assert any(clash.chance_wind > 0.0 for clash in windy)


def test_a_parent_is_welded_before_its_children() -> None:
    tree = random_tree(80)
    order = weld_order(tree).order
    when = np.empty(len(tree), dtype=int)
    when[order] = np.arange(len(tree))
    assert (when[tree.parents[1:]] < when[1:]).all()
    assert sorted(order.tolist()) == list(range(len(tree)))


def test_each_joint_is_reached_among_those_that_are_welded_before_it() -> None:
    tree = random_tree(30)
    found = weld_order(tree)
    for number in range(1, len(tree)):
        standing = np.sort(found.order[: number + 1])
        row = found.order[number]
        # The tree as it stands then, by itself: the joint is the last, so what is reached of it is what it says.
        alone = weld_order(tree.taken(standing))
        assert alone.late[np.searchsorted(standing, row)] == found.reached[row]


def test_waiting_never_brings_a_joint_into_reach() -> None:
    found = weld_order(random_tree(80))
    assert (found.late <= found.reached).all()


def test_a_lone_limb_is_reached_all_round() -> None:
    assert weld_order(gallows()).reached[1] == 8


def test_a_torch_as_thick_as_the_crown_reaches_less() -> None:
    tree = random_tree(80)
    slim, stout = weld_order(tree), weld_order(tree, Torch(nozzle_mm=60.0, hand_mm=250.0))
    assert stout.reached.sum() < slim.reached.sum()
    assert stout.before
