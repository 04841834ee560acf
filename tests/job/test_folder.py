"""The job folder is written whole or not at all, and the user's own files live in it."""

from __future__ import annotations

import errno
import importlib
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from armature.edge import FileError
from armature.job.folder import job_folder, written_files
from armature.job.keeping import SUMS
from armature.job.marks import Mark, write_mark
from armature.job.written import LIST, read_written

HERE = Path(__file__).parent
ENDED = 2**22 + 1  # no process has a number over 4,194,304 (proc(5), pid_max)
ROOT = HERE.parents[1]


def make(target: Path, **files: str) -> None:
    with job_folder(target) as aside:
        for name, text in files.items():
            (aside / f"{name}.csv").write_text(text)


def names(folder: Path) -> list[str]:
    """Return all paths below a folder but those of the program's own list."""
    paths = [path.relative_to(folder).as_posix() for path in folder.rglob("*")]
    return sorted(path for path in paths if not path.endswith((".armature", LIST)))


@pytest.fixture(scope="module")
def killed(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[list[str]]]:
    """What was seen after each kill, by the way of the run; one process tries all ways."""
    run = [sys.executable, str(HERE / "killed_runs.py"), str(tmp_path_factory.mktemp("killed"))]
    told = subprocess.run(
        run, capture_output=True, text=True, check=True, cwd=ROOT, env=dict(os.environ, PYTHONPATH=".")
    )
    kills: dict[str, list[list[str]]] = {}
    for line in told.stdout.splitlines():
        way, *seen = line.split(";")
        kills.setdefault(way, []).append(seen)
    return kills


@pytest.mark.parametrize("way", ["once", "two-step", "copies", "in-use"])
def test_a_run_killed_at_any_touch_of_the_disk_leaves_the_old_folder_usable(
    killed: dict[str, list[list[str]]], way: str
) -> None:
    kills = killed[way]
    assert len(kills) > 30
    assert [line[1] for line in kills] == ["1"] * (len(kills) - 1) + ["0"]
    assert {line[3] for line in kills} == {"old,A07", "new,A07"}
    assert {(line[4], line[5]) for line in kills} == {("next,A07", "0")}
    straight_after = {line[2] for line in kills}
    if way == "in-use":
        # No file of the user's may move here, so results go in one by one; what was begun the next run ends.
        straight_after -= {"new/old,A07"}
    if way == "two-step":
        # Without an exchange of names there is one moment at which only the next run finds the old folder.
        assert sum(line[2] == "missing" for line in kills) <= 1
        straight_after -= {"missing"}
    assert straight_after == {"old,A07", "new,A07"}


def test_a_folder_appears_only_when_all_is_written(tmp_path: Path) -> None:
    target = tmp_path / "jobs" / "rowan"
    with job_folder(target) as aside:
        (aside / "members.csv").write_text("tag\n")
        assert not target.exists()
    assert names(target) == [SUMS, "members.csv"]
    assert names(tmp_path) == ["jobs", "jobs/rowan", f"jobs/rowan/{SUMS}", "jobs/rowan/members.csv"]


def test_an_error_leaves_the_old_folder_and_nothing_beside_it(tmp_path: Path) -> None:
    make(tmp_path / "job", members="old")

    def stopped() -> None:
        with job_folder(tmp_path / "job") as aside:
            (aside / "members.csv").write_text("new")
            raise RuntimeError("stopped by hand")

    with pytest.raises(RuntimeError, match="by hand"):
        stopped()
    assert (tmp_path / "job" / "members.csv").read_text() == "old"
    assert names(tmp_path) == ["job", f"job/{SUMS}", "job/members.csv"]


def test_an_error_in_a_first_run_leaves_no_folder_at_all(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError), job_folder(tmp_path / "a" / "b" / "job"):
        raise RuntimeError
    assert names(tmp_path) == []


def test_the_users_files_are_carried_over_and_stale_results_are_not(tmp_path: Path) -> None:
    job = tmp_path / "job"
    make(job, members="old", plates="old")
    (job / "made.csv").write_text("tag\nA07\n")
    (job / "photos").mkdir()
    (job / "photos" / "first heat.jpg").write_bytes(b"jpeg")
    (job / "empty").mkdir()
    (job / "link").symlink_to("members.csv")
    make(job, members="new")
    wanted = [SUMS, "empty", "link", "made.csv", "members.csv", "photos", "photos/first heat.jpg"]
    assert names(job) == sorted(wanted)
    assert (job / "members.csv").read_text() == "new"
    assert (job / "made.csv").read_text() == "tag\nA07\n"
    assert os.readlink(job / "link") == "members.csv"


