"""`make` into a folder where steel exists: one job planned, measured, planned again, taken back."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest

from armature.commission import Commission, read
from armature.files import load
from armature.make import make
from armature.tree import LIMB, Tree
from tests.job.told_files import columns_told, files_told
from tests.made.bars import bent_copy, offset_rows
from tests.papers.printed import texts

SKIP = ("mending", "plates", "strength", "mesh", "pictures")
LISTS = (*SKIP, "papers")


def asked() -> Commission:
    return read(
        'title = "Hedge crab"\nseed = 4\n[canopy]\nheight = "2.2 m"\nspread = ["1.6 m", "1.5 m"]\n'
        'clear_stem = "0.8 m"\n[growth]\nlimbs = 2\nbranches = 3\ntwigs = 7\n[leaves]\ncount = 7\n'
    )


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Tree]:
    """A job planned, two limbs measured, planned again with papers; and the tree as it was planned."""
    folder = tmp_path_factory.mktemp("again") / "job"
    make(asked(), folder, LISTS)
    plan, _ = load(folder)
    made = bent_copy(plan, 2, bend=8.0)
    (folder / "measured").mkdir()
    rows = plan.of_rank(LIMB).tolist()
    (folder / "measured" / "offsets.csv").write_text(offset_rows(plan.tags.tolist(), made, rows))
    make(asked(), folder, SKIP)
    return folder, plan


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def test_what_is_made_is_not_bought_sawn_or_printed_again(job: tuple[Path, Tree]) -> None:
    folder, _ = job
    sawn = {tag for row in rows_of(folder / "bars.csv") for tag in row["pieces"].split()}
    assert {"T", "A01"} <= sawn
    assert not {"A", "B"} & sawn
    hours = {row["tag"]: row for row in rows_of(folder / "shop" / "hours.csv")}
    assert float(hours["A"]["bend_h"]) == float(hours["A"]["cut_h"]) == 0.0
    assert float(hours["A01"]["cut_h"]) > 0.0


def test_changed_cards_are_printed_with_their_revision_and_what_changed(job: tuple[Path, Tree]) -> None:
    folder, _ = job
    revisions = rows_of(folder / "shop" / "revisions.csv")
    assert revisions
    assert {row["revision"] for row in revisions} == {"2"}
    printed = "\n".join(texts((folder / "shop" / "again.pdf").read_bytes()))
    assert "REVISION 2" in printed
    assert "put these in place of the old ones" in printed
    report = (folder / "made-steel.md").read_text(encoding="utf-8")
    assert all(f"| {row['tag']} | 2 | 1 |" in report for row in revisions)
    told = files_told()
    assert {"planned.json", "made-steel.md", "shop/again.pdf", "shop/revisions.csv"} <= set(told)
    assert columns_told()["shop/revisions.csv"] == set(revisions[0])


def test_made_again_from_itself_with_the_same_measures_gives_the_same_bytes(job: tuple[Path, Tree]) -> None:
    folder, _ = job
    names = ("design.json", "planned.json", "shop/revisions.csv", "bars.csv")
    before = [(folder / name).read_bytes() for name in names]
    tree, commission = load(folder)
    make(commission, folder, LISTS, tree=tree)
    assert [(folder / name).read_bytes() for name in names] == before


def test_measures_taken_back_give_the_plan_back(job: tuple[Path, Tree]) -> None:
    folder, plan = job
    answered, _ = load(folder)
    assert not answered.same_as(plan)
    table = folder / "measured" / "offsets.csv"
    text = table.read_text()
    table.unlink()
    make(asked(), folder, LISTS)
    assert load(folder)[0].same_as(plan)
    assert not (folder / "planned.json").exists()
    assert {row["revision"] for row in rows_of(folder / "shop" / "revisions.csv")} == {"3"}
    table.write_text(text)
    make(asked(), folder, LISTS)
    assert load(folder)[0].same_as(answered)


def test_another_commission_grows_anew_around_what_was_measured(job: tuple[Path, Tree], tmp_path: Path) -> None:
    folder, _ = job
    tree, commission = load(folder)
    other = commission.model_copy(update={"seed": 9})
    make(other, folder, LISTS)
    grown, _ = load(folder)
    for tag in ("T", "A", "B"):
        one, two = (each.chains.taken([each.rows[tag]]) for each in (tree, grown))
        np.testing.assert_array_equal(one.vertices, two.vertices)
    assert not grown.same_as(tree)
