"""Files that a commission names are looked for when it is read: one line with file, line, key, rule and value."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from pydantic import BaseModel

from armature.cli.app import run
from armature.commission import Commission, read
from armature.edge import CommissionError
from tests.commission.commissions import FIVE_LINES

KEYS = {
    "leaves.names": 'leaves.names = "{}"',
    "leaves.lettering.grades": 'leaves.lettering.grades = "{}"',
    "leaves.lettering.stamped": 'leaves.lettering.stamped = "{}"\nleaves.names = "tree.toml"',
    "leaves.outline.files[1]": 'leaves.outline.files = ["tree.toml", "{}"]',
    "canopy.outline": 'canopy.habit = "outline"\ncanopy.outline = "{}"',
    "shop.crew.rates": 'shop.crew.rates = "{}"',
}


def commission(folder: Path, line: str, name: str) -> Path:
    file = folder / "tree.toml"
    file.write_text(FIVE_LINES + line.format(name) + "\n", encoding="utf-8")
    return file


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize(
    ("name", "rule"),
    [("none.csv", "no such file beside the commission"), ("folder", "is a folder where a file is wanted")],
)
def test_a_file_that_is_missing_or_a_folder_is_told_by_its_key(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], key: str, name: str, rule: str
) -> None:
    (tmp_path / "folder").mkdir()
    file = commission(tmp_path, KEYS[key], name)
    line = len(FIVE_LINES.splitlines()) + (2 if key == "canopy.outline" else 1)
    assert run(["make", str(file), "--out", str(tmp_path / "job")]) == 2
    said = capsys.readouterr().err
    assert said == f"armature: {file}: line {line}: {key}: {rule} (got {name!r})\n"
    assert not (tmp_path / "job").exists()


def test_a_file_that_may_not_be_read_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    names = tmp_path / "names.csv"
    names.write_text("Ada\n")
    file = commission(tmp_path, KEYS["leaves.names"], "names.csv")
    whole = Path.open

    def refused(path: Path, *given, **named):  # type: ignore[no-untyped-def]
        if path == names:
            raise PermissionError(13, "Permission denied")
        return whole(path, *given, **named)

    monkeypatch.setattr(Path, "open", refused)
    with pytest.raises(CommissionError, match=r"leaves\.names: cannot be read: permission denied \(got 'names\.csv'\)"):
        read(file)


def test_every_key_that_names_a_file_is_looked_at() -> None:
    """All keys of the commission whose description speaks of a file or a CSV."""
    spoken = {key for key, text in descriptions(Commission) if re.search(r"\bfile\b|\bCSV\b", text)}
    assert spoken == {key.partition("[")[0] for key in KEYS}


def descriptions(model: type[BaseModel], above: str = "") -> Iterator[tuple[str, str]]:
    for name, field in model.model_fields.items():
        kind = field.annotation
        if isinstance(kind, type) and issubclass(kind, BaseModel):
            yield from descriptions(kind, f"{above}{name}.")
        else:
            yield above + name, field.description or ""


def test_a_stamped_list_needs_names(tmp_path: Path) -> None:
    file = commission(tmp_path, 'leaves.lettering.stamped = "{}"', "tree.toml")
    with pytest.raises(CommissionError, match=r"leaves\.names: is needed with lettering\.stamped"):
        read(file)


def test_more_outlines_than_designs_are_refused(tmp_path: Path) -> None:
    file = commission(tmp_path, 'leaves.outline.files = ["{0}", "{0}"]\nleaves.designs = 1', "tree.toml")
    with pytest.raises(CommissionError, match=r"must be at least 2, one for each of outline\.files"):
        read(file)


def test_letters_from_large_to_small_are_refused(tmp_path: Path) -> None:
    file = commission(tmp_path, 'leaves.lettering = {{least = "8 mm", most = "{}"}}', "4 mm")
    with pytest.raises(CommissionError, match=r"must be at most lettering\.most"):
        read(file)
