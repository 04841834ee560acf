"""What the page on the job folder tells: files with when they stand there, and the columns of each CSV."""

from __future__ import annotations

import csv
import re
from pathlib import Path

PAGE = (Path(__file__).parents[2] / "docs" / "job-folder.md").read_text("utf-8")
_HEAD = re.compile(r"^(?:#{2,3} |\*\*)([\w/-]+\.csv)(?:$|\*\*)")
_ROW = re.compile(r"^\|((?: ?`[^`|]+`,?)+) \|")


def files_told() -> dict[str, str]:
    """Return when each file stands in a folder, by its pattern; empty where every run writes it."""
    table = PAGE[PAGE.index("| file | holds | when |") : PAGE.index("## How it is written")]
    rows = [line.split("|") for line in table.splitlines() if line.startswith("| `")]
    return {name: row[3].strip() for row in rows for name in re.findall(r"`([^`]+)`", row[1])}


def columns_told() -> dict[str, set[str]]:
    """Return the columns that the page tells of each CSV."""
    told: dict[str, set[str]] = {}
    here: set[str] = set()
    for line in PAGE.splitlines():
        if head := _HEAD.match(line):
            here = told.setdefault(head[1], set())
        elif line.startswith("## "):
            here = set()
        elif row := _ROW.match(line):
            here |= set(re.findall(r"`([^`]+)`", row[1]))
    return told


def strangers(folder: Path, carried: set[str]) -> list[str]:
    """Return a line for each file or column of a folder that the page does not tell, or tells and is not there.

    carried: files that the commission names.
    """
    told, columns = files_told(), columns_told()
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    names = {re.sub(r"-\d\d\.", "-NN.", path.relative_to(folder).as_posix()) for path in paths} - carried
    said = [f"{name}: not told" for name in sorted(names - told.keys())]
    said += [f"{name}: told, not there" for name, when in told.items() if not when and name not in names]
    for path in paths:
        name = path.relative_to(folder).as_posix()
        if path.suffix == ".csv" and name not in carried:
            with path.open(encoding="utf-8", newline="") as lines:
                header = {re.sub(r"^line_\d+$", "line_N", column) for column in next(csv.reader(lines))}
            odd = header ^ columns.get(name, set())
            said += [f"{name}: {column}: {'not told' if column in header else 'not there'}" for column in sorted(odd)]
    return said
