"""The page on the job folder says what is so."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from armature.files import piles_csv
from armature.files.lists import bends_csv, hang_points_csv, joints_csv, members_csv, tapers_csv
from armature.job.folder import job_folder
from armature.job.keeping import moved_csv
from armature.job.records import write_records, write_summary
from armature.job.written import Written
from armature.leaves.naming import record_columns
from armature.tree import RANKS
from tests.files.grown import grown_tree
from tests.job.told_files import PAGE, columns_told, files_told
from tests.trees import gallows


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
    paths = [path for path in (tmp_path / "job").rglob("*") if path.is_file()]
    assert {path.relative_to(tmp_path / "job").as_posix() for path in paths} <= files_told().keys()
    assert f"{len(RANKS) + 9} root" in PAGE


def test_every_csv_that_is_told_has_its_columns_told_and_the_other_way_round() -> None:
    assert {name for name in files_told() if name.endswith(".csv")} == set(columns_told())
    assert all(columns_told().values())


def test_the_lists_of_the_bench_have_the_columns_that_the_page_tells() -> None:
    told = columns_told()
    headers = {
        "leaves/record.csv": ",".join(record_columns(())),
        "leaves/piles.csv": piles_csv({}),
        "earlier/moved.csv": moved_csv(Written()),
    }
    for name, text in headers.items():
        assert set(text.splitlines()[0].split(",")) == told[name]


def test_the_pages_example_runs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with job_folder(tmp_path / "jobs" / "garden") as aside:
        write_records(aside, *grown_tree())
    monkeypatch.chdir(tmp_path)
    (example,) = re.findall(r"```python\n(.*?)```", PAGE, flags=re.S)
    exec(compile(example, "job-folder.md", "exec"), {})
