"""Which blocks of the code run: a copy of the house in which each block marks that it was entered.

A block is a run of statements without a branch between them. Marks are bytes of one file that is mapped into the memory
of every process of a test, so that children which it starts, or kills, leave their marks as well.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

_MARK = "__bite__"
_TAKEN_IN = """\
import mmap as _mmap
import os as _os
_file = _os.environ.get("BITE_MARKS")
if _file:
    with open(_file, "r+b") as _opened:
        MARKS = _mmap.mmap(_opened.fileno(), 0)
else:
    MARKS = bytearray({count})
"""
_Made = ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef
_BRANCHING = (ast.If, ast.For, ast.While, ast.Try, ast.With, ast.Match, ast.AsyncFor, ast.AsyncWith)


@dataclass(frozen=True)
class Block:
    """One block: file, first and last line, and the outermost function or method's name, empty outside of any."""

    path: str
    first: int
    last: int
    within: str


def marked(house: Path) -> list[Block]:
    """Turn a copy of the house into one whose blocks mark that they run, and return the blocks in order of marks."""
    blocks: list[Block] = []
    for path in sorted((house / "armature").rglob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        maker = _Marker(path.relative_to(house).as_posix(), blocks)
        maker.inside(tree.body, "", module=True)
        path.write_text(ast.unparse(ast.fix_missing_locations(tree)) + "\n", "utf-8")
    (house / "bite_marks.py").write_text(_TAKEN_IN.format(count=len(blocks)), "utf-8")
    return blocks


class _Marker:
    def __init__(self, path: str, blocks: list[Block]) -> None:
        self.path, self.blocks = path, blocks

    def inside(self, body: list[ast.stmt], within: str, module: bool = False) -> None:
        """Put marks into a list of statements, which may be a module's, and into all lists inside of it."""
        for each in body:
            if isinstance(each, _Made):
                self._made(each, within)
            else:
                for inner in _lists(each):
                    self.inside(inner, within)
                    if within:
                        self._begin(inner, within)
        if module:
            body.insert(_after_head(body), ast.parse(f"from bite_marks import MARKS as {_MARK}").body[0])

    def _made(self, node: _Made, within: str) -> None:
        name = f"{within}.{node.name}" if within else node.name
        if isinstance(node, ast.ClassDef):
            for each in node.body:
                if isinstance(each, _Made):
                    self._made(each, name)
        else:
            self.inside(node.body, name)
            self._begin(node.body, name)

    def _begin(self, body: list[ast.stmt], within: str) -> None:
        """Begin a block at the head of the list, and one after each statement that may branch off."""
        begins = [0 if not _is_text(body[0]) or len(body) == 1 else 1]
        begins += [at + 1 for at, each in enumerate(body[:-1]) if isinstance(each, _BRANCHING) and at + 1 > begins[0]]
        for at, until in reversed(list(zip(begins, [*begins[1:], len(body)], strict=True))):
            first, last = body[at].lineno, int(body[until - 1].end_lineno or 0)
            self.blocks.append(Block(self.path, first, last, within))
            body.insert(at, ast.parse(f"{_MARK}[{len(self.blocks) - 1}] = 1").body[0])


def _lists(node: ast.stmt) -> Iterator[list[ast.stmt]]:
    for name in ("body", "orelse", "finalbody"):
        if inner := getattr(node, name, None):
            yield inner
    for each in [*getattr(node, "handlers", []), *getattr(node, "cases", [])]:
        yield each.body


def _is_text(node: ast.stmt) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)


def _after_head(body: list[ast.stmt]) -> int:
    at = 1 if body and _is_text(body[0]) else 0
    while at < len(body) and isinstance(body[at], ast.ImportFrom) and getattr(body[at], "module", "") == "__future__":
        at += 1
    return at


def carrying(before: list[Block], now: list[Block]) -> dict[int, set[int]]:
    """Return for each block of an earlier house those that it is now: by its place in a function of the same shape,
    all of the function where its shape is another, all of its room where there is no such function any more."""
    old, new = _by_function(before), _by_function(now)
    rooms: dict[str, set[int]] = {}
    for (path, _), places in new.items():
        rooms.setdefault(path.rpartition("/")[0], set()).update(places)
    told: dict[int, set[int]] = {}
    for key, places in old.items():
        there = new.get(key)
        for at, place in enumerate(places):
            if there is None:
                told[place] = {each for each in rooms.get(key[0].rpartition("/")[0], ()) if _is_new(now[each], old)}
            else:
                told[place] = {there[at]} if len(there) == len(places) else set(there)
    return told


def _is_new(block: Block, old: dict[tuple[str, str], list[int]]) -> bool:
    return (block.path, block.within) not in old


def _by_function(blocks: list[Block]) -> dict[tuple[str, str], list[int]]:
    told: dict[tuple[str, str], list[int]] = {}
    for at, block in enumerate(blocks):
        told.setdefault((block.path, block.within), []).append(at)
    return told


def running(path: str, line: int, blocks: list[Block], texts: dict[str, str]) -> list[int]:
    """Return the blocks that run a line: its own; of a line that runs as its module is taken in, users of its names."""
    here = [at for at, block in enumerate(blocks) if block.path == path and block.first <= line <= block.last]
    if here:
        return [min(here, key=lambda at: blocks[at].last - blocks[at].first)]
    names = _names_at(path, line, texts)
    using = {key: _users(text, names) for key, text in texts.items() if any(name in text for name in names)}
    return [
        at
        for at, block in enumerate(blocks)
        if any(block.first <= used <= block.last for used in using.get(block.path, ()))
        or (block.path == path and block.within.split(".")[0] in names)
    ]


def _names_at(path: str, line: int, texts: dict[str, str]) -> set[str]:
    """Return the names that stand for what the line makes, and for what is made of it as the module is taken in."""
    body = ast.parse(texts[path]).body
    own = [
        each
        for each in body
        if each.lineno - len(getattr(each, "decorator_list", [])) <= line <= (each.end_lineno or 0)
    ]
    names = {name for each in own for name in _told(each)}
    more = True
    while more:
        further = {name for each in body if _uses(each, names) for name in _told(each)}
        more = not further <= names
        names |= further
    return names


def _told(node: ast.stmt) -> Iterator[str]:
    if isinstance(node, _Made):
        yield node.name
    elif not isinstance(node, ast.Import | ast.ImportFrom):
        for each in ast.walk(node):
            if isinstance(each, ast.Name) and isinstance(each.ctx, ast.Store):
                yield each.id


def _uses(node: ast.stmt, names: set[str]) -> bool:
    """Return whether what runs of a statement as its module is taken in uses one of the names."""
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
        parts: list[ast.AST] = [*node.decorator_list, *node.args.defaults, *(d for d in node.args.kw_defaults if d)]
    elif isinstance(node, ast.ClassDef):
        parts = [each for each in node.body if not isinstance(each, _Made)]
    else:
        parts = [node]
    return any(isinstance(each, ast.Name) and each.id in names for part in parts for each in ast.walk(part))


def _users(text: str, names: set[str]) -> list[int]:
    named = (each for each in ast.walk(ast.parse(text)) if isinstance(each, ast.Name | ast.Attribute))
    return [each.lineno for each in named if (each.id if isinstance(each, ast.Name) else each.attr) in names]
