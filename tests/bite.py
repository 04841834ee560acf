"""Whether the tests bite: change one place of the code at a time, run the tests that cover it, print what survives.

    python tests/bite.py 60 7              # 60 changes drawn with seed 7; an hour on two cores
    python tests/bite.py 60 7 --list       # only say which places would be changed

A change is one number by 10 % and more, one sign, one comparison turned round, one sine taken for a cosine or back. It
is made in a copy of the house; the test files that ran its line are then run there, those named like the module
first, until one fails. A change that no test sees is a survivor. Changes that alter nothing a person could see stand
in `bite_alike.toml` with the reason, and are listed apart.
Which test runs which line is measured once by coverage.py and kept in `.bite/` until a file of the house changes.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import os
import random
import shutil
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
KEPT = ROOT / ".bite"
ALIKE = Path(__file__).with_name("bite_alike.toml")
# A change that makes a test run for longer than this is seen: it hangs.
PATIENCE_S = 900.0

Place = Callable[[ast.expr], tuple[int, int]]
TURNED: dict[type[ast.cmpop], str] = {
    ast.Lt: ">=",
    ast.LtE: ">",
    ast.Gt: "<=",
    ast.GtE: "<",
    ast.Eq: "!=",
    ast.NotEq: "==",
}
SIGNS: dict[type[ast.operator], tuple[str, str]] = {
    ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*")
}  # fmt: skip
SHAPES = {"sin": "cos", "cos": "sin", "minimum": "maximum", "maximum": "minimum"}


@dataclass(frozen=True)
class Change:
    """One place of the code and what stands there instead: text from `start` to `end` of the file becomes `new`."""

    path: str
    line: int
    start: int
    end: int
    old: str
    new: str

    def told(self, source: str) -> str:
        """Return where it is, the line as it was, and what the change makes of it."""
        whole = source.splitlines()[self.line - 1].strip()
        return f"{self.path}:{self.line}: {self.old} -> {self.new}    in: {whole[:110]}"


def changes(path: str, source: str, draw: random.Random) -> list[Change]:
    """Return every change that can be made to one file, one for each place, drawn with `draw`."""
    starts = [0]
    for text in source.splitlines(keepends=True):
        starts.append(starts[-1] + len(text))

    def at(line: int, column: int) -> int:
        text = source[starts[line - 1] : starts[line]]
        return starts[line - 1] + len(text.encode()[:column].decode())

    def place(node: ast.expr) -> tuple[int, int]:
        return at(node.lineno, node.col_offset), at(int(node.end_lineno or 0), int(node.end_col_offset or 0))

    made = []
    for node in _counted(ast.parse(source)):
        for start, end, new in _turned(node, place, source, draw):
            made.append(Change(path, source.count("\n", 0, start) + 1, start, end, source[start:end], new))
    return made


def _counted(tree: ast.Module) -> Iterator[ast.AST]:
    """Yield the nodes that a change may be made to: no annotations, no texts, no type-only code."""
    waiting: list[ast.AST] = [tree]
    while waiting:
        node = waiting.pop()
        yield node
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns", "type_params"):
                continue
            waiting += [each for each in (value if isinstance(value, list) else [value]) if isinstance(each, ast.AST)]


def _turned(node: ast.AST, place: Place, source: str, draw: random.Random) -> Iterator[tuple[int, int, str]]:
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float) and not isinstance(node.value, bool):
        start, end = place(node)
        yield start, end, _other(node.value, draw)
    elif isinstance(node, ast.BinOp) and type(node.op) in SIGNS:
        old, new = SIGNS[type(node.op)]
        between = place(node.left)[1], place(node.right)[0]
        sign = source.find(old, *between)
        if sign >= 0 and "#" not in source[between[0] : sign]:
            yield sign, sign + 1, new
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        start, _ = place(node)
        yield start, start + 1, "+"
    elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in TURNED:
        first, last = place(node.left)[1], place(node.comparators[0])[0]
        text = source[first:last]
        old = text.strip(" ()\n")
        if old and "#" not in old:
            start = first + text.index(old)
            yield start, start + len(old), TURNED[type(node.ops[0])]
    elif isinstance(node, ast.Attribute) and node.attr in SHAPES:
        _, end = place(node)
        yield end - len(node.attr), end, SHAPES[node.attr]


def _other(value: float, draw: random.Random) -> str:
    share = draw.choice([-1.0, 1.0]) * draw.uniform(0.1, 0.5)
    if isinstance(value, int):
        return str(value + int(share / abs(share)) * max(1, round(abs(value * share))))
    return repr(value * (1.0 + share)) if value else repr(share)


def places(seed: int) -> list[Change]:
    """Return all changes of the house in an order drawn with the seed."""
    draw = random.Random(seed)
    every = []
    for path in sorted((ROOT / "armature").rglob("*.py")):
        every += changes(path.relative_to(ROOT).as_posix(), path.read_text("utf-8"), draw)
    draw.shuffle(every)
    return every


def covering() -> dict[str, dict[int, set[str]]]:
    """Return for each file and line the test files that run it: measured anew where a file has changed since."""
    stamp = hashlib.sha256()
    for path in sorted([*(ROOT / "armature").rglob("*.py"), *(ROOT / "tests").rglob("test_*.py")]):
        stamp.update(path.read_bytes())
    data = KEPT / f"{stamp.hexdigest()[:16]}.coverage"
    if not data.is_file():
        shutil.rmtree(KEPT, ignore_errors=True)
        KEPT.mkdir()
        print("measuring which test runs which line ...", flush=True)
        command = [sys.executable, "-m", "pytest", "-q", "--cov=armature", "--cov-context=test", "--cov-report="]
        subprocess.run(command, cwd=ROOT, env={**os.environ, "COVERAGE_FILE": str(data)}, check=False)
    return _lines(data)


def _lines(data: Path) -> dict[str, dict[int, set[str]]]:
    from coverage import CoverageData

    seen = CoverageData(str(data))
    seen.read()
    lines: dict[str, dict[int, set[str]]] = {}
    for file in seen.measured_files():
        by_line = seen.contexts_by_lineno(file)
        names = {line: {each.split("::")[0] for each in tests if "::" in each} for line, tests in by_line.items()}
        lines[Path(file).relative_to(ROOT).as_posix()] = names
    return lines


def nearest(path: str, tests: set[str]) -> list[str]:
    """Return test files, those that mirror the module first, then those of its room, then the rest."""
    own, room = Path(path).stem, Path(path).parts[1]

    def far(test: str) -> tuple[int, str]:
        name, folders = Path(test).stem, Path(test).parts
        return (0 if own in name else 1 if room in folders else 2, test)

    return sorted(tests, key=far)


def survives(change: Change, tests: list[str], house: Path) -> bool:
    """Return whether all tests pass although the change is made."""
    file = house / change.path
    source = file.read_text("utf-8")
    file.write_text(source[: change.start] + change.new + source[change.end :], "utf-8")
    try:
        return all(_pass(few, house) for few in (tests[:3], tests[3:12], tests[12:]) if few)
    finally:
        file.write_text(source, "utf-8")


def _pass(tests: list[str], house: Path) -> bool:
    command = [sys.executable, "-m", "pytest", "-x", "-q", "--no-header", "-p", "no:cacheprovider", *tests]
    if len(tests) <= 3:
        command += ["-n0"]
    environment = {**os.environ, "PYTHONPATH": str(house), "PYTHONDONTWRITEBYTECODE": "1"}
    try:
        done = subprocess.run(command, cwd=house, env=environment, capture_output=True, timeout=PATIENCE_S, check=False)
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0


def main() -> None:
    """Draw the changes, try each, and print the survivors."""
    asked = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    asked.add_argument("number", type=int)
    asked.add_argument("seed", type=int)
    asked.add_argument("--list", action="store_true", help="say which places would be changed, and try none")
    wanted = asked.parse_args()
    drawn = places(wanted.seed)[: wanted.number]
    sources = {change.path: (ROOT / change.path).read_text("utf-8") for change in drawn}
    if wanted.list:
        print("\n".join(change.told(sources[change.path]) for change in drawn))
        return
    alike = {row["place"]: row["reason"] for row in tomllib.loads(ALIKE.read_text("utf-8")).get("alike", [])}
    lines = covering()
    survivors: list[str] = []
    same: list[str] = []
    seen: list[str] = []
    with tempfile.TemporaryDirectory() as aside:
        house = Path(aside) / "house"
        hidden = shutil.ignore_patterns(".git", ".venv", ".bite", ".mypy_cache", ".ruff_cache", "__pycache__", "jobs")
        shutil.copytree(ROOT, house, ignore=hidden)
        for number, change in enumerate(drawn, 1):
            told = change.told(sources[change.path])
            tests = nearest(change.path, lines.get(change.path, {}).get(change.line, set()))
            lives = survives(change, tests, house)
            reason = alike.get(_key(change, sources[change.path]))
            (seen if not lives else same if reason else survivors).append(f"{told}  [{len(tests)} test files]")
            print(f"{number:3d} {'alike' if lives and reason else 'SURVIVES' if lives else 'seen'}  {told}", flush=True)
    print(f"\n{len(survivors)} of {len(drawn)} survive, {len(same)} more alter nothing that can be seen")
    print("\n".join(survivors))


def _key(change: Change, source: str) -> str:
    """Return what names a change, whatever else moves in its file: the file, its line's text, and the change."""
    return f"{change.path}: {source.splitlines()[change.line - 1].strip()}: {change.old} -> {change.new}"


if __name__ == "__main__":
    main()
