"""Lists that come back from the bench, read: grades of the cut leaves, what is stamped, any table with a header."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from armature.edge import CommissionError, read_bytes
from armature.leaves.naming.assigning import GRADES
from armature.leaves.naming.folding import folded
from armature.leaves.naming.names import LARGEST_LIST, cleaned, decoded

# A spare's label: `x`, the number of its design, and its own.
_SPARE = re.compile(r"x\d+-\d+")


def read_grades(file: Path, known: Sequence[str] = (), spares: Sequence[str] | None = None) -> dict[str, int]:
    """Return the grades of a CSV `leaf,grade` (scrap, wild, plain or best), by leaf tag or spare's label.

    known: tags of all leaves; where given, any other label that is no spare's is an error. spares: their labels; any
    label of that form where not given. A leaf may be named once.
    """
    tags, labels = frozenset(known), None if spares is None else frozenset(spares)
    grades: dict[str, int] = {}
    for number, (leaf, word) in _pairs(file, "leaf", "grade"):
        where = f"{file}: row {number}"
        if word.lower() not in GRADES:
            raise CommissionError(where, "grade must be scrap, wild, plain or best", word)
        is_spare = leaf in labels if labels is not None else bool(_SPARE.fullmatch(leaf))
        if tags and leaf not in tags and not is_spare:
            raise CommissionError(where, "no leaf or spare of that tag", leaf)
        if leaf in grades:
            raise CommissionError(where, f"{leaf} is graded twice; a leaf has one row", word)
        grades[leaf] = GRADES.index(word.lower())
    if not grades:
        raise CommissionError(str(file), "holds no grades under its header row leaf,grade")
    return grades


def read_stamped(file: Path, names: Sequence[str], tags: Sequence[str] = ()) -> dict[str, str]:
    """Return the names struck already by leaf tag, of a CSV `leaf,name`.

    Each must be on the list of names as often as it is struck, so that no struck leaf is given another name.
    """
    left = Counter(folded(name) for name in names)
    known = frozenset(tags)
    struck: dict[str, str] = {}
    for number, (leaf, name) in _pairs(file, "leaf", "name"):
        where = f"{file}: row {number}"
        if leaf in struck:
            raise CommissionError(where, f"{leaf} is stamped twice; a leaf has one row", name)
        if known and leaf not in known:
            raise CommissionError(where, f"{leaf} is stamped, and no leaf of that tag hangs on the tree", name)
        if not left[folded(name)]:
            rule = f"{leaf} is stamped with a name that leaves.names does not hold, or not so often"
            raise CommissionError(where, rule, name)
        left[folded(name)] -= 1
        struck[leaf] = name
    return struck


def read_pairs(file: Path, second: str) -> dict[str, str]:
    """Return the cells of column `second` by leaf tag of a CSV such as `leaf,name`; unlike rows are an error."""
    texts: dict[str, str] = {}
    for number, (leaf, text) in _pairs(file, "leaf", second):
        if texts.get(leaf, text) != text:
            raise CommissionError(f"{file}: row {number}", f"{leaf} has the {second} {texts[leaf]!r} already", text)
        texts[leaf] = text
    return texts


def unguarded(text: str) -> str:
    """Return a cell as it was before it was guarded against being taken for a formula.

    >>> unguarded("'=1+1"), unguarded("'tis")
    ('=1+1', "'tis")
    """
    return text[1:] if text[:1] == "'" and text.lstrip("'").startswith(("=", "+", "-", "@")) else text


def read_table(file: Path, columns: Sequence[str]) -> list[tuple[int, tuple[str, ...]]]:
    """Return the cells of the columns named, "" where a row is short, with the number of each row.

    Raises CommissionError where the header row lacks one, FileError where the file cannot be read.
    """
    rows = _cells(file)
    heads = [cell.lower() for cell in rows[0][1]] if rows else []
    if missing := [column for column in columns if column not in heads]:
        rule = f"needs a header row with the columns {','.join(columns)}; {missing[0]} is missing"
        raise CommissionError(str(file), rule, ",".join(heads)[:80])
    places = [heads.index(column) for column in columns]
    return [(number, tuple(row[k] if k < len(row) else "" for k in places)) for number, row in rows[1:]]


def _pairs(file: Path, first: str, second: str) -> list[tuple[int, tuple[str, str]]]:
    """Rows of two columns with their numbers; a row whose second cell is empty says nothing yet."""
    rows = _cells(file)
    heads = [cell.lower() for cell in rows[0][1]] if rows else []
    if first not in heads or second not in heads:
        rule = f"needs a header row with the columns {first} and {second}"
        raise CommissionError(str(file), rule)
    a, b = heads.index(first), heads.index(second)
    pairs = []
    for number, row in rows[1:]:
        if max(a, b) >= len(row) or (row[b] and not row[a]):
            raise CommissionError(f"{file}: row {number}", f"needs {first} and {second}")
        if row[b]:
            pairs.append((number, (row[a], row[b])))
    return pairs


def _cells(file: Path) -> list[tuple[int, list[str]]]:
    text, _ = decoded(read_bytes(file, LARGEST_LIST, "list of leaves"))
    head = text.splitlines()[0] if text.strip() else ""
    sign = ";" if ";" in head else "\t" if "\t" in head else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign)
    try:
        return [(reader.line_num, [unguarded(cleaned(cell)) for cell in row]) for row in reader if any(row)]
    except csv.Error as error:
        raise CommissionError(f"{file}: row {reader.line_num}", f"is no row of a CSV file: {error}") from None
