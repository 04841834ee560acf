import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from armature import __version__
from armature.cli.app import run
from armature.commission import read

HEAVY = (
    "numpy",
    "scipy",
    "pydantic",
    "trimesh",
    "pyvista",
    "vtkmodules",
    "matplotlib",
    "shapely",
    "networkx",
    "ezdxf",
    "rich",
)


def test_help_names_the_commands(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--help"]) == 0
    shown = capsys.readouterr().out
    assert "Usage: armature" in shown
    assert "new" in shown
    assert run([]) == 0
    assert capsys.readouterr().out == shown


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"armature {__version__}\n"


def test_help_loads_nothing_heavy() -> None:
    # What keeps `armature --help` under 0.3 s: a library that is not loaded costs no time.
    code = f"import sys, armature.cli.app as c; c.run(['--help']); print(sorted(set(sys.modules) & set({HEAVY!r})))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["nwe"], "No such command 'nwe'"),
        (["new", "--bad"], "No such option: --bad"),
        (["new", "gardn"], "did you mean garden?"),
        (["new", "garden", "--out", "/nowhere/tree.toml"], "/nowhere/tree.toml: cannot be written"),
        (["new", "garden", "--out"], "requires an argument"),
    ],
)
def test_wrong_input_leaves_with_two_and_one_line(
    arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == 2
    shown = capsys.readouterr()
    assert says in shown.err
    assert shown.err.startswith("armature: ")
    assert len(shown.err.splitlines()) == 1
    assert shown.out == ""


def test_new_starts_a_commission_and_never_overwrites(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "mine.toml"
    assert run(["new", "maquette", "--out", str(file)]) == 0
    assert f"wrote {file}" in capsys.readouterr().out
    assert read(file).growth.twigs == 60
    before = file.read_bytes()
    assert run(["new", "garden", "--out", str(file)]) == 2
    assert "exists already" in capsys.readouterr().err
    assert file.read_bytes() == before


def test_new_writes_here_under_the_presets_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["new"]) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["civic-names.csv", "civic.toml"]


def test_new_lists_the_presets(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["new", "--list"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == [
        "civic",
        "courtyard",
        "espalier",
        "garden",
        "linden",
        "maquette",
        "monumental",
        "weeping",
    ]


def told(arguments: list[str], **how: Any) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run([sys.executable, "-m", "armature", *arguments], stderr=subprocess.PIPE, check=False, **how)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the device that is always full is one of Linux")
def test_output_that_finds_no_room_is_told_in_one_line() -> None:
    with open("/dev/full", "w") as full:
        done = told(["new", "--list"], stdout=full)
    assert done.returncode == 1
    assert done.stderr == b"armature: what is to be said cannot be written: No space left on device\n"


def test_a_reader_that_has_enough_ends_the_run_without_a_word() -> None:
    give, take = os.pipe()
    os.close(give)
    done = told(["new", "--list"], stdout=take)
    os.close(take)
    assert (done.returncode, done.stderr) == (1, b"")


def test_a_title_in_letters_that_the_terminal_lacks_ends_no_run(tmp_path: Path) -> None:
    text = 'title = "日本の木"\ncanopy.height = "3 m"\ngrowth = {limbs = 2, branches = 6, twigs = 24}\n'
    (tmp_path / "tree.toml").write_text(text, encoding="utf-8")
    plain = dict(os.environ, PYTHONIOENCODING="ascii")
    done = told(["grow", str(tmp_path / "tree.toml")], stdout=subprocess.PIPE, env=plain)
    assert (done.returncode, done.stderr) == (0, b"")
    assert done.stdout.startswith(b"\\u65e5\\u672c")


def test_a_run_stopped_by_hand_says_so(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    def stopped() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("armature.commission.preset_paths", stopped)
    assert run(["new", "--list"]) == 1
    assert capsys.readouterr().err.strip() == "armature: stopped"


def test_a_run_stopped_while_it_loads_says_so() -> None:
    code = """
import sys

class Stop:
    def find_spec(self, name, path=None, target=None):
        if name == "armature.cli":
            raise KeyboardInterrupt

sys.meta_path.insert(0, Stop())
from armature.__main__ import main
main()
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (1, "armature: stopped\n")


def test_the_module_is_the_command_line() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "armature", "new", "gardn"], capture_output=True, text=True, check=False
    )
    assert done.returncode == 2
    assert done.stderr.count("\n") == 1
