"""What comes out thicker is clear again, or refused with both tags."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from armature.edge import GrowthError
from armature.grow import cleared, grow, meetings_of
from armature.tree import TWIG, Tree, joints
from tests.grow.commissions import commission
from tests.grow.test_growing import least_gap


def thickened(tree: Tree, share: float, tag: str = "") -> Tree:
    """Return a tree whose twigs, or one member, are thicker by a share: what strength may ask for."""
    twigs = tree.tags == tag if tag else tree.ranks == TWIG
    factor = np.where(twigs, 1.0 + share, 1.0)
    tapers = replace(
        tree.tapers,
        diameters=tree.tapers.diameters * factor[tree.tapers.members],
        tips=tree.tapers.tips * factor,
    )
    return replace(tree, tapers=tapers)


@pytest.fixture(scope="module")
def crowd() -> Tree:
    return grow(commission("rounded", 4, limbs=4, branches=16, twigs=150, scale=1.3))


def test_what_is_grown_is_clear_and_stays_as_it_is(crowd: Tree) -> None:
    asked = commission("rounded", 4, limbs=4, branches=16, twigs=150, scale=1.3)
    assert meetings_of(crowd, asked.growth.clearance) == []
    assert cleared(crowd, asked).same_as(crowd)


def test_thicker_twigs_are_moved_apart_on_their_true_skins(crowd: Tree) -> None:
    asked = commission("rounded", 4, limbs=4, branches=16, twigs=150, scale=1.3)
    thick = thickened(crowd, 0.6)
    assert meetings_of(thick, asked.growth.clearance)
    apart = cleared(thick, asked)
    # The independent measure has points 4 mm apart: off by at most 0.5 mm.
    assert least_gap(apart) >= asked.growth.clearance - 0.5
    np.testing.assert_allclose(apart.lengths, thick.lengths, atol=1e-6)
    moved = np.linalg.norm(apart.tips - thick.tips, axis=1) > 1e-6
    assert 0 < moved.sum() < len(crowd) / 4
    assert (joints(apart).parent_diameters[1:] > 0.0).all()


def test_made_members_stay_where_they_are(crowd: Tree) -> None:
    asked = commission("rounded", 4, limbs=4, branches=16, twigs=150, scale=1.3)
    thick = thickened(crowd, 0.6)
    first = meetings_of(thick, asked.growth.clearance)[0]
    made = str(thick.tags[first.one])
    apart = cleared(thick, asked, [made])
    np.testing.assert_array_equal(apart.tips[first.one], thick.tips[first.one].round(7))


def test_what_cannot_be_parted_is_refused_with_both_tags(crowd: Tree) -> None:
    asked = commission("rounded", 4, limbs=4, branches=16, twigs=150, scale=1.3)
    thick = thickened(crowd, 0.6)
    first = meetings_of(thick, asked.growth.clearance)[0]
    # Only one of two that meet may move, and it is too thick for any room among what is made.
    made = sorted(set(crowd.tags.tolist()) - {str(crowd.tags[first.one])})
    stout = thickened(crowd, 15.0, str(crowd.tags[first.one]))
    with pytest.raises(GrowthError, match=r"[A-Z]\S* and [A-Z]\S* come to .* mm of each other .* would help"):
        cleared(stout, asked, made)


def test_what_is_made_and_meets_is_a_fact_and_left_as_it_is(crowd: Tree) -> None:
    asked = commission("rounded", 4, limbs=4, branches=16, twigs=150, scale=1.3)
    thick = thickened(crowd, 0.6)
    assert meetings_of(thick, asked.growth.clearance)
    np.testing.assert_array_equal(cleared(thick, asked, thick.tags.tolist()).tips, thick.tips)
