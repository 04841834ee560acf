"""Forces and movement: equilibrium as an identity, exactness whatever the cut, one case as in many."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armature.edge import CommissionError
from armature.strength.forces import Loads, forces, movement
from armature.strength.frame import LOAD_SHARES, Frame, frame
from armature.strength.stiffness import moved, stiffness
from armature.tree import Tree
from tests.strength.made import cantilever, prismatic_tree, random_loads
from tests.trees import gallows, post, random_tree


def resultant(cut: Frame, loads: Loads) -> np.ndarray:
    """Return all loads as force and moment about the origin, summed plainly: (6,)."""
    total = np.zeros(6)
    parts = [(cut.points, loads.points[:, :, 0])]
    assert loads.lines is not None
    for number, share in enumerate(LOAD_SHARES):
        parts.append((cut.at(share)[0], loads.lines[:, number, :, 0] * cut.spans[:, None] / 2.0))
    for points, push in parts:
        total[:3] += push.sum(axis=0)
        total[3:] += np.cross(points, push).sum(axis=0)
    return total


@pytest.mark.parametrize("tree", [post(), gallows(), random_tree(40), prismatic_tree(30, 2)])
def test_the_ground_holds_exactly_what_pulls_on_the_tree(tree: Tree) -> None:
    cut = frame(tree)
    loads = random_loads(cut, 5)
    total = resultant(cut, loads)
    np.testing.assert_allclose(forces(cut, loads).within[0, :, 0], total, atol=1e-9 * np.abs(total).max())


@settings(max_examples=20)
@given(seed=st.integers(0, 10_000), twigs=st.integers(1, 12))
def test_every_joint_is_in_equilibrium(seed: int, twigs: int) -> None:
    """At each node: what comes from beyond, from the children and from the loads is what goes on toward the root."""
    cut = frame(random_tree(twigs, seed))
    loads = random_loads(cut, seed)
    found = forces(cut, loads)
    size = np.abs(found.within).max()
    for node in cut.joints.tolist():
        handed = found.beyond[node, :, 0].copy()
        handed[:3] += loads.points[node, :, 0]
        for child in np.flatnonzero(cut.parent_nodes == node).tolist():
            first = cut.offsets[child]
            push = found.within[first, :, 0]
            handed[:3] += push[:3]
            handed[3:] += push[3:] + np.cross(cut.points[first] - cut.points[node], push[:3])
        np.testing.assert_allclose(found.within[node, :, 0], handed, atol=1e-10 * size)


def test_the_gallows_bend_as_by_hand() -> None:
    """10 N down at the tip of the limb: 5000 N mm at its weld, 5100 at the post and on to the ground."""
    cut = frame(gallows())
    points = np.zeros((len(cut), 3, 1))
    points[cut.offsets[2] - 1, 2, 0] = -10.0
    found = forces(cut, Loads(points, np.zeros((len(cut), 2, 3, 1))))
    weld = cut.offsets[1]
    np.testing.assert_allclose(found.beyond[weld, :, 0], [0, 0, -10, 0, 5000, 0], atol=1e-9)
    np.testing.assert_allclose(found.within[cut.parent_nodes[1], :, 0], [0, 0, -10, 0, 5100, 0], atol=1e-9)
    np.testing.assert_allclose(found.beyond[cut.parent_nodes[1], :, 0], 0.0, atol=1e-9)
    np.testing.assert_allclose(found.beyond[0, :, 0], [0, 0, -10, 0, 5100, 0], atol=1e-9)


@pytest.mark.parametrize("parts", [1, 3, 17])
def test_forces_do_not_depend_on_how_finely_members_are_cut(parts: int) -> None:
    tree = random_tree(20, 3)

    def foot(parts: int) -> np.ndarray:
        cut = frame(tree, parts=parts)
        lines = np.zeros((len(cut), 2, 3, 1))
        for number, share in enumerate(LOAD_SHARES):
            lines[:, number, 2, 0] = -(cut.at(share)[2] ** 2) * (cut.spans > 0.0)
        return forces(cut, Loads(np.zeros((len(cut), 3, 1)), lines)).within[0, :, 0]

    # The weight of a straight taper is exact at any cut; on an arc of 22.5 deg two points miss by the fourth power.
    np.testing.assert_allclose(foot(parts), foot(60), atol=2e-7 * np.abs(foot(60)).max())


def test_many_cases_at_once_are_each_as_alone() -> None:
    cut = frame(random_tree(20, 3))
    loads = random_loads(cut, 1, cases=5)
    assert loads.lines is not None
    stiff = stiffness(cut, 2e5, 8e4)
    together = movement(cut, stiff.steps(cut, forces(cut, loads), loads)).shifts
    for case in range(5):
        one = Loads(loads.points[..., case : case + 1], loads.lines[..., case : case + 1])
        alone = movement(cut, moved(cut, forces(cut, one), one, 2e5, 8e4)).shifts
        # The two ways, matrices kept and none, add the same terms in another order.
        np.testing.assert_allclose(together[..., case], alone[..., 0], atol=1e-10 * np.abs(alone).max())


def test_movement_is_reciprocal() -> None:
    """Maxwell and Betti: the shift at i under a load at j is that at j under a load at i, bent and tapered or not."""
    cut = frame(random_tree(12, 8))
    ends = cut.offsets[1:] - 1
    points = np.zeros((len(cut), 3, len(ends)))
    points[ends, 2, np.arange(len(ends))] = 1.0
    loads = Loads(points, np.zeros((len(cut), 2, 3, len(ends))))
    shifts = movement(cut, moved(cut, forces(cut, loads), loads, 2e5, 8e4)).shifts[ends, 2]
    np.testing.assert_allclose(shifts, shifts.T, atol=1e-9 * np.abs(shifts).max())


def test_a_member_is_rigid_with_the_node_that_holds_it() -> None:
    cut = frame(gallows())
    loads = random_loads(cut, 2)
    found = movement(cut, moved(cut, forces(cut, loads), loads, 2e5, 8e4))
    start, start_node = cut.offsets[1], cut.parent_nodes[1]
    reach = cut.points[start] - cut.points[start_node]
    carried = found.shifts[start_node, :, 0] + np.cross(found.turns[start_node, :, 0], reach)
    np.testing.assert_allclose(found.shifts[start, :, 0], carried, atol=1e-12)


def test_twist_of_a_crank_is_that_of_its_shaft() -> None:
    """A level arm on an upright shaft, pushed across: the shaft twists by T L / G J, T = 10 N x 510 mm."""
    cut = frame(gallows())
    points = np.zeros((len(cut), 3, 1))
    points[cut.offsets[2] - 1, 1, 0] = 10.0
    loads = Loads(points, np.zeros((len(cut), 2, 3, 1)))
    found = movement(cut, moved(cut, forces(cut, loads), loads, 2e5, 8e4))
    twist = 5100.0 * 800.0 / (8e4 * np.pi / 32.0 * 20.0**4)
    assert found.turns[cut.parent_nodes[1], 2, 0] == pytest.approx(twist, rel=1e-12)


def test_a_frame_has_a_node_at_every_joint_leaf_bend_and_taper() -> None:
    tree = random_tree(30, 2)
    cut = frame(tree, parts=1)
    kids = np.flatnonzero(tree.parents >= 0)
    np.testing.assert_allclose(cut.stations[cut.parent_nodes[kids]], tree.stations[kids], atol=1e-4)
    assert np.array_equal(cut.members[cut.parent_nodes[kids]], tree.parents[kids])
    np.testing.assert_allclose(cut.stations[cut.hangs], tree.leaves.stations, atol=1e-4)
    np.testing.assert_allclose(np.add.reduceat(cut.spans, cut.offsets[:-1]), tree.lengths)
    assert np.all(cut.spans[~cut.is_last] > 0.0)


def test_no_element_is_so_short_that_a_frame_solver_loses_its_digits() -> None:
    leaf = post().leaves
    near = replace(
        leaf,
        tags=np.array(["T-1", "T-2", "T-3"]),
        twigs=np.zeros(3, dtype=np.int64),
        stations=np.array([500.0, 500.005, 999.999]),
        designs=np.ones(3, dtype=np.int64),
        names=np.array(["", "", ""]),
    )
    cut = frame(post(1000.0).hung(near))
    # A stiffness of 12 E I / L^3 against that of the whole bar: 1e12 at a tenth of a millimetre, of sixteen digits.
    assert cut.spans[~cut.is_last].min() >= 0.1
    assert cut.stations[-1] == 1000.0
    assert cut.hangs[0] == cut.hangs[1]
    assert cut.hangs[2] == len(cut) - 1


def test_a_bar_without_thickness_is_refused_in_one_line() -> None:
    with pytest.raises(CommissionError, match=r"member T: a bar needs diameter and length above 0 .* \(got '0 to 0 mm"):
        frame(cantilever(500.0, 0.0, 0.0))
