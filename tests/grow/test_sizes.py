"""Diameters, tapers and stock."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from armature.grow.deals import portions
from armature.grow.sizes import last_seats, piped, stocked, tapered
from armature.grow.stations import spaced
from armature.tree import LIMB, TWIG


def test_leonardos_and_murrays_rules_are_exponents_two_and_three() -> None:
    # Leonardo: areas add up, n = 2; Murray (J. Gen. Physiol. 9, 1926): n = 3, two equal children at 2^(-1/3).
    assert piped(np.array([2]), 1.0, 2.0)[0] == pytest.approx(np.sqrt(2.0))
    assert 1.0 / piped(np.array([2]), 1.0, 3.0)[0] == pytest.approx(2.0 ** (-1 / 3))


def test_the_last_seat_is_where_the_parent_is_a_little_thicker_than_the_child() -> None:
    one = np.ones(1)
    seat = last_seats(40.0 * one, 10.0 * one, 500.0 * one, 1000.0 * one, 20.0 * one)
    # From 40 at 500 mm to 10 at 1000 mm: 20.8 mm is reached at 500 + 500 * 19.2 / 30.
    assert seat[0] == pytest.approx(820.0)


def test_limbs_stay_strong_then_thin_and_twigs_are_drawn_to_half() -> None:
    limb = tapered(LIMB, np.array([50.0]), np.array([20.0]), 6.0)
    assert limb.from_share[0] > 0.4
    assert limb.ends[0] < 7.0
    assert tapered(TWIG, np.array([6.0]), np.zeros(1), 6.0).ends[0] == 3.0


def test_stock_is_the_smallest_bar_that_holds() -> None:
    assert stocked(np.array([6.0, 6.1, 9.9]), (6.0, 8.0, 10.0), "twigs").tolist() == [6.0, 8.0, 10.0]


@given(st.lists(st.floats(0.01, 50.0), min_size=1, max_size=40), st.integers(0, 400))
def test_portions_add_up_exactly(shares: list[float], spare: int) -> None:
    total = len(shares) + spare
    each = portions(np.array(shares), total, least=1)
    assert each.sum() == total
    assert each.min() >= 1
    exact = spare * np.array(shares) / sum(shares) + 1
    assert (np.abs(each - exact) < 1.0 + 1e-9).all()


@given(st.integers(0, 10_000), st.integers(1, 30))
def test_stations_keep_their_order_and_their_gaps(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    parents = rng.integers(0, 3, count)
    wanted = rng.uniform(-100, 1200, count)
    lows, highs, gaps = np.full(count, 50.0), np.full(count, 1000.0), np.full(count, 20.0)
    found = spaced(parents, wanted, lows, highs, gaps)
    assert (found >= 50.0 - 1e-9).all()
    assert (found <= 1000.0 + 1e-9).all()
    for parent in range(3):
        own = found[parents == parent][np.argsort(wanted[parents == parent], kind="stable")]
        # 30 buds at 20 mm fit into 950 mm, so the full gap is kept.
        assert (np.diff(own) >= 20.0 - 1e-6).all()
