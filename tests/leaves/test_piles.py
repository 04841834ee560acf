"""Cuts counted by design and grade, dealt to leaves: names get the best, wild ones are scattered."""

from pathlib import Path

import numpy as np
import pytest

from armature.edge import CommissionError
from armature.leaves.naming.assigning import BEST, PLAIN, SCRAP, WILD
from armature.leaves.naming.piles import Pile, deal, read_piles
from armature.leaves.plan import pile_grades

ROW = np.stack([np.arange(10) * 100.0, np.zeros(10), np.zeros(10)], axis=1)
ONES = np.ones(10, dtype=np.int64)


def dealt(pile: Pile, named: list[int] = (), length: float = 100.0):  # type: ignore[no-untyped-def, assignment]
    bear = np.zeros(10, dtype=bool)
    bear[list(named)] = True
    return deal({1: pile}, ONES, bear, np.linspace(1, 0, 10), ROW, length)


def test_names_get_the_best_cuts_and_the_worthiest_first() -> None:
    found = dealt(Pile(2, 8), [3, 5, 7])
    assert found.grades[[3, 5, 7]].tolist() == [BEST, BEST, PLAIN]


def test_wild_cuts_keep_two_lengths_from_each_other() -> None:
    """Leaves 100 mm apart in a row, of 100 mm: ten places take at most five wild ones."""
    found = dealt(Pile(0, 10, 9))
    wild = np.flatnonzero(found.grades == WILD)
    assert len(wild) >= 4
    assert np.diff(wild).min() >= 2
    assert found.crowded == 0
    assert found.left[1].wild == 9 - len(wild)


def test_wild_cuts_hang_side_by_side_only_where_nothing_else_is_left() -> None:
    found = dealt(Pile(0, 2, 8))
    assert (found.grades == WILD).sum() == 8
    assert found.crowded > 0
    assert found.again == {}


def test_what_the_pile_lacks_is_cut_again() -> None:
    found = dealt(Pile(1, 5, 0, 6), [0])
    assert found.grades[0] == BEST
    assert found.again == {1: 4}
    assert (found.grades == SCRAP).sum() == 4


def test_every_cut_is_dealt_once_or_left() -> None:
    rng = np.random.default_rng(3)
    designs = rng.integers(1, 4, size=10)
    piles = {d: Pile(*rng.integers(0, 4, size=3).tolist()) for d in (1, 2, 3)}
    found = deal(piles, designs, np.arange(10) < 3, np.zeros(10), ROW, 30.0)
    for d, pile in piles.items():
        for grade, code in (("best", BEST), ("plain", PLAIN), ("wild", WILD)):
            used = int(((designs == d) & (found.grades == code)).sum())
            assert used + getattr(found.left[d], grade) == getattr(pile, grade)


def test_a_spoiled_cut_leaves_its_grade_and_then_the_next() -> None:
    assert Pile(1, 3, 2, 0).less("best", 2) == Pile(0, 2, 2, 2)


def test_leaves_that_keep_their_names_are_graded_first() -> None:
    kept = np.arange(10) == 9
    grades = pile_grades({1: Pile(1, 2, 1)}, ONES, kept, np.linspace(1, 0, 10))
    assert grades[9] == BEST
    assert grades[:4].tolist() == [PLAIN, PLAIN, WILD, SCRAP]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("design,best,plain,wild,scrap\n1,1,1,1,1\n", "4 of design 1|5 of design 1 were cut"),
        ("design,best,plain,wild,scrap\n9,1,1,1,1\n", "no such design"),
        ("design,best,plain,wild,scrap\n1,5,0,0,0\n1,5,0,0,0\n", "counted twice"),
        ("design,best,plain,wild,scrap\n1,-5,0,0,0\n", "whole numbers"),
        ("design,best,plain,wild,scrap\n1,5.0,,,\n", "whole numbers"),
        ("design,best,plain,wild,scrap\n", "holds no counts"),
        ("design,good,plain,wild,scrap\n1,5,0,0,0\n", "best is missing"),
    ],
)
def test_counts_that_cannot_be_are_refused_in_one_line(tmp_path: Path, text: str, words: str) -> None:
    file = tmp_path / "piles.csv"
    file.write_text(text, encoding="utf-8")
    with pytest.raises(CommissionError, match=words) as told:
        read_piles(file, {1: 5})
    assert "\n" not in str(told.value)
    assert len(str(told.value)) < 300 + len(str(file))


def test_an_empty_bin_counts_as_none(tmp_path: Path) -> None:
    file = tmp_path / "piles.csv"
    file.write_text("Design;Best;Plain;Wild;Scrap\n1;5;;;\n", encoding="utf-8")
    assert read_piles(file, {1: 5}) == {1: Pile(5)}
