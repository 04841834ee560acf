"""Whether the tests bite: change one place of the code at a time, run the tests nearest to it, print what survives.

    python -m tests.bite 60 7               # 60 changes drawn with seed 7
    python -m tests.bite 60 7 --part 1/2    # every second of them, beside another process with 2/2
    python -m tests.bite 60 7 --list        # only say which places would be changed

A change is one number by 10 % and more, one sign, one comparison turned round, one sine taken for a cosine or back. It
is made in a copy of the house, and in a process that was split off from one that holds the whole house already: the
function's code is exchanged there; where the line runs when the module is taken in, a new process takes it in.
The tests that run, until one fails: those named like the module, those that take it in, its own examples, the figures
of `as_it_came`, then all of its room. A change that only a test of another room would see counts as a survivor.
Changes that alter nothing a person could see stand in `bite_alike.toml` with the reason, and are listed apart.
"""

from __future__ import annotations

import argparse
import ast
import importlib
import os
import random
import re
import shutil
import signal
import sys
import tempfile
import time
import tomllib
import traceback
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
ALIKE = Path(__file__).with_name("bite_alike.toml")
# A change that makes a test run for longer than this is seen: it hangs.
PATIENCE_S = 1800.0

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


def nearest(path: str, house: Path) -> list[str]:
    """Return the tests that are run for a change of one file, in their order: paths below the house."""
    module, room = Path(path).with_suffix("").parts, Path(path).parts[1]
    files = sorted(each.relative_to(house).as_posix() for each in (house / "tests").rglob("test_*.py"))
    texts = {each: (house / each).read_text("utf-8") for each in files}
    own = [each for each in files if Path(each).stem.removeprefix("test_") in (module[-1], f"cli_{module[-1]}")]
    taken = [each for each in files if re.search(rf"{re.escape('.'.join(module))}\b", texts[each])]
    whole = [each for each in files if "as_it_came" in each]
    about = [each for each in files if Path(each).parts[1] == room or f"_{room}" in each]
    # A helper of the tests that takes the module in is taken in by tests in its turn: those of its room.
    return list(dict.fromkeys([*own, *taken, path, *whole, *about]))


def seen_by(change: Change, house: Path) -> str:
    """Return the test that fails when the change is made, an empty text where all pass."""
    file = house / change.path
    source = file.read_text("utf-8")
    changed = source[: change.start] + change.new + source[change.end :]
    # A time of its own for each text: what was compiled of one within the same second must not be taken for another.
    stamp = file.stat().st_mtime + 10.0
    file.write_text(changed, "utf-8")
    os.utime(file, (stamp, stamp))
    try:
        return _failing(change, source, changed, house)
    finally:
        file.write_text(source, "utf-8")
        os.utime(file, (stamp + 10.0, stamp + 10.0))


def _failing(change: Change, source: str, changed: str, house: Path) -> str:
    """Return the test that fails in a process that is split off from this one and takes the change in."""
    tests = nearest(change.path, house)
    arguments = ["-x", "-q", "--no-header", "-n0", "-p", "no:cacheprovider", "--tb=no", *tests]
    # Plugins of packages that the house itself has taken in.
    arguments += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    told = house.parent / "told.txt"
    child = os.fork()
    if child == 0:
        try:
            _run(arguments, told, _exchanged(change.path, source, changed))
        except BaseException:
            traceback.print_exc()
        finally:
            os._exit(99)
    ended = _waited(child)
    lines = [line for line in told.read_text("utf-8", "replace").splitlines() if line.startswith(("FAILED", "ERROR"))]
    if ended in (0, -1):
        return "over the time" if ended else ""
    if ended in (1, 2) or -20 < ended < 0:
        return lines[0].split(" ")[1] if lines else f"ends with {ended}"
    last = told.read_text("utf-8", "replace")[-2000:]
    raise RuntimeError(f"{change.path}:{change.line}: the tests cannot be run, {ended}: {last}")


def _run(arguments: list[str], told: Path, exchanged: bool) -> None:
    os.setsid()
    log = os.open(told, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(log, 1)
    os.dup2(log, 2)
    if not exchanged:
        os.execv(sys.executable, [sys.executable, "-m", "pytest", *arguments])
    import pytest

    os._exit(int(pytest.main(arguments)))


def _waited(child: int) -> int:
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.1)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return -1


