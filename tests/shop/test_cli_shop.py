"""The commands of the shop."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
import typer
from pypdf import PdfReader

from armature.cli.shop import papers, rebuild
from armature.edge import CommissionError, FileError
from armature.files.design import design_json
from armature.job.keeping import SUMS
from armature.make import make
from armature.shop import card_strays, paper_for
from tests.shop.commissions import commission
from tests.shop.test_rebuild import written
from tests.trees import random_tree


def test_rebuild_says_how_far_the_tips_land_off(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rebuild(written(tmp_path, random_tree(8)), "inch")
    said = capsys.readouterr().out
    assert "largest error 0.0000" in said
    assert "(inch)" in said


def test_rebuild_says_where_tips_land_that_are_made_from_the_cards(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    tree = random_tree(8)
    folder = written(tmp_path, tree)
    (folder / "design.json").write_text(design_json(tree, commission(tmp_path)))
    rebuild(folder, "mm")
    off = card_strays(tree, paper_for("mm"))
    assert f"{off.max():.1f} mm at {tree.tags[off.argmax()]}" in capsys.readouterr().out


def test_rebuild_fails_where_the_lists_make_another_tree(tmp_path: Path) -> None:
    folder = written(tmp_path, random_tree(8))
    text = (folder / "joints.csv").read_text().splitlines()
    cells = text[3].split(",")
    cells[4] = str(float(cells[4]) + 5.0)
    (folder / "joints.csv").write_text("\n".join([*text[:3], ",".join(cells), *text[4:]]) + "\n")
    with pytest.raises(typer.Exit):
        rebuild(folder, "mm")


def test_rebuild_refuses_a_folder_without_a_job(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="missing"):
        rebuild(tmp_path, "mm")


def test_papers_writes_all_that_the_shop_takes_along(tmp_path: Path) -> None:
    tree = random_tree(8)
    (tmp_path / "design.json").write_text(design_json(tree, commission(tmp_path, more="shop.anvil.copies = 4\n")))
    papers(tmp_path / "design.json", tmp_path / "out")
    found = {str(path.relative_to(tmp_path / "out")) for path in (tmp_path / "out").rglob("*") if path.is_file()}
    printed = {"packet", "tags", "stations", "templates", "erection", "estimate"}
    wanted = {"bars.csv", "shop/templates.dxf", "shop/plan.json", *(f"shop/{name}.pdf" for name in printed)}
    assert wanted <= found
    assert np.all([(tmp_path / "out" / name).stat().st_size > 100 for name in wanted])


SMALL = """
site = {wind_speed = "115 mph", exposure = "C"}
shop.anvil.copies = 4
[leaves]
count = 40
designs = 2
plates = {sizes = [["12 in", "12 in"]], seconds = 1}
"""


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("job")
    made = make(commission(folder, more=SMALL), folder / "job", ("pictures", "mesh"))
    assert "strengthened" in "".join(made.warnings)
    return folder / "job"


def test_papers_of_an_untouched_job_are_those_of_make_byte_for_byte(job: Path, tmp_path: Path) -> None:
    for number, named in enumerate((job, job / "design.json")):
        papers(named, tmp_path / str(number))
        out = tmp_path / str(number)
        found = [
            path.relative_to(out)
            for path in sorted(out.rglob("*"))
            if path.is_file() and path.name not in (SUMS, "written.json")
        ]
        wanted = [path.relative_to(job) for path in sorted((job / "shop").rglob("*")) if path.is_file()]
        assert [path.as_posix() for path in found] == ["bars.csv", *(path.as_posix() for path in wanted)]
        assert [path for path in found if (out / path).read_bytes() != (job / path).read_bytes()] == []


def test_papers_and_strength_report_stand_on_one_plate(job: Path) -> None:
    plate = json.loads((job / "shop" / "plan.json").read_text())["base_plate"]
    said = json.loads((job / "strength.json").read_text())["foot"]["plate"]
    assert {name: plate[name] for name in ("side_mm", "thickness_mm")} == {
        "side_mm": said["side_mm"],
        "thickness_mm": said["thickness_mm"],
    }
    assert f"{plate['side_mm']:g} mm square and {plate['thickness_mm']:g} mm thick" in (job / "strength.md").read_text()


def test_papers_refuse_a_layout_of_other_plates(job: Path, tmp_path: Path) -> None:
    copy = shutil.copytree(job, tmp_path / "job")
    layout = json.loads((copy / "leaves" / "plates.json").read_text())
    layout["plates"] = layout["plates"][1:]
    (copy / "leaves" / "plates.json").write_text(json.dumps(layout))
    with pytest.raises(FileError, match=r"plates\.json"):
        papers(copy, tmp_path / "out")
    (copy / "leaves" / "plates.json").write_text("{")
    with pytest.raises(FileError, match="holds no layout"):
        papers(copy, tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_one_lost_card_is_printed_again_by_its_tag(job: Path, tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "mine.txt").write_text("stays")
    papers(job, tmp_path / "out", tag="A01")
    text = PdfReader(tmp_path / "out" / "card-A01.pdf").pages[0].extract_text()
    assert text.startswith("A01 branch on A")
    assert (tmp_path / "out" / "mine.txt").read_text() == "stays"
    with pytest.raises(CommissionError, match=r"no member of this tree: did you mean A0"):
        papers(job, tmp_path / "out", tag="A0l")


def test_papers_are_never_put_in_the_place_of_a_job(job: Path) -> None:
    before = {path: path.stat().st_mtime_ns for path in job.rglob("*")}
    with pytest.raises(FileError, match="holds a job"):
        papers(job, job)
    assert {path: path.stat().st_mtime_ns for path in job.rglob("*")} == before