def test_a_result_that_the_user_changed_is_moved_aside_and_said(tmp_path: Path) -> None:
    job = tmp_path / "job"
    make(job, members="old")
    (job / "members.csv").write_text("old, with notes")
    said: list[str] = []
    with job_folder(job, said=said) as aside:
        (aside / "members.csv").write_text("new")
    assert said == ["moved to earlier/1: members.csv: changed since a run wrote it"]
    assert (job / "members.csv").read_text() == "new"
    assert (job / "earlier" / "1" / "members.csv").read_text() == "old, with notes"
    (job / "members.csv").write_text("new, with notes")
    make(job, members="newer")
    assert (job / "earlier" / "1" / "members.csv").read_text() == "old, with notes"
    assert (job / "earlier" / "2" / "members.csv").read_text() == "new, with notes"
    why = "changed since a run wrote it"
    listed = f"number,file,why\n1,members.csv,{why}\n2,members.csv,{why}\n"
    assert (job / "earlier" / "moved.csv").read_text() == listed


def test_a_users_file_with_the_name_of_a_new_result_is_not_lost(tmp_path: Path) -> None:
    job = tmp_path / "job"
    make(job, members="old")
    (job / "bars.csv").write_text("my own list")
    make(job, bars="new")
    assert (job / "bars.csv").read_text() == "new"
    assert (job / "earlier" / "1" / "bars.csv").read_text() == "my own list"


def test_a_users_folder_or_file_at_the_place_of_a_new_result_is_moved_aside(tmp_path: Path) -> None:
    job = tmp_path / "job"
    make(job, members="old")
    (job / "design.json").write_text("old")
    (job / "bends.csv" / "deep").mkdir(parents=True)
    (job / "bends.csv" / "deep" / "note").write_text("mine")
    (job / "joints.csv").mkdir()
    (job / SUMS).unlink()
    (job / SUMS).mkdir()
    (job / SUMS / "own").write_text("mine too")
    (job / "mesh").write_text("my own file")
    for _ in range(2):
        with job_folder(job) as aside:
            (aside / "mesh").mkdir()
            for name in ("members.csv", "bends.csv", "joints.csv", "mesh/tree.glb"):
                (aside / name).write_text("new")
    assert (job / "earlier" / "1" / "bends.csv" / "deep" / "note").read_text() == "mine"
    assert (job / "earlier" / "1" / "mesh").read_text() == "my own file"
    assert (job / "earlier" / "1" / SUMS / "own").read_text() == "mine too"
    assert not (job / "earlier" / "2").exists()
    assert (job / "bends.csv").read_text() == (job / "joints.csv").read_text() == "new"


@pytest.mark.parametrize("name", ["../secret", "/etc/hostname", "mesh/../../secret"])
def test_a_list_that_names_a_file_outside_the_folder_proves_nothing(name: str, tmp_path: Path) -> None:
    make(tmp_path, members="tag")
    assert sorted(written_files(tmp_path)) == [SUMS, "members.csv"]
    text = (tmp_path / LIST).read_text()
    (tmp_path / LIST).write_text(text.replace("members.csv", name))
    assert read_written(tmp_path).files == {}


def test_an_error_about_a_file_names_its_place_in_the_target(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"^[^.]*/job/mesh/a: is bad$"), job_folder(tmp_path / "job") as aside:
        raise FileError(aside / "mesh" / "a", "is bad")


def test_the_users_list_of_made_bars_is_never_replaced(tmp_path: Path) -> None:
    job = tmp_path / "job"
    make(job, made="tag\n", members="old")
    (job / "made.csv").write_text("tag\nA07\n")
    make(job, made="tag\n", members="new")
    assert (job / "made.csv").read_text() == "tag\nA07\n"
    assert names(job) == [SUMS, "made.csv", "members.csv"]


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="sha256sum is part of GNU coreutils")
def test_the_sums_are_checked_by_the_usual_command(tmp_path: Path) -> None:
    make(tmp_path / "job", members="tag", bends="bend")
    told = subprocess.run(["sha256sum", "-c", SUMS], cwd=tmp_path / "job", capture_output=True, text=True, check=True)
    assert told.stdout.splitlines() == ["bends.csv: OK", "members.csv: OK"]


def test_leftovers_of_a_killed_run_go_and_those_of_a_living_one_stay(tmp_path: Path) -> None:
    left = tmp_path / f".job.{ENDED}-0.new"
    left.mkdir()
    write_mark(left, Mark("new", "job", ENDED))
    (left / "half").write_text("")
    with job_folder(tmp_path / "job") as living:
        assert not left.exists()
        make(tmp_path / "job", members="second")
        assert living.is_dir()
        (living / "members.csv").write_text("first")
    assert (tmp_path / "job" / "members.csv").read_text() == "first"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["job"]


def test_a_folder_whose_name_has_wildcards_leaves_its_neighbours_alone(tmp_path: Path) -> None:
    left = tmp_path / f".job1.{ENDED}-0.new"
    left.mkdir()
    write_mark(left, Mark("new", "job1", ENDED))
    make(tmp_path / "job[1]", members="a")
    make(tmp_path / "job?", members="b")
    assert left.is_dir()


