"""Grades taken in as the bench does it, and what is wrong with a commission's files told before anything is grown."""

import csv
import errno
import hashlib
import shutil
from collections import Counter
from importlib import import_module
from pathlib import Path

import pytest

from armature.cli.app import run
from tests.papers.leaves.test_papers import NAMES
from tests.papers.leaves.test_papers import TEXT as LARGER

TEXT = (
    LARGER.replace("twigs = 40", "twigs = 16").replace("count = 54", "count = 30").replace("designs = 3", "designs = 2")
)
SKIP = [word for part in ("mending", "strength", "shop", "mesh", "pictures") for word in ("--skip", part)]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a commission, its names, and the job made from them."""
    home = tmp_path_factory.mktemp("bench")
    (home / "names.csv").write_text("\n".join(NAMES), encoding="utf-8")
    (home / "tree.toml").write_text(TEXT, encoding="utf-8")
    assert run(["make", str(home / "tree.toml"), "--out", str(home / "job"), *SKIP]) == 0
    return home


@pytest.fixture
def home(made: Path, tmp_path: Path) -> Path:
    """Return a copy of it to change."""
    return Path(shutil.copytree(made, tmp_path / "bench"))


def rows(file: Path) -> list[dict[str, str]]:
    with file.open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


def hung(home: Path) -> dict[str, str]:
    return {row["leaf"]: row["name"].removeprefix("'") for row in rows(home / "job" / "leaves" / "stamping.csv")}


def state(folder: Path) -> dict[str, str]:
    files = [p for p in sorted(folder.rglob("*")) if p.is_file()]
    return {str(p.relative_to(folder)): hashlib.sha256(p.read_bytes()).hexdigest() for p in files}


def graded(home: Path, text: str | bytes) -> int:
    file = home / "grades.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return run(["leaves", "grade", str(home / "job"), str(file)])


def spares_of(home: Path, design: str) -> list[str]:
    return [r["leaf"] for r in rows(home / "job" / "leaves" / "blanks.csv") if r["leaf"].startswith(f"x{design}-")]


def design_of(home: Path, leaf: str) -> str:
    return next(r["design"] for r in rows(home / "job" / "hang_points.csv") if r["leaf"] == leaf)


def test_scrap_with_a_spare_keeps_its_name_and_nothing_is_cut_again(
    home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = hung(home)
    leaf = min(before)
    assert graded(home, f"leaf,grade\n{leaf},scrap\n") == 0
    assert "1 spare(s) stand in for scrap, 0 name(s) moved" in capsys.readouterr().out
    assert hung(home) == before
    swaps = rows(home / "job" / "leaves" / "swaps.csv")
    assert [s["leaf"] for s in swaps] == [leaf]
    assert swaps[0]["spare"] in spares_of(home, design_of(home, leaf))
    assert rows(home / "job" / "leaves" / "again.csv") == []


@pytest.mark.parametrize(
    "listed", [None, b"\xff\xfe\0", b"", b"0" * 64 + b"  ../secret\n", b"0" * 64 + b"  /etc/hostname\n"]
)
def test_grades_are_taken_into_a_job_whose_sums_are_lost_or_changed(home: Path, listed: bytes | None) -> None:
    """Nothing that the job holds is lost, and nothing outside it is touched."""
    before, sums = hung(home), home / "job" / "SHA256SUMS"
    (home / "secret").write_text("mine")
    outlines = (home / "job" / "leaves" / "outlines.json").read_bytes()
    sums.unlink()
    if listed is not None:
        sums.write_bytes(listed)
    held = {path.relative_to(home) for path in home.rglob("*") if path.is_file()}
    assert graded(home, f"leaf,grade\n{min(before)},scrap\n") == 0
    assert hung(home) == before
    assert (home / "job" / "leaves" / "outlines.json").read_bytes() == outlines
    assert held <= {path.relative_to(home) for path in home.rglob("*") if path.is_file()}
    assert (home / "secret").read_text() == "mine"


def test_grades_are_taken_in_where_files_have_no_second_names(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr("os.link", refused)
    before = hung(home)
    assert graded(home, f"leaf,grade\n{min(before)},scrap\n") == 0
    assert hung(home) == before


def test_the_next_makes_keep_grades_names_and_what_waits(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Scrap without spares: one name moves, its leaf is cut again, and two more runs change no byte of it."""
    leaf = min(hung(home))
    design, name = design_of(home, leaf), hung(home)[leaf]
    scrap = [leaf, *spares_of(home, design)]
    assert graded(home, "leaf;grade\r\n" + "".join(f"{tag};Scrap\r\n" for tag in scrap)) == 0
    said = capsys.readouterr().out
    assert f"- {name}: from {leaf} to " in said
    assert f"cut again: 1 of design {design}" in said
    leaves = home / "job" / "leaves"
    kept = ("grades.csv", "swaps.csv", "again.csv", "stamping.csv", "finder.html", "leaves.csv")
    before = {file: (leaves / file).read_bytes() for file in kept}
    for _ in range(2):
        assert run(["make", str(home / "tree.toml"), "--out", str(home / "job"), *SKIP]) == 0
        assert {file: (leaves / file).read_bytes() for file in kept} == before
    assert Counter(hung(home).values()) == Counter(NAMES)
    assert leaf not in hung(home)


