"""Tables that people write: CSV with a heading row, and a unit in each cell or at the end of its column's heading."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from armature.edge import CommissionError, FileError, Kind, UnitError, parse, read_bytes

LARGEST, _MOST = 20_000_000, 100_000  # bytes, rows
# A heading may carry the unit of all cells under it: along_mm, rise (in), lean_deg.
_HEADING = re.compile(r"^(?P<name>[a-z]+)(?:[ _]*[ _(]\s*(?P<unit>mm|cm|m|in|inch|ft|deg)\)?)?$")
_FIGURES = "0123456789.½¼¾⅛⅜⅝⅞"
# What can be meant by any figure of a tree: mm, deg.
_BOUNDS: dict[str, float] = {"length": 100_000.0, "angle": 360.0}


@dataclass(frozen=True)
class Row:
    """One row: where it stands, for messages, and its cells by column; lengths in mm, angles in degrees, None where a
    cell is empty."""

    where: str
    texts: Mapping[str, str]
    figures: Mapping[str, float | None]


def read_table(
    path: Path, columns: Mapping[str, Literal["text", "length", "angle"]], needed: tuple[str, ...]
) -> list[Row]:
    """Return the rows of a table; none where there is no such file.

    columns: what each column holds; others are refused, for a misspelled one would be lost. needed: columns that no row
    leaves empty. Raises FileError for a file that is no table, CommissionError naming line and column for a cell that
    cannot be read.
    """
    if not path.exists():
        return []
    lines = _lines(path)
    if not lines:
        return []
    heads = [_heading(path, text, columns) for text in lines[0][1]]
    names = [name for name, _ in heads]
    for name in needed:
        if name not in names:
            raise CommissionError(str(path), f"needs a column `{name}`: {', '.join(columns)}", ",".join(lines[0][1]))
    if len(set(names)) < len(names):
        raise CommissionError(str(path), "must name each column once", ",".join(lines[0][1]))
    if len(lines) - 1 > _MOST:
        raise CommissionError(str(path), f"has at most {_MOST:,} rows", len(lines) - 1)
    return [_row(path, number, cells, heads, columns, needed) for number, cells in lines[1:]]


def _lines(path: Path) -> list[tuple[int, list[str]]]:
    """Return the rows that are not empty, with the number of the line at which each ends."""
    try:
        text = read_bytes(path, LARGEST, "table of measures").decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FileError(path, "is not text in UTF-8") from None
    first = text.partition("\n")[0]
    split = next((sign for sign in (",", ";", "\t") if sign in first), ",")
    # An inch mark is no quotation mark: 12 1/4" stands in a cell as it is.
    reader = csv.reader(text.splitlines(), delimiter=split, quoting=csv.QUOTE_NONE)
    try:
        return [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as fault:
        raise FileError(path, f"cannot be read as a table: {fault}") from None


def _heading(path: Path, text: str, columns: Mapping[str, str]) -> tuple[str, str]:
    match = _HEADING.match(text.strip().strip('"').lower())
    if match is None or match["name"] not in columns:
        raise CommissionError(str(path), f"has columns {', '.join(columns)} and no others", text.strip())
    return match["name"], match["unit"] or ""


def _row(
    path: Path,
    number: int,
    cells: list[str],
    heads: list[tuple[str, str]],
    columns: Mapping[str, Literal["text", "length", "angle"]],
    needed: tuple[str, ...],
) -> Row:
    where = f"{path}: line {number}"
    if len(cells) > len(heads):
        raise CommissionError(where, f"has {len(cells)} cells under {len(heads)} headings", ",".join(cells))
    texts: dict[str, str] = dict.fromkeys((name for name, _ in heads), "")
    figures: dict[str, float | None] = {}
    for (name, unit), cell in zip(heads, cells, strict=False):
        text, kind = cell.strip(), columns[name]
        texts[name] = text
        if kind != "text":
            figures[name] = _figure(f"{where}: {name}", text, unit, kind) if text else None
    for name in needed:
        if not texts[name]:
            raise CommissionError(f"{where}: {name}", "must not be empty")
    return Row(where, texts, figures)


def _figure(where: str, text: str, unit: str, kind: Kind) -> float:
    # Letters and signs that are no figure are a unit of its own.
    bare = not re.search(r"[^\W\d_]", text) and text[-1] in _FIGURES
    try:
        value = parse(f"{text} {unit}" if bare and unit else text, kind)
    except UnitError as fault:
        raise CommissionError(where, str(fault), text) from None
    if abs(value) > _BOUNDS[kind]:
        bound = "100 m" if kind == "length" else "360 degrees"
        raise CommissionError(where, f"must be at most {bound}", text)
    return value
