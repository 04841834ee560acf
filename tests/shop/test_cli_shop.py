"""The commands of the shop."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
import typer

from armature.cli_shop import papers, rebuild
from armature.errors import FileError
from armature.records.design import design_json
from armature.records.shop_needed import needed_welds
from tests.shop.commissions import commission
from tests.shop.test_rebuild import written
from tests.trees import random_tree


def test_rebuild_says_how_far_the_tips_land_off(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rebuild(written(tmp_path, random_tree(8)), "inch")
    said = capsys.readouterr().out
    assert "largest error 0.0000" in said
    assert "(inch)" in said


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


def test_papers_carry_the_welds_of_the_strength_report_beside_them(tmp_path: Path) -> None:
    tree = random_tree(8)
    (tmp_path / "design.json").write_text(design_json(tree, commission(tmp_path, more="shop.anvil.copies = 0\n")))
    joints = [{"tag": tag, "leg_mm": None, "groove": True} for tag in tree.tags.tolist()]
    joints[2] = {"tag": str(tree.tags[2]), "leg_mm": 9.2, "groove": False}
    (tmp_path / "strength.json").write_text(json.dumps({"welds": {"joints": joints}}))
    papers(tmp_path / "design.json", tmp_path / "out")
    with (tmp_path / "out" / "shop" / "welding.csv").open() as stream:
        rows = {row["tag"]: row for row in csv.DictReader(stream)}
    assert rows[tree.tags[2]]["fillet_mm"] == "9.5"
    assert [row["weld"] for row in rows.values()].count("groove") == len(tree) - 1
    assert {row["sized_by"] for row in rows.values()} == {"strength"}


def test_a_damaged_strength_report_is_told(tmp_path: Path) -> None:
    tree = random_tree(8)
    (tmp_path / "strength.json").write_text('{"welds": 3}')
    with pytest.raises(FileError, match=r"strength\.json"):
        needed_welds(tmp_path, tree)
    (tmp_path / "strength.json").write_text('{"welds": {"joints": []}}')
    assert needed_welds(tmp_path, tree) is None


def test_papers_writes_all_that_the_shop_takes_along(tmp_path: Path) -> None:
    tree = random_tree(8)
    (tmp_path / "design.json").write_text(design_json(tree, commission(tmp_path, more="shop.anvil.copies = 4\n")))
    papers(tmp_path / "design.json", tmp_path / "out")
    found = {str(path.relative_to(tmp_path / "out")) for path in (tmp_path / "out").rglob("*") if path.is_file()}
    printed = {"packet", "tags", "stations", "templates", "erection", "estimate"}
    wanted = {"bars.csv", "shop/templates.dxf", "shop/plan.json", *(f"shop/{name}.pdf" for name in printed)}
    assert wanted <= found
    assert np.all([(tmp_path / "out" / name).stat().st_size > 100 for name in wanted])


def test_papers_stand_on_the_plate_of_the_strength_report_beside_them(tmp_path: Path) -> None:
    tree = random_tree(8)
    (tmp_path / "design.json").write_text(design_json(tree, commission(tmp_path, more="shop.anvil.copies = 4\n")))
    rods = {"plate_side_mm": 388.0, "plate_thickness_mm": 31.2}
    said = {
        "welds": {"joints": [{"tag": tag, "groove": False, "leg_mm": 4.0} for tag in tree.tags.tolist()]},
        "foot": {"anchors": rods},
    }
    (tmp_path / "strength.json").write_text(json.dumps(said))
    papers(tmp_path / "design.json", tmp_path / "out")
    plate = json.loads((tmp_path / "out" / "shop" / "plan.json").read_text())["base_plate"]
    assert plate == {"side_mm": 390.0, "thickness_mm": 35.0}
