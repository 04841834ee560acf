"""The main job from the command line: whole, repeatable, and keeping what is made."""

import csv
import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

import armature
from armature.cli.app import run
from armature.commission import Commission, changed, read, write
from armature.files.design import load
from armature.made import made_tags
from armature.make import make
from armature.tree import extent

ROOT = Path(armature.__file__).parent.parent
MAQUETTE = ROOT / "presets" / "maquette.toml"
QUICK = ("pictures", "papers", "mesh")
FEWER = {"growth.branches": 6, "growth.twigs": 24, "leaves.count": 40}


def few() -> Commission:
    """Return the maquette with a third of its twigs and leaves, which is made in a third of the time."""
    return changed(read(MAQUETTE), FEWER)


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return its job folder, all but pictures: made in this process alone, under this process's hash seed."""
    out = tmp_path_factory.mktemp("few") / "job"
    make(few(), out, ("pictures",))
    return out


def test_one_commission_gives_one_set_of_bytes_whatever_the_hash_seed(whole: Path, tmp_path: Path) -> None:
    (tmp_path / "few.toml").write_text(write(few()), encoding="utf-8")
    # In another process, by the command line, with a second process beside it.
    code = "import armature.make as m; m._LARGE = 0; from armature.cli.app import main; main()"
    command = [sys.executable, "-c", code, "make", str(tmp_path / "few.toml"), "--out", str(tmp_path / "job")]
    environment = os.environ | {"PYTHONHASHSEED": "77"}
    subprocess.run([*command, "--skip", "pictures"], check=True, env=environment, capture_output=True, timeout=280)
    found = [_digests(folder) for folder in (whole, tmp_path / "job")]
    assert {"design.json", "bends.csv", "mesh/steel.stl", "mesh/tree.glb", "mesh/centrelines.dxf"} <= set(found[0])
    assert found[0] == found[1]


def _digests(folder: Path) -> dict[str, str]:
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def test_made_members_stay_when_the_commission_changes(whole: Path, tmp_path: Path) -> None:
    shutil.copytree(whole, tmp_path / "job")
    first, asked = load(tmp_path / "job")
    kept = [str(first.tags[row]) for row in first.of_rank(4)[[2, 20]]]
    (tmp_path / "job" / "made.csv").write_text("tag\n" + "\n".join(kept) + "\n", encoding="utf-8")
    more = changed(asked, {"growth.twigs": 27, "seed": 8})
    second = make(more, tmp_path / "job", QUICK).tree
    assert (second.ranks == 4).sum() == 27
    for tag in kept:
        one, other = first.chains.taken([first.rows[tag]]), second.chains.taken([second.rows[tag]])
        np.testing.assert_array_equal(one.vertices, other.vertices)
        np.testing.assert_array_equal(one.radii, other.radii)
    assert made_tags(tmp_path / "job" / "made.csv") == kept


def test_the_counts_in_the_lists_are_those_asked(whole: Path) -> None:
    ranks = [row["rank"] for row in _rows(whole / "members.csv")]
    assert [ranks.count(rank) for rank in ("trunk", "limb", "branch", "twig")] == [1, 3, 6, 24]
    assert len(_rows(whole / "hang_points.csv")) == few().leaves.count


def test_parts_left_out_stay_while_the_design_does_and_are_moved_aside_when_it_changes(tmp_path: Path) -> None:
    asked = few()
    skip = ("mending", "plates", "strength", "papers", "pictures")
    assert "an earlier run" not in " ".join(make(asked, tmp_path / "job", skip).warnings)
    again = make(asked, tmp_path / "job", (*skip, "mesh", "shop"))
    assert "left out this time, kept from an earlier run of the same design: bars.csv, mesh, shop" in again.warnings
    assert (tmp_path / "job" / "mesh" / "tree.glb").is_file()
    other = make(changed(asked, {"seed": 9}), tmp_path / "job", (*skip, "mesh", "shop"))
    (said,) = (line for line in other.warnings if line.startswith("moved to"))
    assert said.startswith("moved to earlier/1: bars.csv, mesh/centrelines.dxf")
    assert said.endswith("no longer fits the design")
    assert not (tmp_path / "job" / "mesh").exists()
    assert (tmp_path / "job" / "earlier" / "1" / "mesh" / "tree.glb").is_file()


def test_a_crown_fills_the_height_and_the_spread_asked(tmp_path: Path) -> None:
    asked = read(MAQUETTE)
    made = make(asked, tmp_path / "job", ("mending", "plates", "strength", "shop", *QUICK))
    assert not [line for line in made.warnings if line.startswith("height and spread come to")]
    (west, south, _), (east, north, top) = extent(made.tree).tolist()
    assert top == pytest.approx(asked.canopy.height, rel=0.005)
    assert (east - west, north - south) == pytest.approx(asked.canopy.spread, rel=0.02)


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig") as lines:
        return list(csv.DictReader(lines))


def test_bars_that_strength_makes_thicker_carry_their_leaves_in_every_list(tmp_path: Path) -> None:
    windy = {"site.wind_speed": "45 m/s", "site.exposure": "II", "site.ice": "12 mm", "steel.grade": "S235"}
    made = make(changed(read(MAQUETTE), windy), tmp_path / "job", ("mending", "plates", *QUICK))
    listed, hung = _rows(tmp_path / "job" / "leaves" / "leaves.csv"), _rows(tmp_path / "job" / "hang_points.csv")
    assert "strengthened" in " ".join(made.warnings)
    assert [row["leaf"] for row in listed] == [row["leaf"] for row in hung]
    assert [row["station_mm"] for row in listed] == [row["station_mm"] for row in hung]
    # The eye hangs under its twig's axis by no more than loop, wire and half the bar.
    for one, other in zip(listed, hung, strict=True):
        away = [float(one[key]) - float(other[key]) for key in ("x_mm", "y_mm", "z_mm")]
        assert float(np.linalg.norm(away)) < 30.0


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ('clear_stem = "190 mm"', 'clear_stem = "190"'),
        ("twigs = 60", "twigs = -3"),
        ("twigs = 60", "twigz = 60"),
        ('height = "560 mm"', "height = nan"),
        ('spread = ["440 mm", "400 mm"]', 'spread = ["20 mm", "20 mm"]'),
    ],
)
def test_bad_input_is_one_line_exit_two_and_nothing_written(
    change: str, says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = MAQUETTE.read_text(encoding="utf-8")
    assert change in text
    bad = tmp_path / "bad.toml"
    bad.write_text(text.replace(change, says), encoding="utf-8")
    assert run(["make", str(bad), "--out", str(tmp_path / "job")]) == 2
    said = capsys.readouterr()
    assert said.err.count("\n") == 1
    assert not said.out
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bad.toml"]


def test_a_part_that_is_none_is_refused(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert run(["make", str(MAQUETTE), "--out", str(tmp_path / "job"), "--skip", "roots"]) == 2
    assert "skip: must be one of" in capsys.readouterr().err
