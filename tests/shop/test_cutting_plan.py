"""Bars against published instances, an independent solver, and small cases by hand."""

from __future__ import annotations

import numpy as np
import pytest
from ortools.sat.python import cp_model

from armature.shop.bars import Offcut, Pieces, Yard, bar_plan
from armature.shop.cutting_plan import Packing, packed
from armature.shop.easing import eased
from armature.shop.fewer import one_less
from armature.shop.quick_bars import fitted

# The paper-roll example of operations-research textbooks (from memory): 5600 mm rolls, 73 are the least.
SIZES = (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200)
WANTED = (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20)


def sound(packing: Packing, pieces: np.ndarray, capacity: int) -> bool:
    every = sorted(number for bar in packing.bars for number in bar)
    return every == list(range(len(pieces))) and all(pieces[bar].sum() <= capacity for bar in packing.bars)


def test_the_paper_roll_instance_takes_73_bars() -> None:
    pieces = np.repeat(SIZES, WANTED)
    packing = packed(pieces, 5600)
    assert sound(packing, pieces, 5600)
    assert (len(packing.bars), packing.bound, packing.proof) == (73, 73, "bound met")


def test_three_bars_are_found_where_first_fit_takes_four() -> None:
    pieces = np.array([14, 14, 14, 13, 13, 13, 3, 3, 3])
    assert len(fitted(pieces, 30)) == 4
    assert len(packed(pieces, 30).bars) == 3


@pytest.mark.parametrize("seed", range(6))
def test_the_plan_is_as_short_as_another_solver_finds(seed: int) -> None:
    rng = np.random.default_rng(seed)
    pieces = rng.integers(20, 60, 14)
    packing = packed(pieces, 100)
    assert sound(packing, pieces, 100)
    assert packing.proof
    assert len(packing.bars) == _least_by_assignment(pieces.tolist(), 100)


def _least_by_assignment(pieces: list[int], capacity: int) -> int:
    """Bin packing as an assignment of pieces to bars: nothing in common with columns or arcs."""
    model = cp_model.CpModel()
    used = [model.new_bool_var("") for _ in pieces]
    placed = [[model.new_bool_var("") for _ in pieces] for _ in pieces]
    for row in placed:
        model.add_exactly_one(row)
    for bar, on in enumerate(used):
        model.add(sum(size * placed[n][bar] for n, size in enumerate(pieces)) <= capacity * on)
    model.minimize(sum(used))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    return round(solver.objective_value)


def test_long_lists_with_two_or_three_pieces_a_bar_meet_the_bound() -> None:
    pieces = np.random.default_rng(3).integers(720, 1200, 120)
    packing = packed(pieces, 3842)
    assert sound(packing, pieces, 3842)
    assert packing.proof


def test_the_search_proves_that_one_bar_less_cannot_be() -> None:
    # Three pieces of two thirds of a bar: two bars cannot hold them, and the search says so.
    pieces = np.array([20, 20, 20])
    assert one_less(pieces, 30, [[0], [1], [2]], 50) == (None, True)


def test_the_search_finds_the_plan_with_one_bar_less() -> None:
    pieces = np.array([14, 14, 14, 13, 13, 13, 3, 3, 3])
    fewer, settled = one_less(pieces, 30, fitted(pieces, 30), 50)
    assert settled
    assert fewer is not None
    assert sound(Packing(fewer, 3, ""), pieces, 30)
    assert len(fewer) == 3


def test_the_search_prints_nothing(capfd: pytest.CaptureFixture[str]) -> None:
    rng = np.random.default_rng(6)
    pieces = rng.integers(200, 800, 30)
    one_less(pieces, 2000, fitted(pieces, 2000), 50)
    assert capfd.readouterr() == ("", "")


def test_a_list_too_long_to_search_is_left_unproven() -> None:
    pieces = np.random.default_rng(1).integers(400, 5000, 300)
    assert one_less(pieces, 20_000, fitted(pieces, 20_000), 50) == (None, False)


def test_the_same_pieces_give_the_same_plan() -> None:
    pieces = np.random.default_rng(5).integers(300, 1500, 80)
    assert packed(pieces, 3842).bars == packed(pieces, 3842).bars


