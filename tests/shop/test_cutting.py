"""Stock holds what is forged from it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from armature.commission import Commission, changed
from armature.shop import cut_lengths
from armature.tree import Tree, forged_masses, heels
from tests.files.commissions import gate_rowan
from tests.trees import gallows, post, random_tree


def bare(**shop: object) -> Commission:
    """Return a commission without allowances but those given."""
    none: dict[str, object] = {"scale_loss": "0 %", "weld_allowance": "0 mm"}
    return changed(gate_rowan(), {f"shop.{key}": value for key, value in (none | shop).items()})


def tapered(length: float, start: float, end: float, stock: float) -> Tree:
    return replace(post(length, start).coned(ends=[end]), stock_diameters=np.array([stock]))


def test_a_frustum_takes_the_stock_of_its_volume() -> None:
    # L (D^2 + D d + d^2) / (3 D0^2): 12 to 5 mm over 400 mm from 12 mm.
    assert cut_lengths(tapered(400.0, 12.0, 5.0, 12.0), bare())[0] == pytest.approx(212.04, abs=0.005)
    # A quarter to an eighth of an inch over six inches, from a quarter: three and a half inches.
    assert cut_lengths(tapered(6 * 25.4, 6.35, 3.175, 6.35), bare())[0] == pytest.approx(3.5 * 25.4)


def test_a_point_ends_three_times_as_long_as_its_stock() -> None:
    # A smiths' rule: stock for a 300 mm point is 100 mm.
    assert cut_lengths(tapered(300.0, 12.0, 1e-6, 12.0), bare())[0] == pytest.approx(100.0, abs=1e-4)


def test_stock_drawn_down_grows_by_the_square_of_the_diameters() -> None:
    assert cut_lengths(tapered(400.0, 10.0, 10.0, 20.0), bare())[0] == pytest.approx(100.0)


def test_scale_and_welding_come_on_top() -> None:
    plain, tree = bare(), post(1000.0, 20.0)
    assert cut_lengths(tree, plain)[0] == pytest.approx(1000.0)
    # What is left of 1025.64 mm when 2.5 % has burnt off is 1000 mm.
    assert cut_lengths(tree, bare(scale_loss="2.5 %"))[0] == pytest.approx(1000.0 / 0.975)
    assert cut_lengths(tree, bare(scale_loss="2.5 %", weld_allowance="5 mm"))[0] == pytest.approx(1000.0 / 0.975 + 5.0)


def test_pipe_is_cut_to_its_finished_length_and_keeps_its_scale() -> None:
    pipe = replace(post(1000.0, 60.3), walls=np.array([3.9]))
    assert cut_lengths(pipe, bare(scale_loss="2.5 %", weld_allowance="5 mm"))[0] == pytest.approx(1005.0)


def test_a_level_limb_needs_the_depth_of_its_saddle() -> None:
    # 10 mm on a 20 mm post at a right angle: 10 - sqrt(10^2 - 5^2) mm deep.
    wanted = 10.0 - np.sqrt(75.0)
    assert cut_lengths(gallows(), bare())[1] == pytest.approx(500.0 + wanted)


def test_heels_are_the_deepest_point_of_the_saddle_found_by_search() -> None:
    rng = np.random.default_rng(3)
    big, lean = rng.uniform(5.0, 60.0, 300), rng.uniform(20.0, 140.0, 300)
    small = big * rng.uniform(0.05, 1.0, 300)
    setback = big / 2.0 / np.sin(np.radians(lean))
    f, a = np.linspace(0.0, np.pi, 20001), np.radians(lean)[:, None]
    across = np.sqrt(np.maximum((big[:, None] / 2.0) ** 2 - (small[:, None] / 2.0 * np.sin(f)) ** 2, 0.0))
    least = ((across - small[:, None] / 2.0 * np.cos(f) * np.cos(a)) / np.sin(a)).min(axis=1)
    np.testing.assert_allclose(heels(small, big, lean, setback), np.minimum(setback - least, setback), atol=1e-5)


def test_every_member_is_cut_with_no_less_steel_than_it_holds() -> None:
    tree = random_tree(60)
    held = np.pi / 4.0 * tree.stock_diameters**2 * cut_lengths(tree, bare())
    assert (held >= tree.volumes * (1.0 - 1e-12)).all()
    assert (held[1:] > tree.volumes[1:]).all()


@pytest.mark.parametrize(
    ("diameter", "kg_a_metre"),
    [(6, 0.222), (8, 0.395), (10, 0.617), (12, 0.888), (16, 1.58), (20, 2.47), (25, 3.85)],
)
def test_a_metre_of_round_bar_weighs_what_the_handbook_says(diameter: float, kg_a_metre: float) -> None:
    # EN 10060 / handbook tables, from memory; printed to three figures.
    assert forged_masses(post(1000.0, diameter), 7850.0)[0] == pytest.approx(kg_a_metre, rel=0.003)


@pytest.mark.parametrize(("inches", "pounds_a_foot"), [(0.25, 0.167), (1.0, 2.67)])
def test_a_foot_of_inch_bar_weighs_what_the_handbook_says(inches: float, pounds_a_foot: float) -> None:
    # AISC Manual, from memory.
    mass = forged_masses(post(304.8, inches * 25.4), 7850.0)[0]
    assert mass / 0.45359237 == pytest.approx(pounds_a_foot, rel=0.003)
