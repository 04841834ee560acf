"""A single file is written whole, or what stood there before stays."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import armature
from armature.edge import FileError, write_whole

ROOT = Path(armature.__file__).parents[1]


def test_a_new_file_and_one_that_takes_the_place_of_another_hold_what_was_given(tmp_path: Path) -> None:
    file = tmp_path / "a.png"
    assert write_whole(file, b"one") == file
    file.chmod(0o640)
    write_whole(file, b"two")
    assert file.read_bytes() == b"two"
    assert file.stat().st_mode & 0o777 == 0o640
    assert [path.name for path in tmp_path.iterdir()] == ["a.png"]


def test_a_link_is_followed_and_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "real.png").write_bytes(b"one")
    (tmp_path / "link.png").symlink_to("real.png")
    write_whole(tmp_path / "link.png", b"two")
    assert os.readlink(tmp_path / "link.png") == "real.png"
    assert (tmp_path / "real.png").read_bytes() == b"two"


@pytest.mark.parametrize("place", [".", "none/a.png", "/dev/null", "a\0b", "x" * 300])
def test_what_cannot_hold_a_file_is_refused_in_one_line(tmp_path: Path, place: str) -> None:
    with pytest.raises(FileError) as told:
        write_whole(tmp_path / place, b"one")
    assert "\n" not in str(told.value)
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_leaves_the_old_file_and_nothing_beside_it(tmp_path: Path) -> None:
    (tmp_path / "a.png").write_bytes(b"good")
    told = subprocess.run(
        [sys.executable, "-c", ON_A_SMALL_DISK, str(tmp_path / "a.png")],
        capture_output=True, text=True, cwd=ROOT, check=True,
    )  # fmt: skip
    assert told.stdout.splitlines() == [f"{tmp_path}/a.png: cannot be written: File too large"]
    assert [(path.name, path.read_bytes()) for path in tmp_path.iterdir()] == [("a.png", b"good")]


# No file may be longer than a thousand bytes: the system refuses as it does on a full disk.
ON_A_SMALL_DISK = """
import resource, sys
from pathlib import Path
from armature.edge import FileError
from armature.edge import write_whole
resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))
try:
    write_whole(Path(sys.argv[1]), b"x" * 100_000)
except FileError as error:
    print(error)
"""
