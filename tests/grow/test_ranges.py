"""Every number that growing takes, at both ends of its range: a tree of exact counts, or one line that says why not."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from armature.commission import Commission, changed, read
from armature.edge import ArmatureError
from armature.grow import grow
from armature.tree import BRANCH, LIMB, TWIG, Tree

_SMALL = read(
    'title = "Ends of ranges"\ncanopy.height = "4 m"\ngrowth.limbs = 3\ngrowth.branches = 6\ngrowth.branchlets = 9\n'
    "growth.twigs = 24\nleaves.count = 40\n"
)
_RANKS = ("limb", "branch", "branchlet", "twig")
_ENDS: list[dict[str, Any]] = [
    *({f"growth.{rank}.insertion_angle": angle} for rank in _RANKS for angle in ("20 deg", "95 deg")),
    {"growth.twig.insertion_angle": "115 deg"},
    *({f"growth.{rank}.insertion_angle_sd": spread} for rank in _RANKS for spread in ("0 deg", "60 deg")),
    *({f"growth.{rank}.sinuosity": path} for rank in _RANKS for path in (1.0, 1.6)),
    *({f"growth.{rank}.bends": most} for rank in _RANKS for most in (0, 12)),
    {"growth.pipe_exponent": 1.2},
    {"growth.pipe_exponent": 4.0},
    {"growth.clearance": "0.1 mm"},
    {"growth.clearance": "500 mm"},
    *({"shop.least_bend": least} for least in ("1 deg", "12 deg", "20 deg", "45 deg")),
    *({"shop.bend_factor": factor} for factor in (0.0, 10.0)),
    *({"canopy.clear_stem": stem} for stem in ("0 mm", "3.9 m")),
    *({"canopy.height": height} for height in ("20 mm", "200 m")),
    *({"canopy.spread": [spread, spread]} for spread in ("1 mm", "200 m")),
    {"leaves.spacing": "2 m"},
    {"leaves.length": "2 m"},
    {"growth.limbs": 1},
    {"growth.limbs": 1, "growth.branches": 1, "growth.branchlets": 0, "growth.twigs": 1, "leaves.count": 1},
]


def _grown(change: dict[str, Any]) -> tuple[Commission, Tree | None, str]:
    try:
        commission = changed(_SMALL, change)
        return commission, grow(commission), ""
    except ArmatureError as refused:
        return _SMALL, None, str(refused)


@pytest.mark.parametrize("change", _ENDS, ids=str)
def test_a_number_at_the_end_of_its_range_grows_a_whole_tree_or_is_refused_in_a_line(change: dict[str, Any]) -> None:
    commission, tree, refusal = _grown(change)
    if tree is None:
        assert refusal
        assert "\n" not in refusal
        return
    counts = commission.growth.limbs, commission.growth.branches, commission.growth.twigs
    assert tuple(len(tree.of_rank(rank)) for rank in (LIMB, BRANCH, TWIG)) == counts
    assert np.isfinite(tree.tips).all()


@pytest.mark.parametrize("seed", range(1, 7))
def test_a_trunk_whose_bends_are_all_too_faint_is_left_straight(seed: int) -> None:
    tree = grow(changed(_SMALL, {"shop.least_bend": "25 deg", "seed": seed}))
    assert np.degrees(tree.chains.taken([0]).bends[:-1]).min(initial=25.0) >= 25.0
