"""Steel first: members that exist, from points along each, and a tree grown around them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from armature.cli.app import run
from armature.commission import Commission, read
from armature.edge import ArmatureError
from armature.files import load
from armature.grow import grow, meetings_of
from armature.made import given_steel
from armature.tree import BRANCH, LIMB, TRUNK, TWIG, Tree, assembled, bend_list, joints, locate, row_norms
from tests.grow.commissions import commission

ASKED = commission("rounded", limbs=3, branches=8, twigs=36)


@pytest.fixture(scope="module")
def frame() -> Tree:
    """The thick members of another tree: what a smith has forged before anybody planned."""
    whole = grow(ASKED)
    rows = np.flatnonzero(np.isin(whole.ranks, (TRUNK, LIMB, BRANCH)))
    # Two limbs and their first branches exist; the rest does not.
    return whole.taken([row for row in rows.tolist() if str(whole.tags[row]) in ("T", "A", "B", "A01", "A02", "B01")])


def table_of(frame: Tree, noise: float = 0.0, count: int = 25) -> str:
    rng = np.random.default_rng(3)
    lines = ["tag,x_mm,y_mm,z_mm,diameter_mm"]
    for row, tag in enumerate(frame.tags.tolist()):
        stations = np.linspace(0.0, float(frame.lengths[row]), count)
        places = locate(frame.chains, np.full(count, row), stations)[0] + rng.normal(0.0, noise, (count, 3))
        places[0] = places[0] if row else 0.0
        sizes = np.minimum.accumulate(frame.diameters_at(np.full(count, row), stations))
        for place, size in zip(places.tolist(), sizes.tolist(), strict=True):
            lines.append(",".join([tag, *(f"{value:.2f}" for value in place), f"{size:.2f}"]))
    return "\n".join(lines) + "\n"


def asked(folder: Path, text: str) -> Commission:
    (folder / "frame.csv").write_text(text, encoding="utf-8")
    own = f"{(folder / 'tree.toml').write_text(_toml(), encoding='utf-8') and ''}"
    assert not own
    return read(folder / "tree.toml")


def _toml() -> str:
    return (
        'title = "Yard quince (invented)"\nseed = 2\n[canopy]\nhabit = "rounded"\nheight = "3 m"\n'
        'spread = ["2.4 m", "2.2 m"]\nclear_stem = "1 m"\n[growth]\nlimbs = 3\nbranches = 8\ntwigs = 36\n'
        '[leaves]\ncount = 60\n[given]\nsteel = "frame.csv"\n'
    )


@pytest.fixture(scope="module")
def grown(frame: Tree, tmp_path_factory: pytest.TempPathFactory) -> tuple[Commission, Tree]:
    own = asked(tmp_path_factory.mktemp("given"), table_of(frame, noise=0.7))
    return own, grow(own)


def test_points_read_along_bars_give_their_lines_back(frame: Tree, tmp_path: Path) -> None:
    (tmp_path / "frame.csv").write_text(table_of(frame, noise=0.7), encoding="utf-8")
    found = given_steel(tmp_path / "frame.csv", ASKED.steel.bars, ASKED.shop.anvil)
    assert sorted(found.tags.tolist()) == sorted(frame.tags.tolist())
    for tag in frame.tags.tolist():
        one, two = frame.rows[tag], found.rows[tag]
        shares = np.linspace(0.0, 1.0, 30)
        lines = [
            locate(each.chains, np.full(30, row), shares * each.lengths[row])[0]
            for each, row in ((frame, one), (found, two))
        ]
        # Noise of 0.7 mm a way, and what a chain of few bends leaves out.
        assert float(row_norms(lines[0] - lines[1]).max()) < 12.0, tag
        assert float(found.start_diameters[two]) == pytest.approx(float(frame.start_diameters[one]), abs=0.6)


def test_only_what_is_missing_is_grown_and_counts_are_exact(grown: tuple[Commission, Tree], frame: Tree) -> None:
    own, tree = grown
    assert [len(tree.of_rank(rank)) for rank in (LIMB, BRANCH, TWIG)] == [3, 8, 36]
    given = given_steel(own.file("frame.csv"), own.steel.bars, own.shop.anvil).rounded()
    for row, tag in enumerate(given.tags.tolist()):
        assert tag in tree.rows
        one, two = given.alone([row]), tree.alone([tree.rows[tag]])
        np.testing.assert_array_equal(one.chains.vertices, two.chains.vertices)
        np.testing.assert_array_equal(one.tapers.diameters, two.tapers.diameters)
    assert len(tree.leaves) == 60


def test_what_is_grown_is_clear_of_the_given_steel_and_of_itself(grown: tuple[Commission, Tree], frame: Tree) -> None:
    own, tree = grown
    given = set(frame.tags.tolist())
    left = meetings_of(tree, own.growth.clearance)
    assert [each for each in left if not {str(tree.tags[each.one]), str(tree.tags[each.other])} <= given] == []


def test_joints_of_given_steel_lead_back_to_it(grown: tuple[Commission, Tree]) -> None:
    tree = grown[1]
    again = assembled(tree.parents, joints(tree), bend_list(tree.chains))
    np.testing.assert_allclose(again.vertices, tree.chains.vertices, atol=1e-4)


def test_given_steel_is_made_already_and_not_bought(grown: tuple[Commission, Tree], tmp_path: Path) -> None:
    own, _ = grown
    skip = ["mending", "plates", "strength", "mesh", "pictures", "papers"]
    out = tmp_path / "job"
    assert run(["make", str(own.folder / "tree.toml"), "--out", str(out), *(f"--skip={part}" for part in skip)]) == 0
    pieces = " ".join((out / "bars.csv").read_text().replace(",", " ").split())
    assert " A01 " not in f" {pieces} "
    assert " A03 " in f" {pieces} " or " B02 " in f" {pieces} "
    first, _ = load(out)
    assert run(["make", str(own.folder / "tree.toml"), "--out", str(out), *(f"--skip={part}" for part in skip)]) == 0
    assert load(out)[0].same_as(first)


def test_the_bare_frame_is_judged_as_a_tree_that_is_not_finished(
    frame: Tree, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "frame.csv").write_text(table_of(frame, count=12), encoding="utf-8")
    assert run(["judge", str(tmp_path / "frame.csv")]) == 0
    assert f"{len(frame)} members" in capsys.readouterr().out


HEAD = "tag,x_mm,y_mm,z_mm,diameter_mm\n"
POST = "T,0,0,0,60\nT,0,0,900,50\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("A,0,0,800,20\nA,300,0,1000,15\n", "must hold the trunk, T"),
        (POST + "A01,0,0,800,20\nA01,300,0,1000,15\n", "needs its parent A in the table"),
        (POST + "A,500,0,800,20\nA,800,0,1000,15\n", "mm from the middle of its parent T"),
        (POST + "A,30,0,800,20\nA,300,0,1000,35\n", "gets thicker toward its tip"),
        (POST + "A,30,0,800,20\n", "A needs 2 to 400 points from START to its tip"),
        (POST + "limb one,30,0,800,20\n", "must be as stamped: T, A, A07 or A07-12"),
        ("T,400,0,0,60\nT,400,0,900,50\n", "the trunk begins at the origin of the grid"),
    ],
)
def test_a_table_that_is_no_tree_is_told_in_one_line(tmp_path: Path, text: str, says: str) -> None:
    (tmp_path / "frame.csv").write_text(HEAD + text, encoding="utf-8")
    with pytest.raises(ArmatureError) as told:
        given_steel(tmp_path / "frame.csv", (6.0, 10.0, 60.0), ASKED.shop.anvil)
    assert says in str(told.value)
    assert "frame.csv" in str(told.value)


def test_more_given_than_asked_is_refused(frame: Tree, tmp_path: Path) -> None:
    own = asked(tmp_path, table_of(frame))
    fewer = own.model_copy(update={"growth": own.growth.model_copy(update={"limbs": 1, "branches": 2})})
    with pytest.raises(ArmatureError, match="made"):
        grow(fewer)
