"""A nudge of the order is a nudge of the tree: luck belongs to a tag and never to its row."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from armature.commission import changed
from armature.grow import grow
from armature.tree import Tree
from tests.grow.commissions import commission

ASKED = commission("spreading", 205, limbs=5, branches=20, twigs=200, scale=1.5)
NUDGES: list[dict[str, Any]] = [
    {"canopy.height": "4525.4 mm"},
    {"canopy.spread": ["4242 mm", "3902.64 mm"]},
    {"canopy.clear_stem": "1675.4 mm"},
    {"growth.twigs": 210},
]


@pytest.fixture(scope="module")
def tree() -> Tree:
    return grow(ASKED)


@pytest.mark.parametrize("nudge", NUDGES, ids=str)
def test_a_nudge_moves_tips_by_little_and_renames_nothing(tree: Tree, nudge: dict[str, Any]) -> None:
    other = grow(changed(ASKED, nudge))
    old, new = set(tree.tags.tolist()), set(other.tags.tolist())
    assert not old - new
    assert len(new - old) == len(other) - len(tree)
    both = sorted(old)
    away = np.linalg.norm(
        tree.tips[[tree.rows[tag] for tag in both]] - other.tips[[other.rows[tag] for tag in both]], axis=1
    )
    assert np.median(away) < 0.015 * ASKED.canopy.height
    assert np.quantile(away, 0.9) < 0.05 * ASKED.canopy.height


def test_one_branch_more_takes_no_branch_and_few_twigs(tree: Tree) -> None:
    other = grow(changed(ASKED, {"growth.branches": 21}))
    gone = set(tree.tags.tolist()) - set(other.tags.tolist())
    come = set(other.tags.tolist()) - set(tree.tags.tolist())
    branch = [tag for tag in come if "-" not in tag]
    assert len(branch) == 1
    # Twigs are as many as before: those of the new branch are all that come, and as many go elsewhere.
    assert all(tag.startswith(f"{branch[0]}-") for tag in come - set(branch))
    assert all("-" in tag for tag in gone)
    assert len(gone) == len(come) - 1


def test_forks_are_twigs_borne_by_twigs_in_exact_number() -> None:
    forked = grow(changed(ASKED, {"growth.twig.forks": 30}))
    twigs = forked.of_rank(4)
    assert len(twigs) == 200
    forks = twigs[forked.ranks[forked.parents[twigs]] == 4]
    assert len(forks) == 30
    for row in forks.tolist():
        one, other = str(forked.tags[row]), str(forked.tags[forked.parents[row]])
        assert one.rsplit("-", 1)[0] == other.rsplit("-", 1)[0]
        assert int(one.rsplit("-", 1)[1]) == int(other.rsplit("-", 1)[1]) + 1
