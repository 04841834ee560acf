"""Names on paper and in spreadsheets: as typed, whatever they are made of."""

import csv
import subprocess
from pathlib import Path

import numpy as np
import pytest
from openpyxl import load_workbook  # type: ignore[import-untyped]  # it ships no types
from PIL import Image

from armature.commission import Commission, read
from armature.grow import grow
from armature.leaves import LeafPlan, plan_leaves
from armature.leaves.grades import unguarded
from armature.records.csv_text import safe_text
from armature.records.leaf_places import named_places
from armature.records.leaf_writing import NAME_FILES, leaf_notes, write_names
from armature.records.tables import hang_points_csv
from tests.leaves.test_papers import TEXT

AS_TYPED = [
    "=1+1", "+44 Ada", "-Eve", "@home", "'=2+2", "<b>x</b>", "</script>", "Rao, Ada", 'Ann "Nan"', "O'Hara", "Zoë Lind",
    "محمد نجار", "רות כהן", "王小明", "김들판", "मीरा शर्मा", "ሀለሐ",
]  # fmt: skip


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, LeafPlan, Commission, list[str]]:
    """Return the folder, the plan, the commission, and the signs that no font draws."""
    home = tmp_path_factory.mktemp("names")
    lines = ["name", *('"' + name.replace('"', '""') + '"' for name in AS_TYPED)]
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


def test_signs_without_a_font_are_told_and_none_that_has_one(
    made: tuple[Path, LeafPlan, Commission, list[str]],
) -> None:
    _, plan, commission, missing = made
    assert set("ሀለሐ") == set(missing)
    assert f"no font on hand draws: {' '.join(missing)}" in leaf_notes(plan, commission, missing)


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
    from armature.records.leaf_list import _EDGE, _HEAD, _ROW

    return round((_EDGE + _HEAD + row * _ROW) / 25.4 * 100)


def test_the_same_names_give_the_same_bytes(made: tuple[Path, LeafPlan, Commission, list[str]], tmp_path: Path) -> None:
    home, plan, commission, _ = made
    write_names(plan, commission, tmp_path)
    for name in NAME_FILES:
        assert (tmp_path / name).read_bytes() == (home / name).read_bytes()
