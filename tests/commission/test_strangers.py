"""A commission may come from a stranger: it is read in little time, and has no file read that is not beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from armature.cli.app import run
from armature.commission import read
from armature.edge import ArmatureError, CommissionError

BASE = 'title = "Alder"\ncanopy.height = "1 m"\ngrowth = {limbs = 3, branches = 6, twigs = 20}\n'
ROW = "account:x:0:0:private"


@pytest.fixture
def home(tmp_path: Path) -> Path:
    (tmp_path / "shop").mkdir()
    (tmp_path / "private").write_text(f"{ROW}\n{ROW},2\n")
    (tmp_path / "shop" / "rows.csv").write_text(f"{ROW},1\n{ROW},2\n")
    (tmp_path / "shop" / "link.csv").symlink_to(tmp_path / "private")
    return tmp_path


@pytest.mark.parametrize("name", ["../private", "link.csv", "/etc/passwd", "sub/../../private", "/proc/self/environ"])
@pytest.mark.parametrize("key", ["leaves.names", "canopy.outline", "shop.crew.rates", "leaves.lettering.grades"])
def test_a_file_outside_the_commissions_folder_is_refused(key: str, name: str, home: Path) -> None:
    habit = 'canopy.habit = "outline"\n' if key == "canopy.outline" else ""
    (home / "shop" / "tree.toml").write_text(f'{BASE}{habit}{key} = "{name}"\n')
    with pytest.raises(CommissionError, match="must lie below") as told:
        read(home / "shop" / "tree.toml")
    assert ROW not in str(told.value)
    asked = read(f'{BASE}{habit}{key} = "{name}"\n', home / "shop")
    with pytest.raises(CommissionError, match="must lie below"):
        asked.file(name)


def test_files_from_says_where_they_lie(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (home / "lists").mkdir()
    (home / "lists" / "names.csv").write_text("name\nAda\n")
    (home / "shop" / "tree.toml").write_text(f'{BASE}leaves.names = "names.csv"\n')
    assert run(["grow", str(home / "shop" / "tree.toml")]) == 2
    assert "no such file beside the commission" in capsys.readouterr().err
    assert run(["grow", str(home / "shop" / "tree.toml"), "--files-from", str(home / "lists")]) == 0


@pytest.mark.parametrize(
    "key", ["leaves.names", "leaves.lettering.grades", "leaves.lettering.stamped", "canopy.outline"]
)
def test_a_refusal_quotes_nothing_of_a_file_that_is_something_else(
    key: str, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name = "rows.csv"
    if key == "canopy.outline":
        name, key = "rows.stl", 'canopy.habit = "outline"\ncanopy.outline'
        (home / "shop" / name).write_text(f"{ROW}\n" * 9)
    (home / "shop" / "tree.toml").write_text(f'{BASE}{key} = "{name}"\n')
    assert run(["make", str(home / "shop" / "tree.toml"), "--out", str(home / "job"), "--skip", "pictures"]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "account" not in said


SLOW = {
    "a bracket and blanks": "[" + " " * 100_000 + "x\n",
    "a deep key": ".".join(["a"] * 50_000) + " = 1\n",
    "a deep key inside a table": "x = {" + ".".join(["a"] * 50_000) + " = 1}\n",
    "brackets in brackets": "x = " + "[" * 100_000,
    "many unknown keys": "".join(f"k{number} = 1\n" for number in range(20_000)),
    "a long value": 'site = {standard = "' + "x" * 900_000 + '"}\n',
    "a long key": "x" * 900_000 + " = 1\n",
    "an open quote of escapes": 'x = "' + '\\"' * 200_000 + "\n",
    "a long number": "seed = " + "9" * 100_000 + "\n",
}


@pytest.mark.parametrize("kind", SLOW)
def test_what_is_made_to_be_slow_or_long_is_refused_in_a_short_line(kind: str) -> None:
    with pytest.raises(ArmatureError) as told:
        read(BASE + SLOW[kind])
    assert len(str(told.value)) < 300
    assert "\n" not in str(told.value)
