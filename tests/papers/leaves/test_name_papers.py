"""Names on paper and in spreadsheets: as typed, whatever they are made of."""

import csv
import subprocess
from pathlib import Path

import numpy as np
import pytest
from openpyxl import load_workbook  # type: ignore[import-untyped]  # it ships no types
from PIL import Image

from armature.commission import Commission, read
from armature.files.csv_text import safe_text
from armature.files.lists import hang_points_csv
from armature.grow import grow
from armature.job.leaves import NAME_FILES, leaf_finding, write_names
from armature.leaves import LeafPlan, plan_leaves
from armature.leaves.naming.batches import batches
from armature.leaves.naming.grades import unguarded
from armature.leaves.naming.letters import Setting
from armature.leaves.naming.stamp_areas import Panel
from armature.leaves.naming.stamping import Stamping
from armature.papers.leaves.places import named_places
from tests.papers.leaves.test_papers import TEXT

AS_TYPED = [
    "=1+1", "+44 Ada", "-Eve", "@home", "'=2+2", "<b>x</b>", "</script>", "Rao, Ada", 'Ann "Nan"', "O'Hara", "Zoë Lind",
    "محمد نجار", "רות כהן", "王小明", "김들판", "मीरा शर्मा",
]  # fmt: skip
# Ethiopic, which none of the fonts draws.
UNDRAWN = "ሀለሐ"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, LeafPlan, Commission, list[str]]:
    """Return the folder, the plan, the commission, and the signs that no font draws."""
    home = tmp_path_factory.mktemp("names")
    lines = ["name", *('"' + name.replace('"', '""') + '"' for name in [*AS_TYPED, UNDRAWN])]
    (home / "names.csv").write_text("\n".join(lines), encoding="utf-8")
    (home / "tree.toml").write_text(TEXT, encoding="utf-8")
    commission = read(home / "tree.toml")
    plan = plan_leaves(commission, grow(commission), plates=False)
    return home, plan, commission, write_names(plan, commission, home)


def column(text: str, name: str) -> list[str]:
    return [row[name] for row in csv.DictReader(text.splitlines())]


def test_the_workbook_shows_every_name_as_typed_and_as_text(
    made: tuple[Path, LeafPlan, Commission, list[str]],
) -> None:
    """Read with another library: text cells all, no formula among them, in the order of the printed list."""
    home, plan, commission, _ = made
    sheet = load_workbook(home / "names.xlsx")["Names"]
    rows = list(sheet.iter_rows(min_row=2))
    assert sorted(str(row[0].value) for row in rows) == sorted(AS_TYPED)
    assert {cell.data_type for row in rows for cell in row} <= {"s", "inlineStr"}
    assert all(row[0].quotePrefix for row in rows)
    assert [row[1].value for row in rows] == [place.tag for place in named_places(plan, commission.units)]


def test_lists_are_guarded_against_formulas_and_read_back_as_typed(
    made: tuple[Path, LeafPlan, Commission, list[str]],
) -> None:
    home, plan, _, _ = made
    hung = [name for name in column(hang_points_csv(plan.tree), "name") if name]
    stamped = column((home / "stamping.csv").read_text(encoding="utf-8"), "name")
    for cells in (hung, stamped):
        assert not [cell for cell in cells if cell[0] in "=+-@"]
        assert sorted(map(unguarded, cells)) == sorted(AS_TYPED)


@pytest.mark.parametrize("text", [*AS_TYPED, "''", "''=1", "'tis", "", "-"])
def test_guarding_is_undone_by_taking_one_apostrophe_off(text: str) -> None:
    (cells,) = csv.reader([safe_text(text)]) if text else ([""],)
    assert unguarded(cells[0]) == text


def test_a_name_that_no_font_draws_gets_no_leaf_and_is_told(
    made: tuple[Path, LeafPlan, Commission, list[str]],
) -> None:
    home, plan, _, missing = made
    (row,) = csv.DictReader((home / "unplaced.csv").read_text(encoding="utf-8").splitlines())
    assert row["name"] == UNDRAWN
    assert row["advice"].startswith(f"no font on hand draws {' '.join(UNDRAWN)}")
    assert UNDRAWN not in plan.tree.leaves.names.tolist()
    assert missing == []
    told = [note for note in leaf_finding(plan, 0.25).notes if "no font" in note]
    assert told == ["1 name has signs that no font on hand draws, and no leaf: leaves/unplaced.csv says which"]