def _exchanged(path: str, source: str, changed: str) -> bool:
    """Exchange the code of the function that the change lies in; return whether it lies in one."""
    name = ".".join(Path(path).with_suffix("").parts).removesuffix(".__init__")
    module = sys.modules.get(name)
    if module is None:
        return False
    new = dict(_codes(compile(changed, str(module.__file__), "exec")))
    old = dict(_functions(module))
    was = dict(_codes(compile(source, str(module.__file__), "exec")))
    differ = [where for where, code in new.items() if code != was.get(where)]
    if not differ or any(where not in old for where in differ):
        return False
    for where in differ:
        old[where].__code__ = new[where]
    return True


def _codes(code: CodeType) -> Iterator[tuple[str, CodeType]]:
    """Yield the code of the module itself, under no name, and of each outermost function and method, by full name."""
    yield "", code.replace(co_consts=tuple(each for each in code.co_consts if not isinstance(each, CodeType)))
    for each in code.co_consts:
        if isinstance(each, CodeType):
            # A class is code with functions inside; its own lines run when the module is taken in.
            if each.co_flags & 0x1:
                yield each.co_qualname, each
            else:
                for name, inner in _codes(each):
                    yield name or f"{each.co_qualname}()", inner


def _functions(module: Any) -> Iterator[tuple[str, FunctionType]]:
    """Yield each function and method of a module with its full name, whatever it is wrapped in."""
    waiting = list(vars(module).values())
    while waiting:
        each = waiting.pop()
        each = getattr(each, "func", getattr(each, "fget", None)) or getattr(each, "__wrapped__", each)
        each = getattr(each, "__func__", each)
        if getattr(each, "__module__", None) != module.__name__:
            continue
        if isinstance(each, FunctionType):
            yield each.__qualname__, each
        elif isinstance(each, type):
            waiting += list(vars(each).values())


def taken_in(house: Path) -> None:
    """Take the whole house in, and all that it stands on, so that a process split off has it already."""
    os.chdir(house)
    os.environ |= {"PYTHONPATH": str(house), "PYTHONPYCACHEPREFIX": str(house / ".compiled")}
    sys.pycache_prefix = os.environ["PYTHONPYCACHEPREFIX"]
    sys.path[:] = [str(house), *(each for each in sys.path if each not in (str(ROOT), str(ROOT / "tests")))]
    for name in [each for each in sys.modules if each.split(".")[0] == "tests"]:
        del sys.modules[name]
    for path in sorted((house / "armature").rglob("*.py")):
        module = path.relative_to(house).with_suffix("").parts
        if module[-1] != "__main__":
            importlib.import_module(".".join(module).removesuffix(".__init__"))
    for name in ("pytest", "hypothesis", "pypdf", "openpyxl", "trimesh", "tests.as_it_came.figures"):
        importlib.import_module(name)


def main() -> None:
    """Draw the changes, try each, and print the survivors."""
    asked = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    asked.add_argument("number", type=int)
    asked.add_argument("seed", type=int)
    asked.add_argument("--part", default="1/1", help="of the changes, every so-manieth, from this one on")
    asked.add_argument("--list", action="store_true", help="say which places would be changed, and try none")
    wanted = asked.parse_args()
    first, step = map(int, wanted.part.split("/"))
    drawn = places(wanted.seed)[: wanted.number][first - 1 :: step]
    sources = {change.path: (ROOT / change.path).read_text("utf-8") for change in drawn}
    if wanted.list:
        print("\n".join(change.told(sources[change.path]) for change in drawn))
        return
    alike = {row["place"]: row["reason"] for row in tomllib.loads(ALIKE.read_text("utf-8")).get("alike", [])}
    ends: dict[str, list[str]] = {"seen": [], "alike": [], "SURVIVES": []}
    with tempfile.TemporaryDirectory() as aside:
        house = Path(aside) / "house"
        hidden = shutil.ignore_patterns(".git", ".venv", "renders", ".mypy_cache", ".ruff_cache", "__pycache__", "jobs")
        shutil.copytree(ROOT, house, ignore=hidden)
        taken_in(house)
        for change in drawn:
            source, begun = sources[change.path], time.monotonic()
            told, by = change.told(source), seen_by(change, house)
            end = "seen" if by else "alike" if _key(change, source) in alike else "SURVIVES"
            ends[end].append(told)
            print(f"{end:8s} {time.monotonic() - begun:4.0f} s  {told}    {by}", flush=True)
    print(
        f"\n{len(ends['SURVIVES'])} of {len(drawn)} survive, {len(ends['alike'])} more alter nothing that can be seen"
    )
    print("\n".join(ends["SURVIVES"]))


def _key(change: Change, source: str) -> str:
    """Return what names a change, whatever else moves in its file: the file, its line's text, and the change."""
    return f"{change.path}: {source.splitlines()[change.line - 1].strip()}: {change.old} -> {change.new}"


if __name__ == "__main__":
    main()
