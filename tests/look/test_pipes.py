import numpy as np
import pytest

from armature.look import pipes

from .sticks import sticks


def test_pipe_exponent_of_known_forks() -> None:
    # 0.8^2 + 0.6^2 = 1; two equal children at 2^(-1/3) obey Murray's cubes (J. Gen. Physiol. 9, 1926).
    groups = np.array([0, 0, 1, 1, 2, 2])
    shares = np.array([0.8, 0.6, 2 ** (-1 / 3), 2 ** (-1 / 3), 1.0, 0.5])
    found = pipes.solved_exponents(groups, shares, 3)
    assert found[:2] == pytest.approx([2.0, 3.0])
    assert np.isnan(found[2])  # a child as thick as its parent: no exponent does


def test_parents_and_exponents_of_a_tree_that_obeys_leonardo() -> None:
    up = [[0.0, 0.0, 0.0], [0.0, 0.0, 1000.0]]
    out = [[0.0, 0.0, 500.0], [300.0, 0.0, 700.0]]
    tree = sticks([up, out, out, out], [-1, 0, 0, 0], [0, 400, 500, 600], [np.sqrt(3.0) * 4.0, 4.0, 4.0, 4.0])
    parents, found = pipes.pipe_exponents(tree)
    assert parents.tolist() == [0]
    assert found == pytest.approx([2.0])


def test_best_fork_angles_of_murray() -> None:
    third = np.array([2 ** (-1 / 3)])
    assert pipes.murray_angles(np.ones(1), third, third) == pytest.approx([37.467], abs=5e-4)
    # With the cost linear in the radius cos a = r1 / r0: the (1; 0.8, 0.6) fork opens to a right angle.
    one = pipes.murray_angles(np.ones(1), np.array([0.8]), np.array([0.6]), 2.0)
    other = pipes.murray_angles(np.ones(1), np.array([0.6]), np.array([0.8]), 2.0)
    assert [*one, *other] == pytest.approx([36.870, 53.130], abs=5e-4)


def test_a_member_that_thickens_or_outgrows_its_parent_is_named() -> None:
    up = [[0.0, 0.0, 0.0], [0.0, 0.0, 1000.0]]
    out = [[0.0, 0.0, 500.0], [150.0, 0.0, 600.0], [300.0, 0.0, 700.0]]
    tree = sticks([up, out, out, out], [-1, 0, 0, 0], [0, 400, 500, 600], [10.0, 5.0, 5.0, 12.0])
    assert pipes.thickening(tree).high_rows.tolist() == [3]
    radii = tree.radii.copy()
    radii[tree.offsets[2] : tree.offsets[3]] = [5.0, 3.0, 6.0]
    from dataclasses import replace

    found = pipes.thickening(replace(tree, radii=radii))
    assert found.value == 2.0
    assert found.high_rows.tolist() == [2, 3]  # 6 over 3 is worse than 12 over 10


def test_a_parent_off_its_ranks_own_rule_is_named() -> None:
    lines, parents, stations, radii = [[[0.0, 0.0, 0.0], [0.0, 0.0, 4000.0]]], [-1], [0.0], [40.0]
    for parent in range(8):
        lines.append([[0.0, 0.0, 400.0 * parent], [900.0, 0.0, 400.0 * parent]])
        parents.append(0)
        stations.append(400.0 * parent)
        radii.append(10.0 if parent != 5 else 20.0)
    for parent in range(1, 9):
        for twig in range(4):
            lines.append([[200.0 * twig, 0.0, 400.0 * parent], [200.0 * twig, 200.0, 400.0 * parent]])
            parents.append(parent)
            stations.append(200.0 * twig)
            radii.append(5.0)
    tree = sticks(lines, parents, stations, radii)
    assert pipes.pipe_misfits(tree, pipes.pipe_exponents(tree)).high_rows.tolist() == [6]
