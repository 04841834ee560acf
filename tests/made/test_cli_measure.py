"""The command that takes measures in: kept whole, or nothing changed; taken back one by one."""

from __future__ import annotations

from pathlib import Path

import pytest

from armature.cli.app import run
from armature.commission import Commission, read
from armature.files import design_json
from tests.made.bars import bent_copy, offset_rows
from tests.trees import random_tree

TREE = random_tree(8, seed=3)
MADE = bent_copy(TREE, 1)
READ = offset_rows(TREE.tags.tolist(), MADE, [1, 4])


def commission() -> Commission:
    return read('title = "Alder"\nunits = "mm"\ncanopy.height = "3 m"\ngrowth = {limbs = 3, branches = 3, twigs = 8}')


@pytest.fixture
def job(tmp_path: Path) -> Path:
    folder = tmp_path / "job"
    folder.mkdir()
    (folder / "design.json").write_text(design_json(TREE, commission()), encoding="utf-8")
    return folder


def test_measures_are_kept_and_told_member_by_member(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = job.parent / "floor.csv"
    table.write_text(READ, encoding="utf-8")
    assert run(["measure", str(job), str(table)]) == 0
    said = capsys.readouterr().out
    assert "2 members exist, 2 of them measured" in said
    assert f"- A: {MADE.lengths[1]:.0f} mm long" in said
    assert (job / "measured" / "offsets.csv").read_text() == READ
    assert run(["measure", str(job), str(table)]) == 0
    assert (job / "measured" / "offsets-2.csv").read_text() == READ


def test_a_table_is_taken_back_and_what_an_earlier_one_said_holds_again(
    job: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = job / "measured"
    own.mkdir()
    (own / "offsets.csv").write_text(READ)
    (own / "offsets-2.csv").write_text(offset_rows(TREE.tags.tolist(), bent_copy(TREE, 2), [1]))
    run(["measure", str(job)])
    both = capsys.readouterr().out
    assert run(["measure", str(job), "--back", "offsets-2.csv"]) == 0
    first = capsys.readouterr().out.splitlines()
    assert sorted(path.name for path in own.iterdir()) == ["offsets.csv", "taken-back"]
    before = both.splitlines()
    same = [line for line in first if line in before and line.startswith("- ")]
    assert [line[:6] for line in same] == ["- A01:"]
    assert run(["measure", str(job), "--back", "offsets-2.csv"]) == 2


def test_a_table_that_cannot_be_so_changes_nothing(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = job.parent / "floor.csv"
    for text in (READ.replace("A01", "A07"), READ.replace("_mm", "_cm"), "x,y\n1,2\n", READ.replace("_mm", "")):
        table.write_text(text, encoding="utf-8")
        assert run(["measure", str(job), str(table)]) == 2
        assert len(capsys.readouterr().err.splitlines()) == 1
        assert not (job / "measured").exists()