def test_best_leaves_keep_their_names_and_free_best_ones_draw_none(home: Path) -> None:
    before = hung(home)
    assert graded(home, "leaf,grade\n" + "".join(f"{tag},best\n" for tag in before)) == 0
    assert hung(home) == before
    assert {r["leaf"] for r in rows(home / "job" / "leaves" / "leaves.csv") if r["grade"] == "best"} == set(before)


def test_when_every_other_leaf_is_scrap_names_wait_and_the_next_make_still_runs(home: Path) -> None:
    named = hung(home)
    all_leaves = [r["leaf"] for r in rows(home / "job" / "leaves" / "blanks.csv")]
    assert graded(home, "leaf,grade\n" + "".join(f"{tag},scrap\n" for tag in all_leaves)) == 0
    assert hung(home) == named
    assert run(["make", str(home / "tree.toml"), "--out", str(home / "job"), *SKIP]) == 0
    assert hung(home) == named
    assert "have to be cut again" in (home / "job" / "summary.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("leaf,grade\nZ99-1-1,scrap\n", "row 2: no leaf or spare of that tag (got 'Z99-1-1')"),
        ("leaf,grade\nx1-99,scrap\n", "row 2: no leaf or spare of that tag (got 'x1-99')"),
        ("leaf,grade\n{leaf},good\n", "row 2: grade must be scrap, wild, plain or best (got 'good')"),
        ("leaf,grade\n{leaf},scrap\n{leaf},best\n", "row 3: {leaf} is graded twice; a leaf has one row (got 'best')"),
        ("leaf,grade\n{leaf},scrap\n{leaf},scrap\n", "row 3: {leaf} is graded twice"),
        ("leaf,grade\n,scrap\n", "row 2: needs leaf and grade"),
        ("leaf,grade\n{leaf}\n", "row 2: needs leaf and grade"),
        ("", "needs a header row with the columns leaf and grade"),
        ("leaf,grade\n", "holds no grades"),
        ("a,b\n{leaf},scrap\n", "needs a header row with the columns leaf and grade"),
        ("\x89PNG\r\n\x1a\n\0\0\0", "needs a header row"),
    ],
    ids=["leaf", "spare", "grade", "twice", "again", "no leaf", "no grade", "empty", "bare", "head", "picture"],
)
def test_wrong_grades_are_told_in_one_line_and_change_nothing(
    home: Path, capsys: pytest.CaptureFixture[str], text: str, says: str
) -> None:
    leaf = min(hung(home))
    before = state(home / "job")
    assert graded(home, text.replace("{leaf}", leaf)) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert str(home / "grades.csv") in said.err
    assert says.replace("{leaf}", leaf) in said.err
    assert state(home / "job") == before


