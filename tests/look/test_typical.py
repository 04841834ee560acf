"""How usual a tree is, by the docstring's own figures."""

from dataclasses import replace

import pytest

from armature.look import judged
from armature.look.verdict import Finding, Verdict, apart_from_counts, overall, typical_of
from tests.trees import random_tree


@pytest.fixture(scope="module")
def verdict() -> Verdict:
    return judged(random_tree(12, 4))


def shifted(verdict: Verdict, share: float) -> Verdict:
    """Return the verdict with every value so far from the middle of its range, in halves of the range."""

    def put(each: Finding) -> Finding:
        return replace(each, value=(each.low + each.high) / 2.0 + share * (each.high - each.low) / 2.0)

    return replace(verdict, findings=tuple(map(put, verdict.findings)))


@pytest.mark.parametrize(
    ("share", "typical"),
    [(0.0, 100.0), (0.25, 75.0), (-0.5, 50.0), (1.0, 0.0), (-1.5, -50.0), (2.0, -100.0), (9.0, -100.0)],
)
def test_a_tree_is_as_typical_as_it_lies_near_the_middle(verdict: Verdict, share: float, typical: float) -> None:
    assert any(all(each.range.says) and each.high > each.low for each in verdict.findings)
    assert typical_of(shifted(verdict, share)) == pytest.approx(typical, abs=0.05)


def test_families_count_on_their_own_and_none_under_five() -> None:
    """By the docstring: one family at 80 costs 5 points, one at 50 16, two at 20 55."""
    assert overall({"a": 100.0, "b": 80.0}) == pytest.approx(95.0, abs=0.5)
    assert overall({"a": 100.0, "b": 50.0}) == pytest.approx(84.0, abs=0.5)
    assert overall({"a": 20.0, "b": 20.0}) == pytest.approx(45.0, abs=0.5)
    assert overall({"a": 0.0}) == overall({"a": 5.0}) == pytest.approx(100.0 * 0.05**0.25, abs=0.05)


def test_what_only_a_measured_tree_is_scored_by_is_left_out_of_a_design_s_figure(verdict: Verdict) -> None:
    first, *rest = verdict.findings
    only = replace(first, score=3.0, range=replace(first.range, scored="measured"))
    without = apart_from_counts(replace(verdict, findings=tuple(rest)))
    assert apart_from_counts(replace(verdict, findings=(only, *rest))) == without
    assert apart_from_counts(replace(verdict, findings=(replace(first, score=3.0), *rest))) < without
