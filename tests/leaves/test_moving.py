"""Leaves with room to swing: what moving and exchanging promise."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from armature.leaves.hanging.hang import Hung, Loop, hang_leaves
from armature.leaves.outline.designs import draw_designs
from armature.leaves.outline.outlines import Design
from armature.tree import Leaves, Tree, chain
from tests.leaves.designs import family
from tests.preset_trees import grown
from tests.preset_trees import preset as asked
from tests.trees import gallows, post, random_tree

LOOP = Loop(2.0, 8.0)


@cache
def designs() -> tuple[Design, ...]:
    return family()


@cache
def crowded() -> Tree:
    return random_tree(40, leaves_a_twig=4)


def hung(tree: Tree, move: bool = True, locked: np.ndarray | None = None) -> Hung:
    return hang_leaves(tree, designs(), LOOP, 7.32, 30.0, 0.25, 20.0, move, locked)


@cache
def settled() -> Hung:
    return hung(crowded())


def test_few_leaves_are_left_striking_and_none_is_lost() -> None:
    still, leaves = hung(crowded(), move=False), settled().tree.leaves
    assert (still.shares > 0.25).mean() > 0.5
    assert (settled().shares > 0.25).mean() < 0.1
    assert (leaves.tags == crowded().leaves.tags).all()
    assert (leaves.twigs == crowded().leaves.twigs).all()
    assert (np.bincount(leaves.designs) == np.bincount(crowded().leaves.designs)).all()


def test_loops_stay_on_their_twigs_apart_and_numbered_toward_the_tip() -> None:
    leaves = settled().tree.leaves
    assert (leaves.stations > 0.0).all()
    assert (leaves.stations <= crowded().lengths[leaves.twigs]).all()
    sisters = leaves.twigs[1:] == leaves.twigs[:-1]
    assert (np.diff(leaves.stations)[sisters] >= 20.0 - 1e-6).all()


def test_shares_told_are_those_of_the_leaves_as_they_hang() -> None:
    again = hung(settled().tree, move=False)
    assert (again.shares == settled().shares).all()
    assert np.allclose(again.eyes, settled().eyes)
    assert (again.masses == settled().masses).all()


def test_locked_leaves_keep_their_design() -> None:
    before = crowded().leaves.designs
    assert (settled().tree.leaves.designs != before).any()
    locked = np.arange(len(before)) % 2 == 0
    after = hung(crowded(), locked=locked).tree.leaves.designs
    assert (after == before)[locked].all()
    assert (after != before).any()
    assert (np.bincount(after) == np.bincount(before)).all()


def test_a_narrow_leaf_goes_to_the_steep_bar() -> None:
    """A bar 20 deg off plumb leaves a broad leaf no place along it, and a narrow one all of them."""
    narrow, broad = replace(designs()[1], number=1), replace(designs()[7], number=2)
    tree = post().grafted(bar("A", [10, 0, 900], 90.0)).grafted(bar("B", [10, 0, 300], 20.0))
    two = Leaves(np.array(["A-1", "B-1"]), np.array([1, 2]), np.full(2, 200.0), np.array([1, 2]), np.array(["", ""]))
    tree = tree.hung(two)
    fixed = hang_leaves(tree, (narrow, broad), LOOP, 7.32, 30.0, 0.25, 20.0, locked=np.ones(2, dtype=bool))
    assert fixed.shares[1] > 0.25
    loose = hang_leaves(tree, (narrow, broad), LOOP, 7.32, 30.0, 0.25, 20.0)
    assert loose.tree.leaves.designs.tolist() == [2, 1]
    assert (loose.shares <= 0.25).all()
    assert loose.masses.sum() == pytest.approx(fixed.masses.sum())


def bar(tag: str, start: list[int], lean: float) -> Tree:
    """Return a bar of 400 mm in the x-z plane, that many degrees off plumb."""
    way = np.array([np.sin(np.deg2rad(lean)), 0.0, np.cos(np.deg2rad(lean))])
    begin = np.array(start, dtype=float)
    limb = gallows().alone([1])
    return replace(
        limb,
        tags=np.array([tag]),
        parents=np.array([0]),
        chains=chain(np.array([begin, begin + 400.0 * way]), [0, 0]),
        stations=begin[2:],
    )


def test_the_same_tree_settles_the_same() -> None:
    one, other = settled().tree.leaves, hung(crowded()).tree.leaves
    assert (one.stations == other.stations).all()
    assert (one.designs == other.designs).all()


def test_a_tree_without_leaves_has_none_to_hang() -> None:
    assert len(hung(random_tree(10, leaves_a_twig=0)).shares) == 0


@pytest.mark.parametrize(
    ("preset", "most"),
    [("garden", 0.02), ("courtyard", 0.03), ("espalier", 0.08), ("maquette", 0.04), ("weeping", 0.01)],
)
def test_few_leaves_of_a_preset_are_left_beyond_their_share(preset: str, most: float) -> None:
    """Left are leaves of twigs that stand upright or lie on others, where every place touches steel: docs/leaves.md.

    Seen: 1.0, 1.6, 6.3, 1.9 and 0 % on trees as grown; before moving 40 to 60 % strike.
    """
    commission = asked(preset)
    tree, leaves = grown(preset), commission.leaves
    loop = Loop(leaves.wire, leaves.loop)
    found = hang_leaves(
        tree, draw_designs(commission), loop, 7.0, leaves.hang.swing, leaves.hang.strike, leaves.spacing
    )
    assert (found.shares > leaves.hang.strike).mean() <= most
    assert (np.bincount(found.tree.leaves.designs) == np.bincount(tree.leaves.designs)).all()
