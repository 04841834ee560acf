import errno
import json
import os
from hashlib import sha256
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from armature.cli.look import judge, refine, survey
from armature.commission import read
from armature.edge import CommissionError, FileError
from armature.files.design import design_json
from armature.grow import grow

from .naturals import natural
from .test_measured import as_csv

SMALL = 'title = "Alder"\nseed = 3\ncanopy.height = "3 m"\ngrowth = {limbs = 3, branches = 9, twigs = 50}\n'
app = typer.Typer()
app.command()(judge)
app.command()(refine)
app.command()(survey)


def run(*words: str) -> str:
    result = CliRunner().invoke(app, list(words), catch_exceptions=False)
    assert result.exit_code == 0
    return result.output


def test_judging_a_measured_tree_writes_its_look(tmp_path: Path) -> None:
    file = tmp_path / "tree.csv"
    file.write_text(as_csv(natural(4)))
    said = run("judge", str(file), "--out", str(tmp_path / "look"))
    table = json.loads((tmp_path / "look" / "look.json").read_text())
    assert f"overall {table['overall']:.0f} of 100" in said
    assert table["judged_as"] == "measured"
    assert (tmp_path / "look" / "stand_back.png").is_file()


def test_a_broken_file_leaves_no_folder(tmp_path: Path) -> None:
    file = tmp_path / "tree.csv"
    file.write_text("id,parent,x,y,z,radius\n1,2,0,0,0,1\n")
    with pytest.raises(CommissionError):
        run("judge", str(file), "--out", str(tmp_path / "look"))
    assert not (tmp_path / "look").exists()


def test_refining_a_job_folder_keeps_its_made_members(tmp_path: Path) -> None:
    commission = read(SMALL)
    tree = grow(commission)
    job = tmp_path / "job"
    job.mkdir()
    (job / "design.json").write_text(design_json(tree, commission))
    made = [str(tag) for tag in tree.tags[-5:]]
    (job / "made.csv").write_text("tag,date\n" + "".join(f"{tag},2024-05-01\n" for tag in made))
    said = run("refine", str(job), "--rounds", "4")
    table = json.loads((tmp_path / "job-refined" / "refine.json").read_text())
    assert f"overall {table['before']:.1f} -> {table['after']:.1f}" in said
    assert "5 made and kept" in said
    assert not set(made) & set(table["moved"])
    again = json.loads((tmp_path / "job-refined" / "design.json").read_text())
    assert again["format"] == "armature design"
    assert (tmp_path / "job-refined" / "before-after.png").is_file()
    assert f"next: armature make {tmp_path / 'job-refined'} --out {job}" in said


def test_a_survey_writes_table_and_sheet(tmp_path: Path) -> None:
    file = tmp_path / "alder.toml"
    file.write_text(SMALL)
    out = tmp_path / "found"
    said = run(
        "survey",
        str(file),
        "--seeds",
        "3",
        "--keep",
        "2",
        "--jobs",
        "1",
        "--out",
        str(out),
        "--vary",
        "growth.twigs=40..50",
    )
    assert "3 grown, 0 did not fit" in said
    assert (out / "survey.csv").is_file()
    assert (out / "sheet.png").is_file()
    twigs = [int(line.split(",")[1]) for line in (out / "survey.csv").read_text().splitlines()[1:]]
    assert all(40 <= count <= 50 for count in twigs)


QUICK = ("--seeds", "2", "--jobs", "1")


def test_a_survey_replaces_its_own_results_and_keeps_those_of_the_user(tmp_path: Path) -> None:
    file, out = tmp_path / "alder.toml", tmp_path / "found"
    file.write_text(SMALL)
    out.mkdir()
    (out / "survey.csv").write_text("plants,by hand\n")
    (out / "sheet.png").symlink_to(tmp_path / "photo.png")
    (tmp_path / "photo.png").write_bytes(b"a photograph")
    said = run("survey", str(file), *QUICK, "--out", str(out))
    assert "survey.kept.csv" in said
    assert (out / "survey.kept.csv").read_text() == "plants,by hand\n"
    assert (tmp_path / "photo.png").read_bytes() == (out / "sheet.kept.png").read_bytes() == b"a photograph"
    table = (out / "survey.csv").read_text()
    assert "kept as" not in run("survey", str(file), *QUICK, "--out", str(out))
    assert (out / "survey.csv").read_text() == table
    (out / "survey.csv").write_text(table + "# the third please\n")
    # Sums that the user has made prove nothing.
    for name in ("survey.sha256", "SHA256SUMS"):
        (out / name).write_text(f"{sha256((out / 'survey.csv').read_bytes()).hexdigest()}  survey.csv\n")
    assert "survey.kept-2.csv" in run("survey", str(file), *QUICK, "--out", str(out))
    assert (out / "survey.kept-2.csv").read_text() == table + "# the third please\n"
    assert (out / "survey.csv").read_text() == table


def test_a_survey_never_starts_where_it_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file, job = tmp_path / "alder.toml", tmp_path / "job"
    file.write_text(SMALL)
    job.mkdir()
    (job / "design.json").write_text("{}")
    monkeypatch.setattr("armature.look.survey.grow", lambda _commission: pytest.fail("was grown"))
    before = sorted(tmp_path.rglob("*"))
    for out in (file, file / "deeper", job, tmp_path / ("x" * 300)):
        with pytest.raises(FileError):
            run("survey", str(file), *QUICK, "--out", str(out))
    for word in ("seed=7,8", "canopy.height=30..20m"):
        with pytest.raises(CommissionError):
            run("survey", str(file), *QUICK, "--out", str(tmp_path / "out"), "--vary", word)
    assert sorted(tmp_path.rglob("*")) == before


def test_a_full_disk_ends_a_survey_in_one_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file, out = tmp_path / "alder.toml", tmp_path / "found"
    file.write_text(SMALL)
    run("survey", str(file), *QUICK, "--out", str(out))
    before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}

    def full(_file: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="No space left"):
        run("survey", str(file), *QUICK, "--out", str(out))
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before


def test_judging_never_takes_the_place_of_a_job(tmp_path: Path) -> None:
    job = tmp_path / "job"
    job.mkdir()
    commission = read(SMALL)
    (job / "design.json").write_text(design_json(grow(commission), commission))
    with pytest.raises(FileError, match="holds a job"):
        run("judge", str(job), "--out", str(job))
    assert [path.name for path in job.iterdir()] == ["design.json"]
