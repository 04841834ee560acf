"""Forged steel stays valid: what is made is never changed."""

from __future__ import annotations

import numpy as np
import pytest

from armature.commission import changed
from armature.edge import CommissionError, GrowthError
from armature.grow import grow, kept_members, twig_added
from armature.shop import cut_lengths
from armature.tree import Tree, bend_list, joints
from tests.grow.commissions import commission


def bars(tree: Tree) -> dict[str, tuple[np.ndarray, ...]]:
    """Return what the smith works from, by tag: bends, joint, diameters."""
    bends, found = bend_list(tree.chains), joints(tree)
    return {
        str(tag): (
            np.concatenate(
                [getattr(bends, name)[bends.members == row] for name in ("feeds", "turns", "bends", "radii")]
            ),
            np.array([found.stations[row], found.clocks[row], found.leans[row], found.rolls[row], found.setbacks[row]]),
            np.array([tree.start_diameters[row], tree.end_diameters[row], tree.taper_starts[row], tree.lengths[row]]),
        )
        for row, tag in enumerate(tree.tags)
    }


def test_adding_a_twig_leaves_every_other_bar_as_it_was() -> None:
    asked = commission("spreading", limbs=4, branches=14, twigs=110)
    tree = grow(asked)
    carrier = str(tree.tags[tree.of_rank(2)][3])
    more = twig_added(tree, asked, carrier)
    new = set(more.tags.tolist()) - set(tree.tags.tolist())
    assert len(new) == 1
    assert next(iter(new)).startswith(f"{carrier}-")
    before, after = bars(tree), bars(more)
    for tag, listed in before.items():
        for one, other in zip(listed, after[tag], strict=True):
            # Stations are differences of running sums over all members, so rounding may move the last bits.
            np.testing.assert_allclose(one, other, rtol=0, atol=1e-9)
    cuts = dict(zip(tree.tags.tolist(), cut_lengths(tree, asked), strict=True))
    for tag, cut in zip(more.tags.tolist(), cut_lengths(more, asked), strict=True):
        assert tag in new or cuts[tag] == pytest.approx(cut, abs=1e-9)


def test_an_added_twig_is_clear_of_all_others() -> None:
    from tests.grow.test_growing import least_gap

    asked = commission("rounded", twigs=90)
    assert least_gap(twig_added(grow(asked), asked, "A01")) >= asked.growth.clearance - 0.5


@pytest.mark.parametrize("twigs", [90, 97, 80])
def test_made_members_come_back_as_they_are_from_a_changed_commission(twigs: int) -> None:
    asked = commission("rounded", twigs=90)
    tree = grow(asked)
    made = [str(tree.tags[row]) for row in (tree.of_rank(4)[[0, 17, 44]])]
    kept = kept_members(tree, made)
    assert kept is not None
    again = grow(changed(asked, {"seed": 99, "growth.twigs": twigs, "leaves.count": 100}), kept)
    assert (again.ranks == 4).sum() == twigs
    before, after = bars(tree), bars(again)
    for tag in kept.tags.tolist():
        for one, other in zip(before[tag], after[tag], strict=True):
            np.testing.assert_allclose(one, other, rtol=0, atol=1e-9)


def test_a_made_member_keeps_all_that_carries_it() -> None:
    tree = grow(commission(twigs=60))
    kept = kept_members(tree, ["B01-2"])
    assert kept is not None
    assert kept.tags.tolist() == ["T", "B", "B01", "B01-2"]
    assert kept_members(tree, []) is None


def test_an_unknown_made_tag_is_named() -> None:
    with pytest.raises(CommissionError, match=r"made\.csv: must list tags of this tree \(got 'Z99'\)"):
        kept_members(grow(commission()), ["Z99"])


def test_asking_for_fewer_than_are_made_is_refused() -> None:
    asked = commission("rounded", twigs=60)
    tree = grow(asked)
    kept = kept_members(tree, tree.tags.tolist())
    with pytest.raises(GrowthError, match="60 twigs are made already, 50 asked"):
        grow(changed(asked, {"growth.twigs": 50, "leaves.count": 50}), kept)


def test_twigs_are_added_to_branches_only() -> None:
    asked = commission()
    with pytest.raises(CommissionError, match="branch or branchlet"):
        twig_added(grow(asked), asked, "A")
