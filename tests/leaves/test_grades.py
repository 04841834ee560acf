from pathlib import Path

import numpy as np
import pytest

from armature.edge import CommissionError
from armature.leaves.naming.assigning import BEST, PLAIN, SCRAP, Places
from armature.leaves.naming.bench import Bench
from armature.leaves.naming.grades import read_grades, read_pairs
from armature.leaves.naming.regrading import Stamps, regraded

STAMPS = Stamps(np.array([[40.0, 12.0]]), np.array([2.38, 3.175]), 3)
TEXTS = ["Ada", "Eve", "Kim"]


def places(count: int = 6) -> Places:
    tags = np.array([f"A01-1-{k}" for k in range(count)])
    zeros = np.zeros(count, dtype=np.int64)
    return Places(tags, zeros, zeros, np.zeros((count, 3)), np.linspace(2, 1, count), zeros + PLAIN)


def graded(grades: dict[str, int], spares: dict[str, int], count: int = 6, **before: object):  # type: ignore[no-untyped-def]
    here = places(count)
    bench = Bench(grades, **before)  # type: ignore[arg-type]
    here.grades[:] = bench.grades_of(here.tags.tolist())
    return regraded(bench, TEXTS, np.array([0, 1, 2]), here, np.ones(count, dtype=np.int64), spares, STAMPS)


def test_a_spare_stands_in_for_scrap_and_the_name_stays() -> None:
    found = graded({"A01-1-1": SCRAP, "x1-1": PLAIN, "x1-2": BEST}, {"x1-1": 1, "x1-2": 1})
    assert found.swaps == {"A01-1-1": "x1-2"}, "the best spare first"
    assert found.moved == ()
    assert found.again == {}
    assert found.bench.grades["A01-1-1"] == BEST


def test_without_a_spare_the_name_moves_and_the_leaf_is_cut_again() -> None:
    found = graded({"A01-1-1": SCRAP}, {})
    assert found.again == {1: 1}
    assert [(name, before) for name, before, _ in found.moved] == [("Eve", "A01-1-1")]
    assert found.leaves[0] == 0
    assert found.leaves[2] == 2
    assert found.leaves[1] in (3, 4, 5)


def test_a_name_waits_where_no_leaf_is_free() -> None:
    found = graded({"A01-1-1": SCRAP}, {}, count=3)
    assert found.waiting == (("Eve", "A01-1-1"),)
    assert found.leaves.tolist() == [0, 1, 2]


def test_a_used_or_scrapped_spare_stands_in_no_more() -> None:
    found = graded({"A01-1-1": SCRAP, "x1-2": SCRAP}, {"x1-1": 1, "x1-2": 1}, swaps={"A01-1-5": "x1-1"})
    assert found.swaps == {}
    assert found.again == {1: 1}


def test_good_grades_change_nothing() -> None:
    found = graded({f"A01-1-{k}": BEST for k in range(6)}, {"x1-1": 1})
    assert (found.moved, dict(found.swaps), dict(found.again)) == ((), {}, {})


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("leaf,grade\nA,good\n", "scrap, wild, plain or best"),
        ("leaf,grade\nB,plain\n", "no leaf or spare"),
        ("leaf,grade\nA,plain\nA,scrap\n", "graded twice"),
        ("tag,mark\nA,plain\n", "header row"),
    ],
)
def test_bad_grades_are_refused_in_one_line(tmp_path: Path, text: str, word: str) -> None:
    file = tmp_path / "grades.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(CommissionError, match=word):
        read_grades(file, ["A"])


def test_guarded_names_are_read_back_as_they_were(tmp_path: Path) -> None:
    file = tmp_path / "stamped.csv"
    file.write_text('leaf,name\nA,\'=1+1\nB,"Rao, Ada"\n', encoding="utf-8")
    assert read_pairs(file, "name") == {"A": "=1+1", "B": "Rao, Ada"}


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_grades_of_any_usual_encoding_are_read(tmp_path: Path, encoding: str) -> None:
    file = tmp_path / "grades.csv"
    file.write_bytes("leaf\tgrade\tnote\nA01-1-1\tBest\tsch\u00f6n\nA01-1-2\t\t\n".encode(encoding))
    assert read_grades(file, ["A01-1-1"]) == {"A01-1-1": BEST}


def test_a_scrapped_leaf_is_locked_no_more_unless_its_name_waits() -> None:
    bench = Bench(
        {"A": SCRAP, "B": BEST, "C": SCRAP}, {"A": "Ada", "B": "Eve"}, {"A": "Ada", "C": "Kim"}, {}, frozenset("C")
    )
    assert bench.kept() == [("B", "Eve"), ("C", "Kim")]
