"""The closed loop: joints.csv and bends.csv alone make the tree."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from armature.errors import CommissionError, FileError
from armature.files.lists import bends_csv, joints_csv, members_csv, tapers_csv
from armature.shop.bending import paper_for
from armature.shop.rebuild import rebuilt
from armature.tree import Tree
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
