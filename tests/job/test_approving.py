"""The client's word: taken in for the design that it is about, and for no other."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from armature.cli.app import run
from armature.edge import FileError
from armature.files import design_json
from armature.job import approve
from armature.job.written import digest_of
from tests.pictures.scenes import small


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a folder with a design."""
    commission, tree = small()
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "design.json").write_text(design_json(tree, commission), encoding="utf-8", newline="\n")
    return tmp_path / "job"


def word(job: Path, **other: Any) -> Path:
    said = {
        "format": "armature approval",
        "version": 1,
        "title": "Test alder",
        "design": digest_of((job / "design.json").read_bytes()),
        "says": "yes",
        "by": "Ann Lee",
        "on": "2026-05-04",
        "notes": [{"tag": "A", "text": "a little\nlower"}, {"tag": "", "text": "lovely"}],
    }
    file = job.parent / "approval.json"
    file.write_text(json.dumps(said | other), encoding="utf-8")
    return file


def test_a_signed_word_is_told_and_kept_byte_for_byte(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = word(job)
    assert run(["approve", str(file), str(job)]) == 0
    told = capsys.readouterr().out.splitlines()
    assert told[:3] == ["Ann Lee says yes on 2026-05-04, with 2 notes", "A: a little lower", "the tree: lovely"]
    kept = job / "approvals" / "client-2026-05-04.json"
    assert kept.read_bytes() == file.read_bytes()
    approve(file, job)
    assert [each.name for each in kept.parent.iterdir()] == [kept.name], "the same word twice is one word"
    approve(word(job, says="not yet"), job)
    assert sorted(each.name for each in kept.parent.iterdir()) == ["client-2026-05-04-2.json", kept.name]


@pytest.mark.parametrize(
    ("other", "rule"),
    [
        ({"design": "0" * 64}, "design: must be the hash of"),
        ({"format": "else"}, 'is no approval: "format" must be'),
        ({"version": 2}, "version: must be 1: 2"),
        ({"by": " "}, 'by: must be a name of 1 to 120 plain letters: " "'),
        ({"by": "Ann\u202eLee"}, "by: must be a name"),
        ({"on": "4 May"}, 'on: must be a day as in 2026-05-04: "4 May"'),
        ({"says": "maybe"}, 'says: must be "yes" or "not yet": "maybe"'),
        ({"notes": 3}, "notes: must be a list of up to 500: 3"),
        ({"notes": [{"tag": "ZZ9", "text": "x"}]}, "notes[0].tag: must be the tag of a member or leaf"),
        ({"notes": [{"tag": "A", "text": ""}]}, "notes[0].text: must be text of 1 to 2000 letters"),
    ],
)
def test_what_is_no_word_on_this_design_is_refused_and_nothing_written(
    job: Path, other: dict[str, Any], rule: str
) -> None:
    with pytest.raises(FileError) as refused:
        approve(word(job, **other), job)
    assert rule in str(refused.value)
    assert "\n" not in str(refused.value)
    assert not (job / "approvals").exists()


def test_a_file_that_is_no_word_at_all_ends_with_2(job: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = job.parent / "photo.json"
    for content in (b"\xff\xd8\xff", b"[" * 100_000, b"[]", b"{}"):
        file.write_bytes(content)
        assert run(["approve", str(file), str(job)]) == 2
        assert "is no approval" in capsys.readouterr().err
    assert run(["approve", str(job.parent / "none.json"), str(job)]) == 2
