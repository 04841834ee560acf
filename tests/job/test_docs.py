"""The page on the job folder says what is so."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from armature.files.lists import bends_csv, hang_points_csv, joints_csv, members_csv, tapers_csv
from armature.job.folder import job_folder
from armature.job.records import write_records, write_summary
from armature.tree import RANKS
from tests.files.grown import grown_tree
from tests.trees import gallows

PAGE = (Path(__file__).parents[2] / "docs" / "job-folder.md").read_text("utf-8")


def test_the_page_names_every_column_in_order() -> None:
    tree = gallows()
    for text in (
        members_csv(tree, tree.lengths, tree.volumes),
        bends_csv(tree),
        joints_csv(tree),
        tapers_csv(tree),
        hang_points_csv(tree),
    ):
        assert f"`{text.splitlines()[0]}`" in PAGE


def test_the_page_names_every_file_that_the_records_write(tmp_path: Path) -> None:
    tree, commission = grown_tree()
    with job_folder(tmp_path / "job") as aside:
        write_records(aside, tree, commission)
        write_summary(aside, tree, commission)
    for path in (tmp_path / "job").rglob("*"):
        assert f"`{path.name}`" in PAGE or path.name in ("mesh", ".armature", "written.json"), path
    assert f"{len(RANKS) + 9} root" in PAGE


def test_the_pages_example_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with job_folder(tmp_path / "jobs" / "garden") as aside:
        write_records(aside, *grown_tree())
    monkeypatch.chdir(tmp_path)
    (example,) = re.findall(r"```python\n(.*?)```", PAGE, flags=re.S)
    exec(compile(example, "job-folder.md", "exec"), {})
