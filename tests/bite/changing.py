"""The changes that can be made to the code, one place at a time."""

from __future__ import annotations

import ast
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

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

    def key(self, source: str) -> str:
        """Return what names it, whatever else moves in its file: the file, its line's text, and the change."""
        return f"{self.path}: {source.splitlines()[self.line - 1].strip()}: {self.old} -> {self.new}"

    def made(self, source: str) -> str:
        """Return the text of the file with the change in it."""
        return source[: self.start] + self.new + source[self.end :]


def places(house: Path, seed: int) -> list[Change]:
    """Return all changes of the house in an order drawn with the seed."""
    draw = random.Random(seed)
    every = []
    for path in sorted((house / "armature").rglob("*.py")):
        every += changes(path.relative_to(house).as_posix(), path.read_text("utf-8"), draw)
    draw.shuffle(every)
    return every


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
