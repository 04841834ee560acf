"""Feet swell where members leave, and nothing else changes."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from armature.commission import changed
from armature.files import skin
from armature.files.sound import flaw
from armature.grow import grow
from armature.grow.swelling import swollen
from armature.shop import cut_lengths
from armature.tree import BRANCH, LIMB, TWIG, Tree, joints
from tests.grow.commissions import commission
from tests.grow.test_growing import least_gap

ASKED = changed(commission("spreading", 4, limbs=4, branches=14, twigs=160), {"growth.stem": "leader"})


@pytest.fixture(scope="module")
def pair() -> tuple[Tree, Tree]:
    """Return one tree without and with swellings of a third."""
    return grow(ASKED), grow(changed(ASKED, {"growth.swelling": 0.33}))


def test_only_diameters_at_feet_change(pair: tuple[Tree, Tree]) -> None:
    bare, fat = pair
    assert flaw(fat) == ""
    assert (fat.chains.vertices == bare.chains.vertices).all()
    assert (fat.tags == bare.tags).all()
    np.testing.assert_array_equal(fat.tapers.bars, bare.tapers.bars)
    rows, shares = np.repeat(np.arange(len(fat)), 40), np.tile(np.linspace(0.0, 1.0, 40), len(fat))
    stations = shares * fat.lengths[rows]
    behind = stations > fat.tapers.swells[rows]
    here, there = fat.diameters_at(rows, stations), bare.diameters_at(rows, stations)
    np.testing.assert_allclose(here[behind], there[behind], rtol=1e-9)
    assert (here >= there - 1e-9).all()


def test_most_limbs_and_branches_swell_and_no_twig_does(pair: tuple[Tree, Tree]) -> None:
    swells = pair[1].tapers.swells > 0.0
    thick = np.isin(pair[1].ranks, (LIMB, BRANCH)) & (pair[1].tapers.bars >= 10.0)
    assert swells[thick].mean() > 0.5
    assert not swells[~thick].any()
    assert not swells[pair[1].ranks == TWIG].any()


def test_a_foot_is_seated_by_its_parent_and_keeps_clear_of_others(pair: tuple[Tree, Tree]) -> None:
    fat = pair[1]
    own = np.flatnonzero(fat.tapers.swells > 0.0)
    assert (joints(fat).parent_diameters[own] >= 1.04 * fat.start_diameters[own] - 1e-6).all()
    assert (fat.start_diameters[own] <= 1.33 * fat.tapers.bars[own] + 1e-6).all()
    assert least_gap(fat) >= min(ASKED.growth.clearance, least_gap(pair[0])) - 1e-6


def test_a_swelling_takes_steel_and_stock_and_is_in_the_mesh(pair: tuple[Tree, Tree]) -> None:
    bare, fat = pair
    own = np.flatnonzero(fat.tapers.swells > 0.0)
    more = (fat.volumes - bare.volumes)[own]
    # Stock holds the swelling's own volume and scale, at the least: a wider heel takes a little more.
    stock = (cut_lengths(fat, ASKED) - cut_lengths(bare, ASKED))[own] * np.pi / 4.0 * fat.stock_diameters[own] ** 2
    assert (stock >= more * (1.0 - 1e-9)).all()
    row = int(own[np.argmax(more)])
    drawn = [trimesh.Trimesh(*skin(tree, rooted=False).member(row), process=False).volume for tree in pair]
    # Rings are drawn at every place, so that the mesh holds the swelling as it is told, to the facets' rounding.
    assert drawn[1] - drawn[0] == pytest.approx(more.max(), rel=0.01)


def test_a_crowded_foot_is_left_as_it_is() -> None:
    tree = grow(ASKED)
    none = swollen(tree, 0.33, 5000.0, 200.0)
    assert not (none.tapers.swells > 0.0).any()
    assert none.same_as(tree)