def test_a_swap_that_cannot_end_puts_the_old_folder_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make(tmp_path / "job", members="old")
    rename = Path.rename

    def only_away(path: Path, target: Path) -> Path:
        if path.suffix == ".new":
            raise OSError(errno.EIO, "Input/output error")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", only_away)
    with pytest.raises(FileError, match="Input/output error"), job_folder(tmp_path / "job", at_once=False) as aside:
        (aside / "members.csv").write_text("new")
    assert (tmp_path / "job" / "members.csv").read_text() == "old"
    assert names(tmp_path) == ["job", f"job/{SUMS}", "job/members.csv"]


def refused(path: str | Path, rule: str) -> None:
    begun = False
    with pytest.raises(FileError, match=rule) as told, job_folder(path):
        begun = True
    assert not begun
    assert "\n" not in str(told.value)


def test_a_place_that_cannot_be_written_is_refused_before_the_work_starts(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    refused(tmp_path / "file", "is a file")
    refused(tmp_path / "file" / "job", "cannot be written")
    refused("/proc/job", "cannot be written")
    refused("/", "name a folder inside")
    refused("", "name a folder inside")
    refused("a\0b", "no path")
    refused(tmp_path / ("x" * 300), "name too long")


def test_a_run_never_replaces_the_folder_it_stands_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "job").mkdir()
    monkeypatch.chdir(tmp_path / "job")
    refused(".", "folder you are in")
    refused("..", "folder you are in")
    refused(tmp_path, "folder you are in")


def test_a_folder_of_other_folders_is_taken_for_no_job(tmp_path: Path) -> None:
    (tmp_path / "home" / "letters").mkdir(parents=True)
    refused(tmp_path / "home", "no job")
    (tmp_path / "commissions").mkdir()
    (tmp_path / "commissions" / "rowan.toml").write_text("title = 'Rowan'")
    make(tmp_path / "commissions", members="tag")
    assert names(tmp_path / "commissions") == [SUMS, "members.csv", "rowan.toml"]


@pytest.mark.parametrize("called", ["os.mkdir", "armature.job.swap.lock", "armature.job.swap.write_mark"])
def test_a_run_that_is_stopped_as_it_begins_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, called: str
) -> None:
    """Stopped in the moment after the folder aside is made, after it is locked, after its mark is written."""
    module, name = called.rsplit(".", 1)
    real = getattr(importlib.import_module(module), name)

    def stopped(*told: object, **more: object) -> None:
        real(*told, **more)
        raise KeyboardInterrupt

    monkeypatch.setattr(called, stopped)
    with pytest.raises(KeyboardInterrupt), job_folder(tmp_path / "job"):
        pass
    monkeypatch.undo()
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_is_full_is_told_in_one_line_and_keeps_the_old_folder(tmp_path: Path) -> None:
    make(tmp_path / "job", members="old")
    run = [sys.executable, "-c", ON_A_SMALL_DISK, str(tmp_path / "job")]
    told = subprocess.run(run, capture_output=True, text=True, cwd=ROOT, check=True)
    assert told.stdout.splitlines() == [f"{tmp_path}/job: cannot be written: File too large"]
    assert (tmp_path / "job" / "members.csv").read_text() == "old"
    assert names(tmp_path) == ["job", f"job/{SUMS}", "job/members.csv"]


# No file may be longer than a thousand bytes: the system refuses as it does on a full disk.
ON_A_SMALL_DISK = """
import resource, sys
from armature.edge import FileError
from armature.job.folder import job_folder
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
try:
    with job_folder(sys.argv[1]) as aside:
        (aside / "members.csv").write_text("x" * 100_000)
except FileError as error:
    print(error)
"""


def test_a_folder_of_another_owner_is_refused() -> None:
    home = Path(tempfile.mkdtemp())
    try:
        (home / "job").mkdir()
        for folder in (home / "job", home):
            folder.chmod(0o755 if os.geteuid() == 0 else 0o555)
        told = subprocess.run(
            [sys.executable, "-c", AS_A_STRANGER, str(home / "job")],
            capture_output=True,
            text=True,
            cwd=ROOT,
            check=True,
        )
        assert told.stdout.splitlines() == [f"{home}/job: cannot be written: permission denied"] * 2
        assert names(home) == ["job"]
    finally:
        home.chmod(0o755)
        shutil.rmtree(home)


# The superuser may write anywhere, so the try is made as a user who owns nothing.
AS_A_STRANGER = """
import os, sys
from armature.edge import FileError
from armature.job.folder import job_folder
if os.geteuid() == 0:
    os.setgroups([]); os.setgid(65534); os.setuid(65534)
for path in (sys.argv[1], sys.argv[1]):
    try:
        with job_folder(path):
            print("begun")
    except FileError as error:
        print(error)
"""
