"""What an older version wrote is still read, and what a later one may write is not taken for known."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from armature.edge import FileError
from armature.job.written import LIST, Written, read_written, write_written
from armature.leaves.outline import designs_text, read_designs
from tests.leaves.designs import family


def test_outlines_of_version_1_a_bare_list_are_read_as_those_of_today(tmp_path: Path) -> None:
    text = designs_text(family())
    now, older = tmp_path / "now.json", tmp_path / "older.json"
    now.write_text(text, "utf-8")
    older.write_text(json.dumps(json.loads(text)["designs"]), "utf-8")
    assert designs_text(read_designs(now)) == designs_text(read_designs(older)) == text


@pytest.mark.parametrize("head", [{"version": 3}, {"format": "armature.summary"}, {"format": None}])
def test_outlines_of_another_version_or_format_are_refused(tmp_path: Path, head: dict[str, object]) -> None:
    file = tmp_path / "outlines.json"
    file.write_text(json.dumps(json.loads(designs_text(family())) | head), "utf-8")
    with pytest.raises(FileError, match="holds no designs"):
        read_designs(file)


def test_the_list_of_what_an_older_version_wrote_is_read(tmp_path: Path) -> None:
    written = Written({"members.csv": "0" * 64})
    write_written(tmp_path, written)
    assert read_written(tmp_path) == written
    said = json.loads((tmp_path / LIST).read_text("utf-8"))
    del said["version"]
    (tmp_path / LIST).write_text(json.dumps(said | {"format": "files that armature wrote"}), "utf-8")
    assert read_written(tmp_path) == written


def test_the_list_of_a_later_version_proves_nothing(tmp_path: Path) -> None:
    write_written(tmp_path, Written({"members.csv": "0" * 64}))
    said = json.loads((tmp_path / LIST).read_text("utf-8"))
    (tmp_path / LIST).write_text(json.dumps(said | {"version": 3}), "utf-8")
    assert read_written(tmp_path) == Written()