def test_kerfs_and_rests_add_up_to_each_bar() -> None:
    rng = np.random.default_rng(2)
    pieces = Pieces(np.array([f"A{n}" for n in range(40)]), np.full(40, 12.0), np.zeros(40), rng.uniform(200, 1800, 40))
    plan = bar_plan(pieces, Yard((6000.0,), kerf_mm=3.0))
    for bar in plan.bars:
        cut = sum(bar.pieces_mm) + 3.0 * (len(bar.pieces_mm) - 1)
        assert cut <= 6000.0 + 1e-9
        # The last cut wastes a kerf only where a rest is left behind it.
        assert bar.rest_mm == pytest.approx(max(6000.0 - cut - 3.0, 0.0))
    assert sorted(tag for bar in plan.bars for tag in bar.tags) == sorted(pieces.tags.tolist())


def test_off_cuts_in_the_rack_are_used_before_a_bar_is_bought() -> None:
    pieces = Pieces(np.array(["A", "B"]), np.full(2, 12.0), np.zeros(2), np.array([900.0, 5000.0]))
    plan = bar_plan(pieces, Yard((6000.0,), rack=(Offcut(12.0, 1000.0), Offcut(16.0, 5900.0))))
    racked = [bar for bar in plan.bars if not bar.bought]
    assert [bar.tags for bar in racked] == [("A",)]
    assert plan.sizes[0].bought == 1


def test_a_rack_of_a_million_off_cuts_costs_no_more_than_what_is_used_of_it() -> None:
    pieces = Pieces(np.array(["A", "B", "C"]), np.full(3, 12.0), np.zeros(3), np.array([900.0, 950.0, 5000.0]))
    many, few = Offcut(12.0, 1000.0, count=1_000_000), (Offcut(12.0, 1000.0),) * 3
    plan = bar_plan(pieces, Yard((6000.0,), rack=(many,)))
    assert plan == bar_plan(pieces, Yard((6000.0,), rack=few))
    assert [bar.tags for bar in plan.bars if not bar.bought] == [("B",), ("A",)]


def test_a_piece_longer_than_any_bar_is_told_and_the_rest_is_planned() -> None:
    pieces = Pieces(np.array(["A", "B"]), np.full(2, 12.0), np.zeros(2), np.array([9000.0, 500.0]))
    plan = bar_plan(pieces, Yard((6000.0,)))
    assert plan.too_long == (("A", 9000.0),)
    assert [bar.tags for bar in plan.bars] == [("B",)]


def test_twelve_pieces_do_not_use_a_bar_to_its_last_step() -> None:
    # Twelve pieces and eleven kerfs make 6096 mm to the step; a thirteenth piece needs a second bar, which has room.
    lengths = np.full(13, (6096.0 - 11 * 3.175) / 12)
    pieces = Pieces(np.array([f"A{n}" for n in range(13)]), np.full(13, 6.35), np.zeros(13), lengths)
    plan = bar_plan(pieces, Yard((6096.0,), 3.175, 1.5875, end_trim_mm=9.525))
    assert (plan.sizes[0].bought, plan.sizes[0].bound) == (2, 2)
    for bar in plan.bars:
        used = bar.trim_mm + sum(bar.pieces_mm) + 3.175 * len(bar.pieces_mm)
        assert used + bar.rest_mm == pytest.approx(6096.0)
        assert bar.rest_mm > 40.0


def test_slack_is_spread_without_another_bar() -> None:
    rng = np.random.default_rng(7)
    pieces = rng.integers(300, 1800, 60)
    packing = packed(pieces, 6000)
    spread = eased(packing.bars, pieces, 6000, 50)
    assert len(spread) == len(packing.bars)
    assert sorted(number for bar in spread for number in bar) == list(range(60))
    before, after = (min(6000 - pieces[bar].sum() for bar in bars) for bars in (packing.bars, spread))
    assert after > before


def test_spare_bars_come_on_top_of_the_plan() -> None:
    pieces = Pieces(np.array([f"A{n}" for n in range(20)]), np.full(20, 12.0), np.zeros(20), np.full(20, 2900.0))
    plan = bar_plan(pieces, Yard((6000.0,), spare_share=0.15, spare_bars=1))
    assert (plan.sizes[0].bought, plan.sizes[0].bound, plan.sizes[0].spare) == (10, 10, 2)
    assert sum(not bar.tags for bar in plan.bars) == 2
    # Twelve bars of 12 mm, by hand: 0.888 kg a metre.
    assert plan.sizes[0].mass_kg == pytest.approx(12 * 6.0 * 0.8878, rel=1e-3)


def test_a_piece_as_long_as_the_bar_is_told_where_ends_are_cut_off() -> None:
    pieces = Pieces(np.array(["A"]), np.full(1, 12.0), np.zeros(1), np.array([5995.0]))
    assert bar_plan(pieces, Yard((6000.0,), end_trim_mm=10.0)).too_long == (("A", 5995.0),)
