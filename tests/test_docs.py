"""What README and the tutorial tell to type runs as it stands."""

import ast
import importlib
import re
import shlex
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from typer.core import TyperGroup

import armature
from armature.cli.app import run
from armature.commission import read
from armature.grow import grow

ROOT = Path(armature.__file__).parent.parent
PAGES = ("README.md", "DEVELOPERS.md", *sorted(f"docs/{page.name}" for page in (ROOT / "docs").glob("*.md")))
TUTORIAL = ROOT / "docs" / "first-hour.md"


def commands(page: Path) -> list[list[str]]:
    blocks = re.findall(r"```sh\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines() if line.startswith("armature ")]
    return [shlex.split(line)[1:] for line in lines]


def opened_and_closed(command: list[str]) -> None:
    """The easel as typed, but for a free port and no browser: its page comes, and ctrl-C puts it away."""
    line = [sys.executable, "-m", "armature", *command, "--port", "0", "--no-open"]
    with subprocess.Popen(line, stdout=subprocess.PIPE, text=True) as easel:
        assert easel.stdout is not None
        address = re.search(r"http://\S+", easel.stdout.readline())
        assert address
        browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        with browser.open(address[0], timeout=120) as page:
            assert b"The easel" in page.read()
        easel.send_signal(signal.SIGINT)
        assert "put away" in easel.stdout.read()
    assert easel.returncode == 0


def _with_fewer_twigs(file: Path) -> bool:
    """Make the page's preset a third of itself: every command runs all the same, in a third of the time."""
    text = file.read_text(encoding="utf-8")
    for key, number in {"branches": 6, "twigs": 24, "count": 40, "width": 350, "height": 440}.items():
        text, hits = re.subn(rf"^{key} = \d+", f"{key} = {number}", text, flags=re.MULTILINE)
        assert hits == 1, key
    file.write_text(text, encoding="utf-8")
    return True


def test_the_first_hour_runs_from_an_empty_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    typed, fewer = commands(TUTORIAL), False
    assert {"new", "grow", "show", "survey", "easel", "make", "judge", "refine", "rebuild"} == {
        line[0] for line in typed
    }
    for command in typed:
        if command[0] != "new" and not fewer:
            fewer = _with_fewer_twigs(tmp_path / "alder.toml")
        if command[0] == "easel":
            opened_and_closed(command)
        else:
            assert run(command) == 0, command
    assert (tmp_path / "alder.png").stat().st_size > 10_000
    assert (tmp_path / "survey-alder" / "sheet.png").is_file()
    assert (tmp_path / "alder-refined" / "design.json").is_file()
    for name in (
        "summary.md",
        "view/sheet.png",
        "look.md",
        "strength.md",
        "bars.csv",
        "shop/packet.pdf",
        "mesh/tree.glb",
    ):
        assert (tmp_path / "alder-job" / name).stat().st_size > 0, name


def test_the_five_lines_of_the_tutorial_grow() -> None:
    text = re.search(r"```toml\n(.*?)```", TUTORIAL.read_text(encoding="utf-8"), re.DOTALL)
    assert text
    tree = grow(read(text[1]))
    assert (tree.ranks == 4).sum() == 90


@pytest.mark.parametrize("page", PAGES)
def test_links_between_papers_lead_somewhere(page: str) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)\)", text):
        if "://" not in target:
            assert ((ROOT / page).parent / target).exists(), target


def test_every_preset_has_its_picture() -> None:
    for preset in (ROOT / "presets").glob("*.toml"):
        assert (ROOT / "renders" / f"{preset.stem}.png").is_file()


@pytest.mark.parametrize("page", PAGES)
def test_every_command_that_a_paper_prints_is_one_that_is_taken(page: str) -> None:
    """Named commands exist and take the options as typed; benches are modules with a main of their own."""
    import typer

    from armature.cli.app import app

    text = (ROOT / page).read_text(encoding="utf-8")
    every = typer.main.get_command(app)
    for line in re.findall(r"^(?:\.venv/bin/)?armature (.*?)(?:\s+#.*)?$", text, re.MULTILINE):
        words, command = shlex.split(line), every
        while isinstance(command, TyperGroup):
            command = command.commands[words.pop(0)]
        command.make_context("armature", words, resilient_parsing=False)
    for module in re.findall(r"python -m (tests\.bench\.\w+)", text):
        file = ROOT / f"{module.replace('.', '/')}.py"
        assert '__name__ == "__main__"' in file.read_text(encoding="utf-8"), module
    assert "python tests/" not in text


@pytest.mark.parametrize("page", PAGES)
def test_whatever_a_paper_imports_is_there(page: str) -> None:
    for block in re.findall(r"```python\n(.*?)```", (ROOT / page).read_text(encoding="utf-8"), re.DOTALL):
        for node in ast.walk(ast.parse(block)):
            if isinstance(node, ast.ImportFrom) and node.module is not None:
                module = importlib.import_module(node.module)
                assert [alias.name for alias in node.names if not hasattr(module, alias.name)] == [], page


def test_the_drawings_of_the_glossary_are_those_that_its_script_draws() -> None:
    import runpy

    script = runpy.run_path(str(ROOT / "docs" / "drawings" / "draw.py"))
    for name in script["DRAWINGS"]:
        assert (ROOT / "docs" / "drawings" / f"{name}.svg").read_text(encoding="utf-8") == script["drawn"](name)


def test_the_columns_that_the_glossary_names_are_columns_of_the_lists() -> None:
    from armature.files import bends_csv, joints_csv, members_csv
    from tests.trees import random_tree

    tree = random_tree(6, 1)
    lists = (joints_csv(tree), bends_csv(tree), members_csv(tree, tree.lengths, tree.lengths))
    columns = {name for text in lists for name in text.splitlines()[0].split(",")}
    named = re.findall(r"`(\w+_(?:mm|deg))`", (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8"))
    assert len(named) >= 17
    assert set(named) <= columns
