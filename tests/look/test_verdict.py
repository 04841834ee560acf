import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import armature
from armature.files.swc import swc_text
from armature.look import first_look, judged
from armature.look.axes import skeleton_of_nodes
from armature.look.measured import read_nodes
from armature.look.ranges import ranges
from armature.look.skeleton import Skeleton, skeleton_of
from armature.look.verdict import apart_from_counts, overall
from armature.papers.look.report import look_json, look_md
from armature.papers.look.words import in_words, judged_as, widened
from tests.preset_trees import grown
from tests.trees import gallows, post, random_tree

from .faults import turn_about
from .made import MADE
from .naturals import KINDS, natural

ROOT = Path(armature.__file__).parent.parent


def stand_ins() -> list[Skeleton]:
    trees = [natural(seed, kind, scan=seed % 2 == 1) for kind in KINDS for seed in range(2)]
    return [skeleton_of_nodes(nodes) for nodes in trees if len(nodes) >= 15]


def test_natural_trees_come_out_natural() -> None:
    found = [judged(tree).overall for tree in stand_ins()]
    assert np.median(found) >= 80.0
    assert np.mean([value >= 60.0 for value in found]) >= 0.9


@pytest.mark.parametrize("name", list(MADE))
def test_a_tree_drawn_by_rule_does_not(name: str) -> None:
    verdict = judged(skeleton_of_nodes(MADE[name]()))
    assert verdict.overall < 50.0
    assert verdict.faults[0].wrong
    assert verdict.faults[0].helps


def test_every_measure_has_words_a_source_and_a_sound_range() -> None:
    for each in ranges().values():
        assert each.source
        assert each.title
        for designed in (False, True):
            low, high = each.limits(designed)
            assert low < high or each.scored == "designs"
            assert each.scores((low + high) / 2.0, 100, designed) == 100.0
            if each.speaks_for(designed):
                assert any(each.says)
                assert any(each.helps)


def test_too_regular_scores_as_badly_as_too_wild() -> None:
    spread = ranges()["angle_spread_2"]
    assert spread.scores(1.0, 10_000, False) < 10.0
    assert spread.scores(60.0, 10_000, False) < 10.0
    assert spread.scores(26.0, 10_000, False) == 100.0


def test_few_things_measured_widen_the_range() -> None:
    spread = ranges()["angle_spread_1"]
    assert spread.scores(9.0, 5, False) > spread.scores(9.0, 500, False)
    # 12 to 36 deg, widened by 8 over the root of 4.
    assert spread.allowed(4, False) == pytest.approx((8.0, 40.0))
    assert spread.scores(8.0, 4, False) == 100.0 > spread.scores(7.9, 4, False)
    # Nothing is straighter than its chord.
    assert ranges()["path_over_chord_0"].allowed(1, True)[0] == 1.0


@pytest.mark.parametrize("designed", [True, False])
def test_no_value_outside_the_range_that_is_told_scores_a_hundred(designed: bool) -> None:
    tree = skeleton_of(random_tree(60)) if designed else skeleton_of_nodes(natural(1))
    verdict = judged(tree)
    for finding in verdict.findings:
        low, high = finding.allowed
        assert (finding.score == 100.0) == (low - 1e-9 <= finding.value <= high + 1e-9), finding.name
        if not finding.low <= finding.value <= finding.high and finding.score == 100.0:
            assert widened(finding), finding.name
    page = look_md(tree, verdict)
    assert page.count(" measured) |") > 3
    assert "lacunarity" not in page.replace("(lacunarity)", "")


def test_why_a_design_and_its_skeleton_score_apart_is_said(tmp_path: Path) -> None:
    design = grown("courtyard")
    (tmp_path / "tree.swc").write_text(swc_text(design))
    bare = skeleton_of_nodes(read_nodes(tmp_path / "tree.swc"))
    verdict = judged(bare)
    said = judged_as(bare, verdict)
    assert "(bifurcation ratio)" in said
    assert f"apart from these {apart_from_counts(verdict):.0f} of 100" in said
    assert apart_from_counts(verdict) > verdict.overall + 10.0
    assert "not scored" in judged_as(skeleton_of(design), judged(design))