def test_a_folder_without_leaves_and_a_missing_file_are_told(
    tmp_path: Path, home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (home / "grades.csv").write_text("leaf,grade\n")
    for job, file in ((tmp_path, home / "grades.csv"), (home / "job", home / "none.csv"), (home / "job", home)):
        assert run(["leaves", "grade", str(job), str(file)]) == 2
        assert len(capsys.readouterr().err.splitlines()) == 1


def test_a_stamped_name_stays_whatever_else_changes(home: Path) -> None:
    """Struck in capitals, on a leaf that no rule would choose; the list is turned about and a name is added."""
    free = [r["leaf"] for r in rows(home / "job" / "hang_points.csv") if not r["name"]]
    leaf = max(
        free, key=lambda tag: float(next(r for r in rows(home / "job" / "hang_points.csv") if r["leaf"] == tag)["z_mm"])
    )
    (home / "stamped.csv").write_text(f"leaf,name\n{leaf},ADA RAO\n", encoding="utf-8")
    (home / "names.csv").write_text("\n".join(["New Name", *reversed(NAMES)]), encoding="utf-8")
    text = TEXT.replace('least = "1.5 mm"', 'least = "1.5 mm"\nstamped = "stamped.csv"')
    (home / "tree.toml").write_text(text, encoding="utf-8")
    assert run(["make", str(home / "tree.toml"), "--out", str(home / "job"), *SKIP]) == 0
    assert hung(home)[leaf] == "Ada Rao"
    assert Counter(hung(home).values()) == Counter([*NAMES, "New Name"])


@pytest.mark.parametrize(
    ("stamped", "says"),
    [
        ("Z99-1-1,Ada Rao", "row 2: Z99-1-1 is stamped, and no leaf of that tag hangs on the tree (got 'Ada Rao')"),
        ("{leaf},Eve Rao", "row 2: {leaf} is stamped with a name that leaves.names does not hold"),
        ("{leaf},Ada Rao\n{leaf},Zoë Lind", "row 3: {leaf} is stamped twice"),
        (
            "{leaf},Ada Rao\n{other},ada rao",
            "row 3: {other} is stamped with a name that leaves.names does not hold, or",
        ),
    ],
)
def test_a_struck_leaf_that_does_not_agree_with_the_list_is_told(
    home: Path, capsys: pytest.CaptureFixture[str], stamped: str, says: str
) -> None:
    leaf, other = sorted(hung(home))[:2]
    text = "leaf,name\n" + stamped.replace("{leaf}", leaf).replace("{other}", other)
    (home / "stamped.csv").write_text(text, encoding="utf-8")
    (home / "tree.toml").write_text(TEXT.replace("[leaves.lettering]", '[leaves.lettering]\nstamped = "stamped.csv"'))
    before = state(home / "job")
    assert run(["make", str(home / "tree.toml"), "--out", str(home / "job"), *SKIP]) == 2
    said = capsys.readouterr().err
    assert len(said.splitlines()) == 1
    assert says.replace("{leaf}", leaf).replace("{other}", other) in said
    assert state(home / "job") == before


BAD_FILES = {
    "control characters": ("names", b"Ada\nE\x07ve\n", "names must hold no control characters; see row 2"),
    "a hundred thousand": ("names", b"Ada\n" * 100_000, "holds 100000 names for 30 leaves: 99970 would have none"),
    "crossing": ("outline", '<path d="M0 0 L40 60 L40 0 L0 60 Z"/>', "the outline must not cross itself"),
    "larger than any plate": ("outline", '<path d="M0 0 L400 0 L200 900 Z"/>', "must fit a plate within its margins"),
    "no leaf of that form": ("forms", "rose", "each must be one of ovate, elliptic"),
}


@pytest.mark.parametrize("case", BAD_FILES)
def test_bad_input_is_told_before_anything_is_grown(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, case: str
) -> None:
    monkeypatch.setattr(import_module("armature.make"), "grow", lambda *_: pytest.fail("a tree was grown first"))
    kind, held, says = BAD_FILES[case]
    text = TEXT
    (tmp_path / "names.csv").write_bytes(held if isinstance(held, bytes) else b"Ada\n")
    if kind == "outline":
        svg = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="900mm" viewBox="0 0 400 900">{}</svg>'
        (tmp_path / "mine.svg").write_text(svg.format(held))
        text += '[leaves.outline]\nfiles = ["mine.svg"]\n'
    elif kind == "forms":
        text += f'[leaves.outline]\nforms = ["{held!s}"]\n'
    (tmp_path / "tree.toml").write_text(text, encoding="utf-8")
    assert run(["make", str(tmp_path / "tree.toml"), "--out", str(tmp_path / "job"), *SKIP]) == 2
    said = capsys.readouterr().err
    assert len(said.splitlines()) == 1
    assert says in said
    assert not (tmp_path / "job").exists()
