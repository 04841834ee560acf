"""What comes back from the bench: grades of the cut leaves, and what is stamped."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from armature.commission import Commission
from armature.errors import CommissionError, FileError
from armature.leaves.assigning import GRADES, PLAIN, SCRAP
from armature.leaves.names import cleaned, decoded


@dataclass(frozen=True)
class Bench:
    """What the bench has said so far.

    grades: 0 scrap, 1 plain, 2 best, by leaf tag or spare's label. stamped: name by tag, for leaves struck already.
    held: name by tag as last assigned; these stay where they can. swaps: label of the spare that stands in, by tag.
    """

    grades: Mapping[str, int] = field(default_factory=dict)
    stamped: Mapping[str, str] = field(default_factory=dict)
    held: Mapping[str, str] = field(default_factory=dict)
    swaps: Mapping[str, str] = field(default_factory=dict)

    def grades_of(self, tags: Iterable[str]) -> NDArray[np.int64]:
        """Return the grade of each leaf (L,); leaves not graded yet count as plain."""
        return np.array([self.grades.get(str(tag), PLAIN) for tag in tags], dtype=np.int64)

    def kept(self) -> dict[str, str]:
        """Return the names that stay by leaf tag: stamped ones always, assigned ones unless their leaf is scrap."""
        good = {tag: name for tag, name in self.held.items() if self.grades.get(tag, PLAIN) > SCRAP}
        return {**good, **self.stamped}


def read_bench(commission: Commission, earlier: Bench | None = None) -> Bench:
    """Return the grades and stamped leaves that the commission names, over those of an earlier run."""
    lettering = commission.leaves.lettering
    bench = earlier or Bench()
    if lettering.grades:
        bench = replace(bench, grades={**bench.grades, **read_grades(commission.file(lettering.grades))})
    if lettering.stamped:
        bench = replace(bench, stamped={**bench.stamped, **read_pairs(commission.file(lettering.stamped), "name")})
    return bench


def read_grades(file: Path, known: Sequence[str] = ()) -> dict[str, int]:
    """Return the grades of a CSV `leaf,grade` (scrap, plain or best), by leaf tag or spare's label.

    known: all labels there are; where given, any other is an error. A leaf given twice must have the same grade twice.
    """
    labels = frozenset(known)
    found: dict[str, int] = {}
    for number, (leaf, word) in _pairs(file, "leaf", "grade"):
        where = f"{file}: row {number}"
        if word.lower() not in GRADES:
            raise CommissionError(where, "grade must be scrap, plain or best", word)
        if labels and leaf not in labels:
            raise CommissionError(where, "no leaf or spare of that tag", leaf)
        grade = GRADES.index(word.lower())
        if found.get(leaf, grade) != grade:
            raise CommissionError(where, f"{leaf} is graded twice, unlike", word)
        found[leaf] = grade
    return found


def read_pairs(file: Path, second: str) -> dict[str, str]:
    """Return the cells of column `second` by leaf tag of a CSV such as `leaf,name`; unlike rows are an error."""
    found: dict[str, str] = {}
    for number, (leaf, text) in _pairs(file, "leaf", second):
        if found.get(leaf, text) != text:
            raise CommissionError(f"{file}: row {number}", f"{leaf} has the {second} {found[leaf]!r} already", text)
        found[leaf] = text
    return found


def unguarded(text: str) -> str:
    """Return a cell as it was before it was guarded against being taken for a formula.

    >>> unguarded("'=1+1")
    '=1+1'
    """
    return text[1:] if text[:1] == "'" and text[1:2] in {"=", "+", "-", "@", "\t", "\r", "\n"} else text


def _pairs(file: Path, first: str, second: str) -> list[tuple[int, tuple[str, str]]]:
    try:
        text, _ = decoded(file.read_bytes())
    except OSError as error:
        raise FileError(file, f"cannot be read ({error.strerror})") from error
    head = text.splitlines()[0] if text.strip() else ""
    sign = ";" if ";" in head else "\t" if "\t" in head else ","
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=sign)
    rows = [(reader.line_num, [unguarded(cleaned(cell)) for cell in row]) for row in reader if any(row)]
    heads = [cell.lower() for cell in rows[0][1]] if rows else []
    if first not in heads or second not in heads:
        raise CommissionError(str(file), f"needs a header row with the columns {first} and {second}", ",".join(heads))
    a, b = heads.index(first), heads.index(second)
    found = []
    for number, row in rows[1:]:
        if max(a, b) >= len(row):
            raise CommissionError(f"{file}: row {number}", f"needs {first} and {second}", ",".join(row))
        if row[a] and row[b]:
            found.append((number, (row[a], row[b])))
    return found
