"""A design is made as it stands: what `refine` leaves goes on to a whole job folder."""

import json
import shutil
from pathlib import Path

import pytest

from armature.cli.app import run
from armature.commission import read
from armature.edge import CommissionError
from armature.files.design import load
from armature.grow import grow
from armature.grow.kept import check_counts, check_kept
from armature.make import PARTS, planned

QUICK = [f"--skip={part}" for part in ("pictures", "papers", "mesh", "plates", "strength", "shop")]
TEXT = """
title = "Alder"
seed = 5
canopy.height = "3 m"
canopy.habit = "pendulous"
growth = {limbs = 3, branches = 8, twigs = 45}
[leaves]
count = 24
names = "lists/names.csv"
"""


@pytest.fixture(scope="module")
def refined_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a commission, the job made from it, and that job refined."""
    home = tmp_path_factory.mktemp("refined")
    (home / "alder.toml").write_text(TEXT)
    (home / "lists").mkdir()
    (home / "lists" / "names.csv").write_text("name\nAda\nBo\n")
    with pytest.MonkeyPatch.context() as there:
        there.chdir(home)
        assert run(["make", "alder.toml", "--out", "alder", "--skip", "mending", *QUICK]) == 0
        assert run(["refine", "alder", "--rounds", "6"]) == 0
    return home


@pytest.fixture
def work(refined_once: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a copy of it to change."""
    home = Path(shutil.copytree(refined_once, tmp_path / "work"))
    monkeypatch.chdir(home)
    return home


@pytest.mark.parametrize("named", ["alder-refined", "alder-refined/design.json"])
def test_a_refined_design_is_made_as_it_stands(work: Path, named: str) -> None:
    moved = json.loads((work / "alder-refined" / "refine.json").read_text())
    assert moved["moved"]
    assert run(["make", named, *QUICK]) == 0
    made, design = load(work / "jobs" / "alder-refined"), load(work / "alder-refined")
    assert made[0].hung(design[0].leaves).same_as(design[0])
    assert made[1] == design[1]
    look = json.loads((work / "jobs" / "alder-refined" / "look.json").read_text())
    assert look["overall"] == moved["after"]
    stamped = (work / "jobs" / "alder-refined" / "leaves" / "stamping.csv").read_text()
    assert "Ada" in stamped


def test_a_seed_for_a_design_is_refused(work: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["grow", "alder.toml", "--out", "grown"]) == 0
    assert run(["make", "grown", "--seed", "3"]) == 2
    assert "--seed: a design's tree is grown already" in capsys.readouterr().err
    assert not (work / "jobs").exists()


def test_a_design_that_moved_what_is_made_is_refused(work: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tree, _ = load("alder")
    twig = json.loads((work / "alder-refined" / "refine.json").read_text())["moved"][0]
    shutil.move("alder-refined", "mended")
    (work / "alder" / "made.csv").write_text(f"tag\n{twig}\n")
    capsys.readouterr()
    assert run(["make", "mended", "--out", "alder", *QUICK]) == 2
    said = capsys.readouterr().err
    assert "made.csv: the tree given does not hold this member as it is made" in said
    assert load("alder")[0].same_as(tree)
    # What refining kept is taken.
    assert run(["refine", "alder", "--rounds", "6"]) == 0
    assert run(["make", "alder-refined", "--out", "alder", *QUICK]) == 0


def test_every_difference_of_a_made_member_is_seen() -> None:
    tree = grow(read('title = "x"\ncanopy.height = "2 m"\ngrowth = {limbs = 2, branches = 4, twigs = 12}\n'))
    check_kept(tree, None)
    check_kept(tree, tree.taken([0, 1]))
    other = grow(read('title = "x"\nseed = 2\ncanopy.height = "2 m"\ngrowth = {limbs = 2, branches = 4, twigs = 12}\n'))
    with pytest.raises(ValueError, match="got 'T'"):
        check_kept(other, tree.taken([0, 1]))


def test_a_tree_that_is_given_keeps_its_bars_unless_thicker_ones_are_asked_for() -> None:
    thin = read(
        'title = "x"\ncanopy.height = "3 m"\ngrowth = {limbs = 2, branches = 4, twigs = 12}\nleaves.count = 36\n'
    )
    tree, skip = grow(thin), [part for part in PARTS if part != "strength"]
    kept = planned(thin, Path("none"), skip, tree=tree)
    assert kept.tree.stock_diameters.tolist() == tree.stock_diameters.tolist()
    thicker = planned(thin, Path("none"), skip, tree=tree, strengthen=True)
    assert thicker.notes
    assert (thicker.tree.stock_diameters > tree.stock_diameters).any()


def test_a_tree_with_the_counts_of_another_commission_is_refused() -> None:
    own = read('title = "x"\ncanopy.height = "2 m"\ngrowth = {limbs = 2, branches = 4, twigs = 12}\n')
    other = read('title = "x"\ncanopy.height = "2 m"\ngrowth = {limbs = 2, branches = 5, twigs = 12}\n')
    check_counts(grow(own), own)
    with pytest.raises(CommissionError, match=r"growth\.branches: must be 4, as the tree given has them \(got 5\)"):
        check_counts(grow(own), other)
