"""Nothing of the user's is lost: each way in which a job folder once lost a file."""

from __future__ import annotations

import hashlib
import os
import sqlite3
from pathlib import Path

import pytest

from armature.job import job_folder
from armature.job.keeping import SUMS
from armature.job.marks import leftovers
from tests.job.killed_runs import refuse


def make(target: Path, design: str = "rowan", said: list[str] | None = None, **files: str) -> None:
    with job_folder(target, leftovers="fit", said=said) as aside:
        (aside / "design.json").write_text(design)
        for name, text in files.items():
            (aside / f"{name}.csv").write_text(text)


def test_photographs_with_sums_of_their_own_stay(tmp_path: Path) -> None:
    shots = tmp_path / "shots"
    shots.mkdir()
    (shots / "heat.jpg").write_bytes(b"jpeg")
    (shots / "made.csv").write_text("tag\nA07\n")
    rows = [f"{hashlib.sha256((shots / name).read_bytes()).hexdigest()}  {name}\n" for name in ("heat.jpg", "made.csv")]
    (shots / SUMS).write_text("".join(rows))
    make(shots, members="a")
    make(shots, members="b")
    assert (shots / "heat.jpg").read_bytes() == b"jpeg"
    assert (shots / "made.csv").read_text() == "tag\nA07\n"
    assert (shots / "earlier" / "1" / SUMS).read_text() == "".join(rows)


def test_sums_that_the_user_has_refreshed_take_no_file_with_them(tmp_path: Path) -> None:
    make(tmp_path / "job", members="a")
    (tmp_path / "job" / "notes.txt").write_text("mine")
    digest = hashlib.sha256(b"mine").hexdigest()
    with (tmp_path / "job" / SUMS).open("a") as listed:
        listed.write(f"{digest}  notes.txt\n")
    make(tmp_path / "job", design="other", members="b")
    assert (tmp_path / "job" / "notes.txt").read_text() == "mine"


def test_neighbours_with_hidden_names_are_nobodys_leftovers(tmp_path: Path) -> None:
    for name in (".job.mine.old", ".job.mine.new", ".job.12-0.old", ".job.12-0.new"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "letter").write_text("mine")
    make(tmp_path / "job", members="a")
    make(tmp_path / "job", members="b")
    assert [path.read_text() for path in sorted(tmp_path.glob(".job.*/letter"))] == ["mine"] * 4
    assert leftovers(tmp_path / "job") == []


@pytest.mark.parametrize("way", ["links", "copies", "in use"])
def test_rights_and_times_stay_as_they_were(way: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job, photos = tmp_path / "job", tmp_path / "job" / "measured" / "photos"
    make(job, members="a")
    photos.mkdir(parents=True)
    (photos / "heat.jpg").write_bytes(b"jpeg")
    (job / "empty").mkdir()
    for path, rights in ((photos / "heat.jpg", 0o640), (photos, 0o700), (job / "empty", 0o750), (job, 0o700)):
        path.chmod(rights)
        os.utime(path, ns=(10**18, 10**18))
    (job / "members.csv").chmod(0o600)
    if way == "copies":
        monkeypatch.setattr(os, "link", refuse)
    numbers = photos.stat().st_ino, (photos / "heat.jpg").stat().st_ino
    opened = (photos / "heat.jpg").open("rb") if way == "in use" else None
    make(job, members="b")
    if opened:
        opened.close()
        assert photos.stat().st_ino == numbers[0]
    assert (photos / "heat.jpg").stat().st_ino == numbers[1]
    for path, rights in ((photos / "heat.jpg", 0o640), (photos, 0o700), (job / "empty", 0o750)):
        assert (path.stat().st_mode & 0o7777, path.stat().st_mtime_ns) == (rights, 10**18), path
    assert job.stat().st_mode & 0o7777 == 0o700
    assert (job / "members.csv").stat().st_mode & 0o7777 == 0o600
    assert (job / "members.csv").read_text() == "b"


@pytest.mark.parametrize("mode", ["delete", "wal"])
@pytest.mark.parametrize("links", [True, False])
@pytest.mark.parametrize("at_once", [True, False])
def test_no_entry_of_an_open_data_base_is_lost(
    mode: str, links: bool, at_once: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = tmp_path / "job"
    make(job, members="a")
    base = sqlite3.connect(job / "hours.sqlite", isolation_level=None)
    base.execute(f"pragma journal_mode = {mode}")
    base.execute("create table hours (entry integer)")
    base.execute("begin")
    base.execute("insert into hours values (0)")
    if not links:
        monkeypatch.setattr(os, "link", refuse)
    with job_folder(job, at_once, "fit") as aside:
        (aside / "members.csv").write_text("b")
        base.execute("insert into hours values (1)")
    # Acknowledged after the swap, through the connection that was open before.
    base.execute("commit")
    base.execute("insert into hours values (2)")
    other = sqlite3.connect(job / "hours.sqlite")
    assert [row[0] for row in other.execute("select entry from hours order by entry")] == [0, 1, 2]
    base.close()
    other.close()
    assert (job / "members.csv").read_text() == "b"
    assert not list(tmp_path.glob(".job*"))


def test_results_stay_while_the_design_does_and_are_moved_aside_when_it_changes(tmp_path: Path) -> None:
    job = tmp_path / "job"
    make(job, members="a", stills="minutes of work")
    make(job, members="b")
    assert (job / "stills.csv").read_text() == "minutes of work"
    said: list[str] = []
    make(job, design="other", said=said, members="c")
    assert not (job / "stills.csv").exists()
    assert (job / "earlier" / "1" / "stills.csv").read_text() == "minutes of work"
    assert said == ["moved to earlier/1: stills.csv: no longer fits the design"]


def test_five_numbers_of_the_programs_own_stay_and_what_the_user_changed_stays_for_good(tmp_path: Path) -> None:
    job = tmp_path / "job"
    for number in range(9):
        make(job, design=str(number), members="a", stills=f"{number}")
        (job / "members.csv").write_text(f"edited {number}")
        (job / "earlier" / "1").mkdir(parents=True, exist_ok=True)
        (job / "earlier" / "1" / "own").write_text("mine")
        make(job, design=f"{number}, bare", members="a")
    kept = {int(path.parent.name): path.read_text() for path in job.glob("earlier/*/stills.csv")}
    assert len(kept) == 5
    assert list(dict(sorted(kept.items())).values()) == ["4", "5", "6", "7", "8"]
    edited = sorted(path.read_text() for path in job.glob("earlier/*/members.csv"))
    assert edited == [f"edited {number}" for number in range(9)]
    assert (job / "earlier" / "1" / "own").read_text() == "mine"


def test_a_file_written_while_a_run_ends_arrives(tmp_path: Path) -> None:
    job = tmp_path / "job"
    make(job, members="a")
    with job_folder(job) as aside:
        (aside / "members.csv").write_text("b")
        (job / "notes.txt").write_text("written in the meantime")
        (job / "photos").mkdir()
    assert (job / "notes.txt").read_text() == "written in the meantime"
    assert (job / "photos").is_dir()