def test_hebrew_runs_from_right_to_left_on_paper(
    made: tuple[Path, LeafPlan, Commission, list[str]], tmp_path: Path
) -> None:
    """The page's own words with their places, by poppler: the first word of the name stands right of the second."""
    home, *_ = made
    subprocess.run(["pdftotext", "-bbox", home / "names.pdf", tmp_path / "words.html"], check=True)
    words = (tmp_path / "words.html").read_text(encoding="utf-8")
    place = {
        word: float(line.split('xMin="')[1].split('"')[0])
        for line in words.splitlines()
        for word in ("רות", "כהן", "Zoë", "Lind")
        if f">{word}<" in line or f">{word[::-1]}<" in line
    }
    assert place["רות"] > place["כהן"]
    assert place["Zoë"] < place["Lind"]


def test_every_name_leaves_ink_on_the_list(made: tuple[Path, LeafPlan, Commission, list[str]], tmp_path: Path) -> None:
    """A page as an image: dark letters at the height of each row, names of every script."""
    home, plan, commission, _ = made
    subprocess.run(["pdftoppm", "-r", "100", "-gray", "-png", home / "names.pdf", tmp_path / "page"], check=True)
    with Image.open(sorted(tmp_path.glob("page*.png"))[0]) as shown:
        dark = np.asarray(shown.convert("L")) < 90
    rows = len(named_places(plan, commission.units))
    ink = [dark[row_px(k) - 12 : row_px(k) + 4, 50:380].sum() for k in range(rows)]
    assert min(ink) > 40


def row_px(row: int) -> int:
    from armature.papers.leaves.name_list import _EDGE, _HEAD, _ROW

    return round((_EDGE + _HEAD + row * _ROW) / 25.4 * 100)


def test_every_name_is_struck_once_in_batches_of_one_letter_size() -> None:
    heights = [2.4, 3.2, 3.2, 2.4, 4.0] * 20
    stamps = [Stamping(Setting(h, ("ADA",), "stamp"), Panel(0, 0, 9, 9, 0)) if h < 4 else None for h in heights]
    found = batches(stamps, [f"A01-1-{k}" for k in range(100)])
    assert sorted(row for batch in found for row in batch) == [k for k in range(100) if heights[k] < 4]
    assert all(len({heights[row] for row in batch}) == 1 and len(batch) <= 24 for batch in found)
    assert len(found) == 4, "forty of each size: a full batch and a rest of each"


def test_stamping_drawings_are_full_size(made: tuple[Path, LeafPlan, Commission, list[str]], tmp_path: Path) -> None:
    """At 254 dots an inch a millimetre is ten: the rule, and the first leaf, whose corner lies at a known place."""
    home, plan, *_ = made
    subprocess.run(
        ["pdftoppm", "-r", "254", "-l", "1", "-gray", "-png", home / "stamping.pdf", tmp_path / "page"], check=True
    )
    with Image.open(next(tmp_path.glob("page*.png"))) as shown:
        dark = np.asarray(shown.convert("L")) < 150
    rule = dark[int(dark.shape[0] - 8.0 * 10) - 2 : int(dark.shape[0] - 8.0 * 10) + 3, 100:1140].any(axis=0)
    across = np.flatnonzero(rule)
    assert across[-1] - across[0] == pytest.approx(1000, abs=6)
    first = batches(plan.settings, plan.tree.leaves.tags.tolist())[0][0]
    low_x, low_y, high_x, high_y = plan.designs[int(plan.tree.leaves.designs[first]) - 1].shape.bounds
    wide, high = high_x - low_x, high_y - low_y
    top = round((26.0 + 10.0) * 10)
    leaf = dark[top - 8 : top + round(high * 10) + 12, 110 : 120 + round(wide * 10) + 12]
    rows, columns = np.flatnonzero(leaf.any(axis=1)), np.flatnonzero(leaf.any(axis=0))
    # The line itself is a quarter of a millimetre wide.
    assert rows[-1] - rows[0] == pytest.approx(high * 10, abs=5)
    assert columns[-1] - columns[0] == pytest.approx(wide * 10, abs=5)


def test_the_same_names_give_the_same_bytes(made: tuple[Path, LeafPlan, Commission, list[str]], tmp_path: Path) -> None:
    home, plan, commission, _ = made
    write_names(plan, commission, tmp_path)
    for name in NAME_FILES:
        assert (tmp_path / name).read_bytes() == (home / name).read_bytes()
