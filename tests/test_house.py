"""The README's commands and the checks that are run are the same ones, and what the package needs travels with it."""

import re
import tomllib
from pathlib import Path

import armature

ROOT = Path(armature.__file__).parent.parent


def test_checks_run_the_readmes_own_test_command() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    pattern = re.search(r"grep -m 1 -E '([^']+)' README\.md", script)
    assert pattern
    found = re.findall(pattern[1], (ROOT / "README.md").read_text(encoding="utf-8"), re.MULTILINE)
    assert found == ["python3 -m venv .venv && .venv/bin/pip install -e '.[test]' && .venv/bin/python -m pytest"]
    assert 'step "$tests"' in script


def test_the_readme_grows_a_preset_that_is_there() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    commands = re.findall(r"^python3 -m venv .*armature make (\S+)", readme, re.MULTILINE)
    assert commands
    assert all((ROOT / command).is_file() for command in commands)


def test_presets_travel_inside_the_wheel() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    assert project["tool"]["hatch"]["build"]["targets"]["wheel"]["force-include"] == {"presets": "armature/presets"}
    assert project["project"]["requires-python"] == ">=3.11"
