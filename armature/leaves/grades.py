"""What comes back from the bench: grades of the cut leaves, and what is stamped; names and cutting follow it."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from armature.commission import Commission
from armature.errors import CommissionError, FileError
from armature.leaves.assigning import BEST, GRADES, PLAIN, SCRAP, Assignment, Places, assign_names
from armature.leaves.names import cleaned, decoded

_UNGRADED = PLAIN


@dataclass(frozen=True)
class Bench:
    """What the bench has said so far.

    grades: 0 scrap, 1 plain, 2 best, by leaf tag or spare's label. stamped: name by tag, for leaves struck already.
    """

    grades: Mapping[str, int] = field(default_factory=dict)
    stamped: Mapping[str, str] = field(default_factory=dict)

    def grades_of(self, tags: Sequence[str] | NDArray[np.str_]) -> NDArray[np.int64]:
        """Return the grade of each leaf (L,); leaves not graded yet count as plain."""
        return np.array([self.grades.get(str(tag), _UNGRADED) for tag in tags], dtype=np.int64)

    def joined(self, other: Bench) -> Bench:
        """Return both together; the other's word is the later one."""
        return Bench({**self.grades, **other.grades}, {**self.stamped, **other.stamped})


@dataclass(frozen=True, eq=False)
class Regraded:
    """What the bench's grades change. L leaves, N names.

    assignment: where each name is now. moved: (name, from tag, to tag). swapped: (leaf, spare) where a spare takes a
    scrapped leaf's place. again: leaves to cut again by design number. waiting: (name, tag) of names whose leaf
    has to be cut again first.
    """

    assignment: Assignment
    moved: tuple[tuple[str, str, str], ...]
    swapped: tuple[tuple[str, str], ...]
    again: Mapping[int, int]
    waiting: tuple[tuple[str, str], ...]


def read_bench(commission: Commission, earlier: Bench | None = None) -> Bench:
    """Return the grades and stamped leaves that the commission names, over those of an earlier run."""
    lettering = commission.leaves.lettering
    bench = earlier or Bench()
    if lettering.grades:
        bench = bench.joined(Bench(read_grades(commission.file(lettering.grades))))
    if lettering.stamped:
        bench = bench.joined(Bench({}, read_stamped(commission.file(lettering.stamped))))
    return bench


def read_grades(file: Path, known: Sequence[str] = ()) -> dict[str, int]:
    """Return the grades of a CSV `leaf,grade` (scrap, plain or best), by leaf tag or spare's label.

    known: all labels there are; where given, any other is an error. A leaf given twice must have the same grade twice.
    """
    labels = set(known)
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


def read_stamped(file: Path) -> dict[str, str]:
    """Return the names of a CSV `leaf,name` of leaves that are stamped already, by leaf tag."""
    found: dict[str, str] = {}
    for number, (leaf, name) in _pairs(file, "leaf", "name"):
        if leaf in found and found[leaf] != name:
            raise CommissionError(f"{file}: row {number}", f"{leaf} is stamped with {found[leaf]!r} already", name)
        found[leaf] = name
    return found


def unguarded(text: str) -> str:
    """Return a cell as it was before it was guarded against being taken for a formula.

    >>> unguarded("'=1+1")
    '=1+1'
    """
    return text[1:] if text[:1] == "'" and text[1:2] in {"=", "+", "-", "@", "\t", "\r", "\n"} else text


def regraded(
    bench: Bench,
    texts: Sequence[str],
    now: NDArray[np.int64],
    places: Places,
    numbers: NDArray[np.int64],
    spares: Mapping[str, int],
    panels: NDArray[np.float64],
    heights: NDArray[np.float64],
    lines: int,
) -> Regraded:
    """Return what grades change: spares stand in for scrapped leaves, names leave those that none replaces.

    now: (N,) row of each name's leaf, -1 for none. places: with the grades of the bench. numbers: (L,) design numbers.
    spares: design number by label of each spare. A name stays where its leaf is good or a spare stands in; a name for
    which no other leaf is free waits for the leaf that is cut again.
    """
    stand_ins = _stand_ins(bench, places, numbers, spares)
    swapped = tuple((str(places.tags[row]), label) for row, label in sorted(stand_ins.items()))
    gone = {int(r) for r in np.flatnonzero(places.grades == SCRAP)} - set(stand_ins)
    grades = places.grades.copy()
    for row, label in stand_ins.items():
        grades[row] = bench.grades.get(label, PLAIN)
    usable = Places(places.tags, places.designs, places.groups, places.points, places.worth, grades)
    again: dict[int, int] = {}
    for row in sorted(gone):
        again[int(numbers[row])] = again.get(int(numbers[row]), 0) + 1
    homeless = [n for n in range(len(texts)) if int(now[n]) in gone]
    leaves, waiting = now.copy(), []
    room = int(_free(usable, now, panels).sum())
    ready = homeless[:room]
    if ready:
        kept = {n: int(now[n]) for n in range(len(texts)) if n not in set(ready) and now[n] >= 0}
        index = [*kept, *ready]
        moved_to = assign_names(
            [texts[n] for n in index], [""] * len(index), usable, panels, heights, lines,
            {k: kept[n] for k, n in enumerate(kept)},
        )  # fmt: skip
        for k, n in enumerate(index):
            leaves[n] = moved_to.leaves[k] if moved_to.leaves[k] >= 0 else now[n]
    waiting = [(texts[n], str(places.tags[leaves[n]])) for n in homeless if int(leaves[n]) in gone]
    moved = [(texts[n], str(places.tags[now[n]]), str(places.tags[leaves[n]])) for n in homeless if leaves[n] != now[n]]
    return Regraded(Assignment(leaves, ()), tuple(moved), swapped, again, tuple(waiting))


def _free(places: Places, now: NDArray[np.int64], panels: NDArray[np.float64]) -> NDArray[np.bool_]:
    free = (places.grades > SCRAP) & panels[places.designs].all(axis=1)
    free[now[now >= 0]] = False
    return np.asarray(free)


def _stand_ins(
    bench: Bench, places: Places, numbers: NDArray[np.int64], spares: Mapping[str, int]
) -> dict[int, str]:
    """Spare by row of the scrapped leaf it replaces: named places first, best spares first; scrapped spares never."""
    by_design: dict[int, list[str]] = {}
    usable = [label for label in spares if bench.grades.get(label, PLAIN) > SCRAP]
    for label in sorted(usable, key=lambda s: (bench.grades.get(s, PLAIN) != BEST, spares[s], len(s), s)):
        by_design.setdefault(spares[label], []).append(label)
    found: dict[int, str] = {}
    for row in np.flatnonzero(places.grades == SCRAP).tolist():
        waiting = by_design.get(int(numbers[row]))
        if waiting:
            found[row] = waiting.pop(0)
    return found


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
