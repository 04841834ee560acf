"""The changes that bite makes, and that it knows which blocks run."""

from __future__ import annotations

import random
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tests.bite.changing import changes
from tests.bite.forking import exchange
from tests.bite.marking import carrying, marked, running

SOURCE = '''\
"""A house of one room."""
LIMIT = 4
TWICE = LIMIT * 2


def held(count: int) -> str:
    """Say how many."""
    if count > LIMIT:
        return "many"
    for _ in range(count):
        pass
    return "few"


def other() -> int:
    return TWICE
'''


@pytest.fixture
def house(tmp_path: Path) -> Path:
    (tmp_path / "armature").mkdir()
    (tmp_path / "armature" / "one.py").write_text(SOURCE, "utf-8")
    return tmp_path


def test_every_place_is_changed_once_and_the_text_still_runs() -> None:
    made = changes("one.py", SOURCE, random.Random(1))
    assert [(each.line, each.old) for each in sorted(made, key=lambda each: each.start)] == [
        (2, "4"), (3, "*"), (3, "2"), (8, ">"),
    ]  # fmt: skip
    for each in made:
        text = each.made(SOURCE)
        assert text != SOURCE
        compile(text, "one.py", "exec")


def test_a_block_marks_that_it_was_entered(house: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    blocks, marks = marked(house), bytearray(20)
    stand_in = ModuleType("bite_marks")
    stand_in.__dict__["MARKS"] = marks
    monkeypatch.setitem(sys.modules, "bite_marks", stand_in)
    room: dict[str, object] = {}
    exec(compile((house / "armature" / "one.py").read_text("utf-8"), "one.py", "exec"), room)

    def entered(count: int) -> set[int]:
        marks[:] = bytes(20)
        room["held"](count)  # type: ignore[operator]
        return {blocks[at].first for at, mark in enumerate(marks) if mark}

    assert entered(9) == {8, 9}
    assert entered(0) == {8, 10, 12}
    assert entered(2) == {8, 10, 11, 12}


def test_a_line_is_run_by_its_block_and_one_outside_of_functions_by_all_who_use_its_names(house: Path) -> None:
    blocks, texts = marked(house), {"armature/one.py": SOURCE}

    def lines(line: int) -> list[int]:
        return sorted(blocks[at].first for at in running("armature/one.py", line, blocks, texts))

    assert lines(9) == [9]
    assert lines(8) == [8]
    assert lines(3) == [16]
    assert lines(2) == [8, 16]


def test_what_is_known_of_a_block_is_carried_over_to_the_function_of_its_name(house: Path) -> None:
    before = marked(house)
    lower = "\n\n" + SOURCE.replace("    return TWICE\n", "    if TWICE:\n        return 1\n    return TWICE\n")
    (house / "armature" / "one.py").write_text(lower, "utf-8")
    now = marked(house)
    carried = {before[at].first: sorted(now[to].first for to in tos) for at, tos in carrying(before, now).items()}
    assert carried == {8: [10], 9: [11], 10: [12], 11: [13], 12: [14], 16: [18, 19, 20]}


def test_the_code_of_a_function_is_exchanged_in_a_module_that_is_taken_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "armature_apart.py").write_text(SOURCE, "utf-8")
    monkeypatch.syspath_prepend(tmp_path)
    import armature_apart  # type: ignore[import-not-found]

    asked = armature_apart.held
    assert (asked(4), asked(5)) == ("few", "many")
    exchange("armature_apart.py", SOURCE, SOURCE.replace("count > LIMIT", "count <= LIMIT"))
    assert (asked(4), asked(5)) == ("many", "few")
    monkeypatch.delitem(sys.modules, "armature_apart")
