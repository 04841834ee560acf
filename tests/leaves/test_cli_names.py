"""A list of names taken through proof, signing, striking, a mistake, late and withdrawn names, one command each."""

import csv
import shutil
from pathlib import Path

import pytest

from armature.cli.app import run
from tests.leaves.test_cli_leaves import SKIP, TEXT, state

NAMES = """name,family,gift,wish
Ada Rao,Rao,,low
Ben Rao,Rao,,
Zoë Lind,,From the choir,north
Ivo Marsh,,,
Ivo Marsh,,,
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a commission, its names, and the job made from them."""
    home = tmp_path_factory.mktemp("names")
    (home / "names.csv").write_text(NAMES, encoding="utf-8")
    (home / "tree.toml").write_text(TEXT, encoding="utf-8")
    assert run(["make", str(home / "tree.toml"), "--out", str(home / "job"), *SKIP]) == 0
    return home


@pytest.fixture
def home(made: Path, tmp_path: Path) -> Path:
    """Return a copy of it to change."""
    return Path(shutil.copytree(made, tmp_path / "home"))


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def hung(home: Path) -> dict[str, str]:
    return {row["leaf"]: row["name"] for row in rows(home / "job" / "leaves" / "stamping.csv")}


def leaf_of(home: Path, name: str) -> str:
    return next(leaf for leaf, text in hung(home).items() if text == name)


def said(home: Path, *words: str) -> int:
    return run(["leaves", words[0], str(home / "job"), *words[1:]])


def test_a_list_goes_through_proof_sign_strike_mistake_and_late_gift(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert said(home, "sign", "--by", "Office", "--on", "2 May") == 0
    before = hung(home)
    struck = leaf_of(home, "Ada Rao")
    assert said(home, "struck", struck) == 0
    assert said(home, "mistake", struck) == 0
    assert said(home, "late", "Mei Sato", "--gift", "from her pupils") == 0
    assert (home / "job" / "leaves" / "changed.pdf").stat().st_size > 1000
    after = hung(home)
    assert {leaf: name for leaf, name in after.items() if name != "Mei Sato"} == before, "no other name moves"
    assert len(after) == len(before) + 1
    capsys.readouterr()
    assert run(["make", str(home / "tree.toml"), "--out", str(home / "job"), *SKIP]) == 0
    assert "names changed since they were signed: 1 unsigned" in capsys.readouterr().out
    assert hung(home) == after
    signed = rows(home / "job" / "approvals" / "names.csv")
    assert {row["name"] for row in signed} == set(before.values())
    assert {row["by"] for row in signed} == {"Office"}


def test_twins_are_told_apart_and_one_is_withdrawn(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert said(home, "withdraw", "Ivo Marsh") == 2
    assert "hangs on 2 leaves: say which" in capsys.readouterr().err
    others = {leaf: name for leaf, name in hung(home).items() if name != "Ivo Marsh"}
    assert said(home, "twins", "Ivo Marsh", "--people", "1") == 0
    assert sorted(hung(home).values()) == ["Ada Rao", "Ben Rao", "Ivo Marsh", "Zoë Lind"]
    assert others.items() <= hung(home).items()
    index = home / "job" / "care" / "index.txt"
    assert "Ivo Marsh" in index.read_text("utf-8")
    assert said(home, "withdraw", "Ivo Marsh") == 0
    assert "Ivo Marsh" not in index.read_text("utf-8")
    assert said(home, "withdraw", "Ivo Marsh") == 2
    assert "hangs on no leaf" in capsys.readouterr().err


def test_a_corrected_name_stays_on_its_leaf_and_is_unsigned(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    leaf = leaf_of(home, "Zoë Lind")
    checked = home / "checked.csv"
    answers = {"Zoë Lind": ",Zoe Lindt"}
    lines = [f"{k},{name},{answers.get(name, 'ok,')}" for k, name in hung(home).items()]
    checked.write_text("leaf,name,verdict,correction\n" + "\n".join(lines), encoding="utf-8")
    assert said(home, "sign", str(checked), "--by", "Office") == 0
    out = capsys.readouterr().out
    assert "4 of 5 names signed" in out
    assert f"Zoë Lind on {leaf}: asked for as Zoe Lindt" in out
    assert said(home, "respell", "Zoë Lind", "Zoe Lindt") == 0
    assert hung(home)[leaf] == "Zoe Lindt"


def test_piles_give_names_the_best_and_the_next_make_keeps_them(home: Path) -> None:
    cut = [row["design"] for row in rows(home / "job" / "leaves" / "blanks.csv")]
    text = "design,best,plain,wild,scrap\n" + "".join(f"{d},4,{cut.count(d) - 6},1,1\n" for d in sorted(set(cut)))
    (home / "piles.csv").write_text(text, encoding="utf-8")
    assert said(home, "piles", str(home / "piles.csv")) == 0
    graded = {row["leaf"]: row["grade"] for row in rows(home / "job" / "leaves" / "leaves.csv")}
    assert {graded[leaf] for leaf in hung(home)} == {"best"}
    files = [home / "job" / "leaves" / name for name in ("leaves.csv", "piles.csv", "stamping.csv")]
    kept = [file.read_bytes() for file in files]
    assert run(["make", str(home / "tree.toml"), "--out", str(home / "job"), *SKIP]) == 0
    assert [file.read_bytes() for file in files] == kept


@pytest.mark.parametrize(
    "words",
    [
        ("mistake", "Z99-1-1"), ("struck", "Z99-1-1"), ("late", ""), ("twins", "Zoë Lind", "--people", "2"),
        ("twins", "Ivo Marsh", "--people", "5"), ("withdraw", "Nobody"), ("withdraw", "Ivo Marsh", "--leaf", "Z9"),
        ("respell", "Nobody", "Else"), ("sign",), ("piles", "missing.csv"), ("late", "X" * 200),
    ],
)  # fmt: skip
def test_wrong_words_are_told_in_a_line_and_nothing_is_lost(
    made: Path, words: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    before = state(made / "job")
    assert said(made, *words) == 2
    told = capsys.readouterr().err
    assert told.count("\n") == 1
    assert len(told) < 300
    assert state(made / "job") == before
