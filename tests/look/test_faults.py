"""The eye sees faults: strong ones in a natural crown, each named and located (the whole table is in the benchmark)."""

import numpy as np
import pytest

from armature.look import judged
from armature.look.axes import skeleton_of_nodes
from armature.look.skeleton import Skeleton
from armature.look.verdict import FINDING, Verdict
from tests.trees import random_tree

from .faults import FAULTS
from .naturals import natural

SCALE_FREE = [
    "one half mirrored",
    "all angles equal",
    "even spacing",
    "a twig copied",
    "rotational symmetry",
]


@pytest.fixture(scope="module")
def crown() -> tuple[Skeleton, Verdict]:
    tree = skeleton_of_nodes(natural(1))
    return tree, judged(tree)


@pytest.mark.parametrize("name", SCALE_FREE)
def test_a_strong_fault_in_a_natural_crown_is_seen_named_and_located(
    name: str, crown: tuple[Skeleton, Verdict]
) -> None:
    tree, before = crown
    fault = FAULTS[name](tree, 2, np.random.default_rng(11))
    after = judged(fault.tree)
    assert after.overall < before.overall - 5.0
    named = [f for f in after.findings if f.name in fault.measures and f.score < FINDING]
    assert named
    assert any(fault.tags & set(f.offenders) for f in named)


@pytest.mark.parametrize("name", ["a kink", "wrong taper", "a member through another"])
def test_a_fault_of_one_member_names_that_member(name: str) -> None:
    from armature.look.skeleton import skeleton_of

    tree = skeleton_of(random_tree(100))
    fault = FAULTS[name](tree, 2, np.random.default_rng(3))
    values = {f.name: (f.value, set(f.offenders)) for f in judged(tree).findings}
    after = {f.name: (f.value, set(f.offenders)) for f in judged(fault.tree).findings}
    worse = [m for m in fault.measures if m in after and after[m][0] > values[m][0]]
    assert worse
    assert any(fault.tags & after[m][1] for m in worse)


def test_faults_leave_the_rest_of_the_tree_as_it_was() -> None:
    tree = skeleton_of_nodes(natural(1))
    kinked = FAULTS["a kink"](tree, 2, np.random.default_rng(0)).tree
    assert len(kinked) == len(tree)
    assert kinked.lengths.sum() == pytest.approx(tree.lengths.sum(), rel=0.01)
