"""A folder of records is complete, and loads again."""

from __future__ import annotations

from pathlib import Path

import pytest

from armature.files.design import load
from armature.job.folder import job_folder
from armature.job.keeping import SUMS
from armature.job.records import write_records, write_summary
from armature.job.written import LIST
from tests.files.commissions import gate_rowan
from tests.trees import post, random_tree

FILES = [
    "bends.csv",
    "design.json",
    "hang_points.csv",
    "joints.csv",
    "members.csv",
    "mesh/centrelines.dxf",
    "mesh/steel.stl",
    "mesh/tree.3mf",
    "mesh/tree.glb",
    "mesh/tree.obj",
    "summary.json",
    "summary.md",
    "tapers.csv",
    "tree.graphml",
    "tree.swc",
]


def written(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())


def test_a_job_folder_loads_as_the_tree_it_was_written_from(tmp_path: Path) -> None:
    tree = random_tree(24, 4)
    with job_folder(tmp_path / "job") as aside:
        write_records(aside, tree, gate_rowan())
        write_summary(aside, tree, gate_rowan())
    assert written(tmp_path / "job") == [LIST, SUMS, *FILES]
    again, commission = load(tmp_path / "job")
    assert again.same_as(tree)
    assert commission == gate_rowan()


def test_a_bare_trunk_has_all_its_files(tmp_path: Path) -> None:
    write_records(tmp_path, post(), gate_rowan())
    write_summary(tmp_path, post(), gate_rowan())
    assert written(tmp_path) == FILES
    assert (tmp_path / "hang_points.csv").read_text() == "leaf,twig,station_mm,x_mm,y_mm,z_mm,design,name\n"


@pytest.mark.parametrize(
    "name", ["members.csv", "mesh/tree.obj", "mesh/centrelines.dxf", "tree.swc", "tree.graphml", "summary.md"]
)
def test_text_ends_its_lines_alike_on_every_system(tmp_path: Path, name: str) -> None:
    write_records(tmp_path, post(), gate_rowan())
    write_summary(tmp_path, post(), gate_rowan())
    assert b"\r" not in (tmp_path / name).read_bytes()
