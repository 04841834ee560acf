"""Files that a commission names travel with its design."""

from __future__ import annotations

from pathlib import Path

import pytest

from armature.commission import read
from armature.edge import FileError
from armature.job.folder import job_folder
from armature.job.named import carry_named_files

TEXT = (
    'title = "Alder"\ncanopy.height = "3 m"\ngrowth = {limbs = 3, branches = 12, twigs = 90}\nleaves.names = "NAME"\n'
)


def _written(folder: Path, name: str) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / name).parent.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text("name\nAda\n")
    (folder / "tree.toml").write_text(TEXT.replace("NAME", name))
    return folder / "tree.toml"


def test_a_named_file_is_carried_to_its_own_place_below(tmp_path: Path) -> None:
    commission = read(_written(tmp_path / "shop", "lists/names.csv"))
    with job_folder(tmp_path / "job") as aside:
        carry_named_files(aside, tmp_path / "job", commission)
    assert (tmp_path / "job" / "lists" / "names.csv").read_text() == "name\nAda\n"


def test_what_lies_outside_the_commissions_folder_stays_there(tmp_path: Path) -> None:
    _written(tmp_path, "names.csv")
    for name in ("../names.csv", str(tmp_path / "names.csv")):
        commission = read(TEXT.replace("NAME", name), tmp_path / "shop")
        with job_folder(tmp_path / "job") as aside:
            assert carry_named_files(aside, tmp_path / "job", commission) == []


def test_the_users_own_file_in_the_job_folder_stays_single(tmp_path: Path) -> None:
    job = tmp_path / "job"
    commission = read(_written(job, "names.csv"))
    for _ in range(2):
        with job_folder(job) as aside:
            carry_named_files(aside, job, commission)
    assert sorted(path.name for path in job.iterdir()) == [".armature", "SHA256SUMS", "names.csv", "tree.toml"]


def test_a_carried_file_lives_on_when_the_job_is_made_from_its_own_design(tmp_path: Path) -> None:
    job = tmp_path / "job"
    with job_folder(job) as aside:
        carry_named_files(aside, job, read(_written(tmp_path / "shop", "names.csv")))
    own = read(TEXT.replace("NAME", "names.csv"), job)
    for _ in range(2):
        with job_folder(job) as aside:
            carry_named_files(aside, job, own)
        assert sorted(path.name for path in job.iterdir()) == [".armature", "SHA256SUMS", "names.csv"]


def test_a_missing_file_is_said(tmp_path: Path) -> None:
    commission = read(TEXT.replace("NAME", "none.csv"), tmp_path)
    with pytest.raises(FileError, match=r"none\.csv: cannot be read"), job_folder(tmp_path / "job") as aside:
        carry_named_files(aside, tmp_path / "job", commission)
    assert not (tmp_path / "job").exists()
