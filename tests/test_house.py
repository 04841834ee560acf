"""The README's commands and the checks that are run are the same ones, and what the package needs travels with it."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
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


def test_whatever_package_is_imported_is_asked_for() -> None:
    """A package that is only there because another asks for it goes when that one no longer does."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = [line for name, lines in project["optional-dependencies"].items() if name != "test" for line in lines]
    asked = {re.split(r"[<>=; \[]", line)[0].lower() for line in [*project["dependencies"], *extras]}
    found = packages_distributions()
    missing = {
        name
        for name in _imported() - set(sys.stdlib_module_names) - {"armature"}
        if asked.isdisjoint({each.lower().replace("_", "-") for each in found.get(name, [name])})
    }
    assert missing == set()


def _imported() -> set[str]:
    """Return the first name of every import of the package, wherever in it."""
    names: set[str] = set()
    for path in (ROOT / "armature").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                names.add(str(node.module).split(".")[0])
    return names
