"""The closed loop: joints.csv and bends.csv alone make the tree."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from armature.edge import CommissionError, FileError
from armature.files.lists import bends_csv, joints_csv, members_csv, tapers_csv
from armature.shop.bending import paper_for
from armature.shop.rebuild import rebuilt
from armature.tree import Tree, joined_tapers
from tests.tree.test_tapers import STEPS, two_stems
from tests.trees import random_tree


def written(folder: Path, tree: Tree) -> Path:
    none = np.zeros(len(tree))
    (folder / "joints.csv").write_text(joints_csv(tree))
    (folder / "bends.csv").write_text(bends_csv(tree))
    (folder / "tapers.csv").write_text(tapers_csv(tree))
    (folder / "members.csv").write_text(members_csv(tree, none, none))
    return folder


@pytest.mark.parametrize("seed", range(3))
def test_lists_bring_every_tip_back_within_a_hundredth_of_a_millimetre(tmp_path: Path, seed: int) -> None:
    tree = random_tree(80, seed)
    found = rebuilt(written(tmp_path, tree), paper_for("mm"))
    assert found.largest_mm < 0.01
    assert 0.1 < found.paper_errors.max() < 200.0


def test_lists_alone_make_stems_beside_the_trunk_and_bars_that_step_down(tmp_path: Path) -> None:
    tree = two_stems()
    tree = replace(tree, tapers=joined_tapers([STEPS, tree.tapers.taken([1, 2])]), stock_diameters=np.full(3, 40.0))
    found = rebuilt(written(tmp_path, tree), paper_for("mm"))
    assert found.largest_mm < 1e-5
    assert found.tapers is not None
    order = [found.tags.tolist().index(tag) for tag in tree.tags.tolist()]
    own = found.tapers.taken(order)
    # Files hold lengths to a millionth of a millimetre.
    rows, stations = np.repeat(np.arange(3), 50), np.tile(np.linspace(0.0, 1.0, 50), 3) * np.repeat(tree.lengths, 50)
    np.testing.assert_allclose(own.at(tree.lengths, rows, stations), tree.diameters_at(rows, stations), atol=1e-4)
    np.testing.assert_allclose(own.volumes(tree.lengths, tree.walls), tree.volumes, rtol=1e-6)
    assert own.swells.tolist() == [60.0, 0.0, 0.0]


def test_lists_of_an_older_run_without_tapers_and_base_points_still_rebuild(tmp_path: Path) -> None:
    folder = written(tmp_path, random_tree(12))
    (folder / "tapers.csv").unlink()
    rows = [line.split(",")[:12] for line in (folder / "joints.csv").read_text().splitlines()]
    (folder / "joints.csv").write_text("\n".join(map(",".join, rows)) + "\n")
    found = rebuilt(folder, paper_for("mm"))
    assert found.largest_mm < 0.01
    assert found.tapers is None


def test_a_taper_of_an_unknown_member_or_without_a_tip_is_refused(tmp_path: Path) -> None:
    folder = written(tmp_path, two_stems())
    text = (folder / "tapers.csv").read_text()
    (folder / "tapers.csv").write_text(text + "Z9,0,4\n")
    with pytest.raises(
        CommissionError, match=r"tapers\.csv: tells of a member that joints\.csv does not list \(got 'Z9'\)"
    ):
        rebuilt(folder, paper_for("mm"))
    (folder / "tapers.csv").write_text("\n".join(text.splitlines()[:-1]) + "\n")
    with pytest.raises(CommissionError, match=r"needs two rows a member, start and tip \(got 'T2'\)"):
        rebuilt(folder, paper_for("mm"))


def test_rows_in_any_order_make_the_same_tree(tmp_path: Path) -> None:
    tree = random_tree(30)
    folder = written(tmp_path, tree)
    for name in ("joints.csv", "bends.csv", "tapers.csv"):
        head, *rows = (folder / name).read_text().splitlines()
        (folder / name).write_text("\n".join([head, *reversed(rows)]) + "\n")
    assert rebuilt(folder, paper_for("mm")).largest_mm < 0.01


def test_a_changed_bend_shows_as_an_error_at_the_tip(tmp_path: Path) -> None:
    folder = written(tmp_path, random_tree(30))
    head, row, *rest = (folder / "bends.csv").read_text().splitlines()
    cells = row.split(",")
    cells[5] = str(float(cells[5]) + 1.0)
    (folder / "bends.csv").write_text("\n".join([head, ",".join(cells), *rest]) + "\n")
    assert rebuilt(folder, paper_for("mm")).largest_mm > 1.0


def test_a_missing_list_is_told_by_name(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"joints\.csv"):
        rebuilt(tmp_path, paper_for("mm"))


def test_a_word_where_a_number_should_be_is_told_by_line(tmp_path: Path) -> None:
    folder = written(tmp_path, random_tree(8))
    text = (folder / "joints.csv").read_text().splitlines()
    cells = text[2].split(",")
    cells[2] = "half way"
    (folder / "joints.csv").write_text("\n".join([*text[:2], ",".join(cells), *text[3:]]) + "\n")
    with pytest.raises(CommissionError, match=r"line 3, station_mm.*half way"):
        rebuilt(folder, paper_for("mm"))


def test_members_that_hang_in_a_circle_are_refused(tmp_path: Path) -> None:
    folder = written(tmp_path, random_tree(8))
    text = (folder / "joints.csv").read_text().replace("\nT,base,", "\nT,A,")
    (folder / "joints.csv").write_text(text)
    with pytest.raises(CommissionError, match="circle"):
        rebuilt(folder, paper_for("mm"))
