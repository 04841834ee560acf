"""Straights and arcs against worked bends."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from armature.tree import BendList, bend_list, bent, chain, chalk_lines, joined, locate, nearest_on_segments, sampled

TWO_BENDS = chain([[0, 0, 0], [300, 0, 0], [300, 200, 0], [300, 200, 150]], [0, 40, 40, 0])


def test_two_right_angle_bends_give_the_worked_feeds_and_length() -> None:
    # Worked by hand: tangents of 40 mm come off each corner, each arc is 40 pi / 2 long.
    bends = bend_list(TWO_BENDS)
    np.testing.assert_allclose(bends.feeds, [260, 120])
    np.testing.assert_allclose(bends.tails, [110])
    np.testing.assert_allclose(bends.bends, [90, 90])
    np.testing.assert_allclose(bends.turns, [0, 90])
    np.testing.assert_allclose(bends.marks, [260, 260 + 20 * np.pi + 120])
    assert TWO_BENDS.lengths[0] == pytest.approx(615.66, abs=0.005)


def test_a_ring_takes_pi_times_inside_diameter_plus_bar() -> None:
    # Smiths' ring rule: 100 mm inside, 12 mm bar, 351.86 mm. Built as six bends of 60 degrees at 56 mm radius.
    bends = BendList(
        np.zeros(6, int),
        np.arange(1, 7),
        np.zeros(6),
        np.zeros(6),
        np.zeros(6),
        np.full(6, 60.0),
        np.full(6, 56.0),
        np.zeros(1),
    )
    ring = bent(bends, np.zeros((1, 3)), np.array([[0.0, 0, 1]]), np.array([[1.0, 0, 0]]))
    assert ring.lengths[0] == pytest.approx(351.86, abs=0.005)
    np.testing.assert_allclose(ring.vertices[-1], 0.0, atol=1e-9)


@given(st.integers(0, 10_000), st.integers(1, 6))
def test_a_bend_list_rebuilds_its_chains(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    each = rng.integers(0, 5, count)
    total = each.sum()
    listed = BendList(
        members=np.repeat(np.arange(count), each),
        numbers=np.concatenate([np.arange(1, n + 1) for n in each]).astype(int),
        marks=np.zeros(total),
        feeds=rng.uniform(5, 100, total),
        turns=rng.uniform(-179, 179, total),
        bends=rng.uniform(5, 170, total),
        radii=rng.uniform(5, 50, total),
        tails=rng.uniform(5, 50, count),
    )
    axes = rng.normal(size=(count, 3))
    axes /= np.linalg.norm(axes, axis=1, keepdims=True)
    chalk = np.cross(axes, rng.normal(size=(count, 3)))
    chalk /= np.linalg.norm(chalk, axis=1, keepdims=True)
    listed.turns[listed.numbers == 1] = 0.0
    chains = bent(listed, rng.normal(size=(count, 3)), axes, chalk)
    again = bend_list(chains)
    for name in ("feeds", "turns", "bends", "radii", "tails"):
        np.testing.assert_allclose(getattr(again, name), getattr(listed, name), atol=1e-6)
    assert (again.members == listed.members).all()


def test_points_come_back_at_their_stations() -> None:
    chains = joined([TWO_BENDS, chain([[0, 0, 0], [0, 0, 10]], [0, 0]), TWO_BENDS])
    points, tangents, _ = locate(chains, [0, 1, 2, 2], [130.0, 4.0, 260.0 + 20 * np.pi / 2, 615.6637])
    np.testing.assert_allclose(points[0], [130, 0, 0])
    np.testing.assert_allclose(points[1], [0, 0, 4])
    half = 40 * np.sin(np.pi / 4)
    np.testing.assert_allclose(points[2], [260 + half, 40 - half, 0], atol=1e-9)
    np.testing.assert_allclose(tangents[2], [np.sqrt(0.5), np.sqrt(0.5), 0], atol=1e-9)
    np.testing.assert_allclose(points[3], [300, 200, 150], atol=1e-3)


def test_sampling_leaves_no_arc_by_more_than_the_chord_error() -> None:
    line = sampled(TWO_BENDS, 0.1)
    assert line.stations[0] == pytest.approx(0.0, abs=1e-9)
    assert line.stations[-1] == pytest.approx(TWO_BENDS.lengths[0])
    middles = (line.stations[1:] + line.stations[:-1]) / 2
    true, _, _ = locate(TWO_BENDS, np.zeros(len(middles), int), middles)
    drawn = (line.points[1:] + line.points[:-1]) / 2
    assert np.linalg.norm(true - drawn, axis=1).max() <= 0.1 + 1e-9


def test_sampling_keeps_the_asked_step() -> None:
    assert np.diff(sampled(TWO_BENDS, 1.0, step=7.0).stations).max() <= 7.0 + 1e-9


def test_the_chalk_line_is_carried_without_twist() -> None:
    lines = chalk_lines(TWO_BENDS, np.array([[0.0, 1.0, 0.0]]))
    # Toward the first bend; after it the bar points along y and the chalk back along -x; the second bend is about -x.
    np.testing.assert_allclose(lines, [[0, 1, 0], [-1, 0, 0], [-1, 0, 0]], atol=1e-12)


def test_taking_rows_keeps_their_chains() -> None:
    chains = joined([TWO_BENDS, chain([[0, 0, 0], [0, 0, 10]], [0, 0])])
    again = chains.taken([1, 0])
    np.testing.assert_allclose(again.lengths, chains.lengths[[1, 0]])


def test_nearest_points_of_segments_agree_with_a_general_minimiser() -> None:
    lines = np.random.default_rng(0).uniform(-100.0, 100.0, (16, 2, 3))
    one, other = np.repeat(lines[:1], 15, axis=0), lines[1:]
    gaps, shares, other_shares = nearest_on_segments(one[:, 0], one[:, 1], other[:, 0], other[:, 1])
    for row in range(15):

        def apart(at: np.ndarray, row: int = row) -> float:
            here = one[row, 0] + at[0] * (one[row, 1] - one[row, 0])
            there = other[row, 0] + at[1] * (other[row, 1] - other[row, 0])
            return float(((here - there) ** 2).sum())

        best = minimize(apart, [0.5, 0.5], bounds=[(0.0, 1.0)] * 2, tol=1e-12)
        assert gaps[row] == pytest.approx(np.sqrt(best.fun), abs=1e-3)
        assert apart(np.array([shares[row], other_shares[row]])) == pytest.approx(gaps[row] ** 2)


def test_parallel_segments_and_points_have_their_distance() -> None:
    heads = np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [4.0, 0.0, 0.0]])
    tails = np.array([[10.0, 0.0, 0.0], [10.0, 0.0, 0.0], [4.0, 0.0, 0.0]])
    others = np.array(
        [[[3.0, 5.0, 0.0], [8.0, 5.0, 0.0]], [[13.0, 4.0, 0.0], [20.0, 4.0, 0.0]], [[4.0, 0, 7], [4, 0, 9]]]
    )
    gaps, shares, other_shares = nearest_on_segments(heads, tails, others[:, 0], others[:, 1])
    assert gaps == pytest.approx([5.0, 5.0, 7.0])
    assert shares[1] == 1.0
    assert other_shares[1:].tolist() == [0.0, 0.0]
