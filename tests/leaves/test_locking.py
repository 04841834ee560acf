from pathlib import Path

import numpy as np
import pytest

from armature.commission import read
from armature.edge import CommissionError
from armature.grow import grow
from armature.job.bench_folder import read_bench_folder
from armature.leaves import plan_leaves
from armature.leaves.hanging.hang import Hung, Loop, hang_leaves
from armature.leaves.hanging.locking import designs_given_back, hung_as_cut
from armature.leaves.hanging.meeting import Bools
from armature.leaves.naming.bench import Bench
from armature.tree import Leaves, Tree
from tests.leaves.designs import family
from tests.trees import random_tree


def leaves(*designs: int) -> Leaves:
    count = len(designs)
    tags = np.array([f"A-{k + 1}" for k in range(count)])
    return Leaves(tags, np.zeros(count, int), np.linspace(0.0, 90.0, count), np.array(designs), np.full(count, ""))


def test_a_cut_design_comes_back_to_its_tag_and_the_count_stays() -> None:
    found, locked = designs_given_back(leaves(1, 2, 2, 3), {"A-1": 2, "A-2": 2})
    assert found.designs.tolist() == [2, 2, 1, 3]
    assert locked.tolist() == [True, True, False, False]


def test_locked_leaves_that_hold_each_others_designs_settle_it_between_them() -> None:
    found, _ = designs_given_back(leaves(1, 2, 2, 1), {"A-1": 2, "A-2": 1})
    assert found.designs.tolist() == [2, 1, 2, 1]


def test_a_cut_design_stays_even_where_nobody_can_give_it() -> None:
    found, _ = designs_given_back(leaves(1, 2), {"A-1": 2, "A-2": 2})
    assert found.designs.tolist() == [2, 2]


def test_tags_and_designs_that_are_no_more_are_passed_over() -> None:
    found, locked = designs_given_back(leaves(1, 2), {"B-1": 2, "A-2": 7})
    assert found.designs.tolist() == [1, 2]
    assert not locked.any()


def hung(tree: Tree, locked: Bools | None = None) -> Hung:
    return hang_leaves(tree, family(), Loop(2.0, 8.0), 7.32, 30.0, 0.25, 20.0, True, locked)


def test_a_second_run_moves_nothing_and_a_changed_one_keeps_what_is_cut() -> None:
    tree = random_tree(30, leaves_a_twig=3)
    first = hung(tree)
    tags, numbers = first.tree.leaves.tags.tolist(), first.tree.leaves.designs.tolist()
    assert hung_as_cut(first, dict(zip(tags, numbers, strict=True)), hung) is first
    some = {tag: 1 + number % 9 for tag, number in zip(tags[::10], numbers[::10], strict=True)}
    second = hung_as_cut(first, some, hung)
    given = dict(zip(second.tree.leaves.tags.tolist(), second.tree.leaves.designs.tolist(), strict=True))
    assert all(given[tag] == number for tag, number in some.items())
    assert (np.bincount(second.tree.leaves.designs) == np.bincount(first.tree.leaves.designs)).all()
    assert np.allclose(second.moved - first.moved, second.tree.leaves.stations - first.tree.leaves.stations)


JOB = """title = "Small rowan"
seed = 3
canopy = {height = "3 m", spread = ["2 m", "2 m"], clear_stem = "1 m"}
growth = {limbs = 3, branches = 6, twigs = 18}
[leaves]
count = 36
"""


def test_a_graded_leaf_keeps_the_design_it_was_cut_in(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    commission = read(tmp_path / "job.toml")
    tree = grow(commission)
    first = plan_leaves(commission, tree, plates=False)
    numbers = dict(zip(first.tree.leaves.tags.tolist(), first.tree.leaves.designs.tolist(), strict=True))
    graded = list(numbers)[::7]
    cut = {tag: 1 + number % 9 if tag in graded else number for tag, number in numbers.items()}
    bench = Bench(grades=dict.fromkeys(graded, 1), designs=cut)
    again = plan_leaves(commission, tree, bench=bench, plates=False).tree.leaves
    found = dict(zip(again.tags.tolist(), again.designs.tolist(), strict=True))
    assert [found[tag] for tag in graded] == [cut[tag] for tag in graded]
    assert (np.bincount(again.designs) == np.bincount(tree.leaves.designs)).all()
    same = plan_leaves(commission, tree, bench=Bench(grades=dict.fromkeys(numbers, 1), designs=numbers), plates=False)
    assert (same.tree.leaves.stations == first.tree.leaves.stations).all()


def test_designs_are_read_back_from_the_last_run(tmp_path: Path) -> None:
    (tmp_path / "leaves.csv").write_text("leaf,twig,design\nA01-1-1,A01-1,4\nA01-1-2,A01-1,7\n", encoding="utf-8")
    assert read_bench_folder(tmp_path).cut() == {}
    (tmp_path / "grades.csv").write_text("leaf,grade\nA01-1-2,best\n", encoding="utf-8")
    assert read_bench_folder(tmp_path).cut() == {"A01-1-2": 7}
    (tmp_path / "leaves.csv").write_text("leaf,design\nA01-1-1,broad\n", encoding="utf-8")
    with pytest.raises(CommissionError, match="the design of A01-1-1 must be a number"):
        read_bench_folder(tmp_path)