def test_the_overall_is_the_product_of_the_families() -> None:
    assert overall({"a": 100.0, "b": 100.0}) == 100.0
    assert overall({"a": 50.0, "b": 81.0}) == pytest.approx(100.0 * 0.5**0.25 * 0.81**0.25, abs=0.05)
    assert overall({"a": 0.0}) == pytest.approx(100.0 * 0.05**0.25, abs=0.05)


@pytest.mark.parametrize("seed", [0, 2])
def test_size_does_not_matter(seed: int) -> None:
    tree = skeleton_of_nodes(natural(seed))
    small = replace(tree, points=tree.points / 7.0, radii=tree.radii / 7.0, stations=tree.stations / 7.0)
    one, other = judged(tree), judged(small)
    assert other.overall == pytest.approx(one.overall, abs=0.3)
    for before, after in zip(one.findings, other.findings, strict=True):
        assert after.value == pytest.approx(before.value, rel=1e-3, abs=2e-3), before.name


def test_turning_by_a_view_step_changes_little() -> None:
    tree = skeleton_of_nodes(natural(1))
    turn = turn_about(np.array([0.0, 0.0, 1.0]), np.radians(90.0))
    other = replace(tree, points=(tree.points - tree.foot) @ turn.T + tree.foot)
    assert judged(other).overall == pytest.approx(judged(tree).overall, abs=4.0)


def test_the_same_tree_gives_the_same_bytes() -> None:
    tree = skeleton_of(random_tree(120))
    assert look_json(tree, judged(tree)) == look_json(tree, judged(skeleton_of(random_tree(120))))


def test_look_json_holds_what_was_promised() -> None:
    tree = skeleton_of(random_tree(120))
    table = json.loads(look_json(tree, judged(tree)))
    assert 0.0 <= table["overall"] <= 100.0
    assert len(table["measures"]) >= 25
    for row in table["measures"]:
        assert {"name", "value", "low", "high", "score", "offenders"} <= set(row)
        assert 0.0 <= row["score"] <= 100.0
        assert all(tag in tree.tags for tag in row["offenders"])
    assert {"bifurcation_ratio", "diameter_ratio"} <= {row["name"] for row in table["reported"]}


def test_counts_are_reported_for_a_design_and_scored_for_a_measured_tree() -> None:
    design, measured = judged(random_tree(120)), judged(skeleton_of_nodes(natural(1)))
    assert "bifurcation_ratio" in [f.name for f in design.reported]
    assert "bifurcation_ratio" in [f.name for f in measured.findings]
    assert "pipe_exponent" in [f.name for f in design.findings]
    assert "pipe_exponent" in [f.name for f in measured.reported]


def test_the_words_say_where_to_stand_and_what_would_help() -> None:
    tree = skeleton_of_nodes(MADE["whorled"]())
    verdict = judged(tree)
    words = in_words(tree, verdict)
    assert len(words) == len(verdict.faults)
    assert all("Stand at" in line and "To help:" in line and "natural" in line for line in words)
    page = look_md(tree, verdict, ["1 radius taken from its parent"])
    assert "1 radius taken from its parent" in page
    assert "| members alike |" in page


def test_trees_of_next_to_nothing_are_judged_without_a_warning() -> None:
    for tree in (post(), gallows(), random_tree(3, limbs=1)):
        assert 0.0 <= judged(tree).overall <= 100.0
        assert 0.0 <= first_look(tree).overall <= 100.0


def test_the_first_look_holds_a_part_of_the_full_judgement() -> None:
    tree = random_tree(200)
    few, all_of = first_look(tree), judged(tree)
    values = {f.name: f.value for f in all_of.findings}
    assert 15 <= len(few.findings) < len(all_of.findings)
    assert all(values[f.name] == f.value for f in few.findings)
