"""Piles: cuts sorted by design and grade, counted and not tagged, and dealt to the leaves of the tree.

Names get the best cuts; wild ones are scattered through the crown with none beside another; which cut of a pile hangs
where is open until it is hung.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError
from armature.leaves.naming.assigning import BEST, GRADES, PLAIN, SCRAP, WILD
from armature.leaves.naming.grades import read_table

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
COLUMNS = ("design", "best", "plain", "wild", "scrap")
# Wild leaves keep this many leaf lengths from each other.
APART = 2.0
_GRADE = {"best": BEST, "plain": PLAIN, "wild": WILD, "scrap": SCRAP}


@dataclass(frozen=True)
class Pile:
    """How many cuts of one design lie in each bin."""

    best: int = 0
    plain: int = 0
    wild: int = 0
    scrap: int = 0

    @property
    def good(self) -> int:
        """Cuts that can hang."""
        return self.best + self.plain + self.wild

    def plus(self, other: Pile) -> Pile:
        """Return two piles as one."""
        return Pile(self.best + other.best, self.plain + other.plain, self.wild + other.wild, self.scrap + other.scrap)

    def less(self, grade: str, count: int) -> Pile:
        """Return the pile without cuts that were spoiled, from the next grade where the named one holds no more."""
        counts = {"best": self.best, "plain": self.plain, "wild": self.wild}
        lost = 0
        for each in (grade, "best", "plain", "wild"):
            take = min(counts.get(each, 0), count - lost)
            if take > 0:
                counts[each] -= take
                lost += take
        return Pile(counts["best"], counts["plain"], counts["wild"], self.scrap + count)


@dataclass(frozen=True, eq=False)
class Dealt:
    """grades (L,) of the cut that each leaf gets, scrap where none is left: to be cut again. left: cuts over,
    by design.
    again: leaves to cut again, by design. crowded: wild leaves nearer another than they should be."""

    grades: Ints
    left: Mapping[int, Pile]
    again: Mapping[int, int]
    crowded: int


def read_piles(file: Path, laid: Mapping[int, int] | None = None) -> dict[int, Pile]:
    """Return the piles of a CSV `design,best,plain,wild,scrap`, by number of design.

    laid: how many of each design were cut; where given, counts must add up to it. Raises CommissionError for a design
    that is none, one counted twice, or counts that do not add up.
    """
    piles: dict[int, Pile] = {}
    for number, row in read_table(file, COLUMNS):
        where = f"{file}: row {number}"
        if not all(
            cell.isascii() and cell.isdecimal() and len(cell) < 8 for cell in row[:1] + tuple(c or "0" for c in row[1:])
        ):
            raise CommissionError(where, "design and counts must be whole numbers, 0 and up", ",".join(row)[:60])
        design, *counts = (int(cell or 0) for cell in row)
        if laid is not None and design not in laid:
            raise CommissionError(where, "there is no such design", design)
        if design in piles:
            raise CommissionError(where, f"design {design} is counted twice; a design has one row", ",".join(row)[:60])
        if laid is not None and sum(counts) != laid[design]:
            rule = f"{laid[design]} of design {design} were cut, and the counts must add up to that"
            raise CommissionError(where, rule, sum(counts))
        piles[design] = Pile(*counts)
    if not piles:
        raise CommissionError(str(file), "holds no counts under its header row design,best,plain,wild,scrap")
    return piles


def deal(
    piles: Mapping[int, Pile], designs: Ints, named: NDArray[np.bool_], worth: Floats, points: Floats, length: float
) -> Dealt:
    """Return which grade of cut each of L leaves gets.

    designs: (L,) numbers. named: (L,) leaves that bear a name: the best cuts, then plain ones, wild ones last. worth:
    (L,), the worthiest names first. points: (L, 3) mm. Wild cuts go to leaves without a name at least two lengths of a
    leaf apart, as many as find room, more only where nothing else is left.
    """
    grades = np.full(len(designs), SCRAP, dtype=np.int64)
    rest = {d: Counter(best=p.best, plain=p.plain, wild=p.wild) for d, p in piles.items()}
    order = np.lexsort((np.arange(len(designs)), -worth))
    for row in order[named[order]].tolist():
        _take(grades, rest, row, int(designs[row]), ("best", "plain", "wild"))
    _scatter(grades, rest, designs, ~named, points, APART * length)
    for row in np.flatnonzero((grades == SCRAP) & ~named).tolist():
        _take(grades, rest, row, int(designs[row]), ("plain", "best", "wild"))
    again = Counter(designs[grades == SCRAP].tolist())
    left = {d: Pile(c["best"], c["plain"], c["wild"], piles[d].scrap) for d, c in rest.items()}
    return Dealt(grades, left, dict(sorted(again.items())), _crowded(grades, points, APART * length))


def _take(grades: Ints, rest: dict[int, Counter[str]], row: int, design: int, order: tuple[str, ...]) -> None:
    for grade in order:
        if rest.get(design, Counter())[grade] > 0:
            rest[design][grade] -= 1
            grades[row] = _GRADE[grade]
            return


def _scatter(
    grades: Ints, rest: dict[int, Counter[str]], designs: Ints, able: NDArray[np.bool_], points: Floats, apart: float
) -> None:
    """Give wild cuts to leaves as far from each other as they can be, no nearer than `apart` mm."""
    quota = {d: c["wild"] for d, c in rest.items() if c["wild"]}
    rows = np.flatnonzero(able & np.isin(designs, list(quota)) & (grades == SCRAP))
    if len(rows) == 0:
        return
    away = np.full(len(rows), np.inf)
    first = points[rows].mean(axis=0)
    away_first = np.sqrt(np.sum((points[rows] - first) ** 2, axis=1))
    while True:
        score = np.round(np.minimum(away, 1e9) + (away_first if np.isinf(away).all() else 0.0), 6)
        k = int(np.argmax(score))
        if score[k] < apart:
            return
        row, design = int(rows[k]), int(designs[rows[k]])
        _take(grades, rest, row, design, ("wild",))
        away = np.minimum(away, np.sqrt(np.sum((points[rows] - points[row]) ** 2, axis=1)))
        away[k] = -1.0
        if not rest[design]["wild"]:
            away[designs[rows] == design] = -1.0
        if (away < 0).all():
            return


def _crowded(grades: Ints, points: Floats, apart: float) -> int:
    from scipy.spatial import cKDTree

    wild = points[grades == WILD]
    pairs = cKDTree(wild).query_pairs(apart - 1e-6, output_type="ndarray") if len(wild) > 1 else np.zeros((0, 2))
    return len(np.unique(pairs))


def pile_words(design: int, grade: int) -> str:
    """Return what the hang list asks for.

    >>> pile_words(4, BEST)
    'design 4, best'
    """
    return f"design {design}, {GRADES[grade]}"
