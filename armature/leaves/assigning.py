"""Which leaf gets which name: best-graded leaves first, families together, low and seen; stamped leaves stay."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.errors import CommissionError
from armature.leaves.letters import letter_heights, line_lengths, most_letters

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
SCRAP, PLAIN, BEST = 0, 1, 2
GRADES = ("scrap", "plain", "best")


@dataclass(frozen=True, eq=False)
class Places:
    """L leaves that names can go to: tags (L,), designs (L,) rows of the panels, groups (L,) branch of each leaf,
    points (L, 3) mm, worth (L,) of the place, grades (L,) 0 scrap, 1 plain, 2 best."""

    tags: NDArray[np.str_]
    designs: Ints
    groups: Ints
    points: Floats
    worth: Floats
    grades: Ints

    def __len__(self) -> int:
        return len(self.tags)


@dataclass(frozen=True)
class TooLong:
    """A name that no leaf takes, and what would fit on the leaf with the most room."""

    name: str
    letters: int
    lines: int
    advice: str


@dataclass(frozen=True, eq=False)
class Assignment:
    """leaves: (N,) row of the leaf for each name, -1 where none takes it. too_long: those names."""

    leaves: Ints
    too_long: tuple[TooLong, ...]


def assign_names(
    texts: Sequence[str],
    families: Sequence[str],
    places: Places,
    panels: Floats,
    heights: Floats,
    lines: int = 3,
    stamped: Mapping[int, int] | None = None,
) -> Assignment:
    """Return which leaf each of N names goes to.

    panels: (D, 2) width and height in mm of the clear rectangle of each design, zeros where there is none.
    heights: letter stamps on hand, mm. stamped: row of the leaf by name row, for leaves that are stamped already.
    Raises CommissionError where there are more names than leaves that can be stamped.
    """
    fits: NDArray[np.bool_] = np.asarray(letter_heights(line_lengths(texts, lines), panels, heights) > 0)
    found = np.full(len(texts), -1, dtype=np.int64)
    for name, leaf in (stamped or {}).items():
        found[name] = leaf
    free = (places.grades > SCRAP) & panels[places.designs].all(axis=1)
    free[found[found >= 0]] = False
    open_names = np.flatnonzero(found < 0)
    _check_count(len(texts), len(places), len(open_names), int(free.sum()))
    can: NDArray[np.bool_] = np.asarray(fits.any(axis=1))
    pool = _Pool(places, free, fits)
    for group in _families(open_names[can[open_names]], families, fits):
        pool.seat(group, found)
    late = [int(n) for n in open_names if can[n] and found[n] < 0]
    for name in late:
        pool.seat_anywhere(name, found)
    none = [int(n) for n in open_names if found[n] < 0]
    return Assignment(found, tuple(_too_long(texts[n], panels, heights, lines, bool(can[n])) for n in none))


class _Pool:
    """The leaves still free, by branch and by design, best first."""

    def __init__(self, places: Places, free: NDArray[np.bool_], fits: NDArray[np.bool_]) -> None:
        self.places, self.fits = places, fits
        order = np.lexsort((np.arange(len(places)), -places.worth, -places.grades))
        order = order[free[order]]
        self.value = np.zeros(len(places))
        self.value[order] = np.linspace(1.0, 0.0, len(order)) if len(order) else 0.0
        self.free = free.copy()
        of_design = {int(d): order[places.designs[order] == d] for d in np.unique(places.designs)}
        self.by_design = {d: leaves[::-1].tolist() for d, leaves in of_design.items()}
        rows = np.flatnonzero(free)
        self.branches = {int(g): rows[places.groups[rows] == g] for g in np.unique(places.groups[rows])}
        self.sums: dict[int, list[float]] = {}

    def seat(self, group: Sequence[int], found: Ints) -> None:
        """Seat a family on one branch, the one with the best leaves that takes all of it; else each where it can."""
        if len(group) > 1:
            for branch in self._branches_for(len(group)):
                taken = self._on_branch(group, branch)
                if taken is not None:
                    for name, leaf in zip(group, taken, strict=True):
                        self._take(name, leaf, found)
                    return
        for name in group:
            self.seat_anywhere(name, found)

    def seat_anywhere(self, name: int, found: Ints) -> None:
        """Seat one name on the best free leaf that takes it, if there is one."""
        best = -1
        for design, leaves in self.by_design.items():
            if self.fits[name, design]:
                while leaves and not self.free[leaves[-1]]:
                    leaves.pop()
                if leaves and (best < 0 or self.value[leaves[-1]] > self.value[best]):
                    best = leaves[-1]
        if best >= 0:
            self._take(name, best, found)

    def _branches_for(self, count: int) -> list[int]:
        """Branches that have leaves for so many, those with the best leaves first."""
        for branch in self.branches:
            if branch not in self.sums:
                members = self.branches[branch]
                values = np.sort(self.value[members[self.free[members]]])[::-1]
                self.sums[branch] = np.cumsum(values).tolist()
        able = [(-sums[count - 1], branch) for branch, sums in self.sums.items() if len(sums) >= count]
        return [branch for _, branch in sorted(able)]

    def _on_branch(self, group: Sequence[int], branch: int) -> list[int] | None:
        """Leaves for a family on one branch: the first where it is best, the others close to it."""
        members = self.branches[branch]
        members = members[self.free[members]]
        open_ = np.ones(len(members), dtype=bool)
        near = np.zeros(len(members))
        chosen: list[int] = []
        for name in group:
            able = open_ & self.fits[name, self.places.designs[members]]
            if not able.any():
                return None
            pick = int(np.argmax(np.where(able, self.value[members] - near, -np.inf)))
            if not chosen:
                apart = np.sqrt(np.sum((self.places.points[members] - self.places.points[members[pick]]) ** 2, axis=1))
                near = apart / 500.0
            open_[pick] = False
            chosen.append(int(members[pick]))
        return chosen

    def _take(self, name: int, leaf: int, found: Ints) -> None:
        found[name] = leaf
        self.free[leaf] = False
        self.sums.pop(int(self.places.groups[leaf]), None)


def _families(names: Ints, families: Sequence[str], fits: NDArray[np.bool_]) -> list[list[int]]:
    """Names by family, the longest names of each first; families with the hardest name first, then the largest."""
    groups: dict[str, list[int]] = defaultdict(list)
    ease = fits.sum(axis=1)
    for name in names.tolist():
        groups[families[name] or f"\0{name}"].append(name)
    for group in groups.values():
        group.sort(key=lambda n: (int(ease[n]), n))
    return sorted(groups.values(), key=lambda g: (int(ease[g[0]]), -len(g), g[0]))


def _check_count(names: int, leaves: int, wanted: int, free: int) -> None:
    if names > leaves:
        rule = f"{names} names need {names} leaves, and leaves.count gives {leaves}: {names - leaves} would have none"
        raise CommissionError("leaves.names", rule)
    if wanted > free:
        rule = f"{wanted} names need as many leaves; only {free} are free, whole and large enough"
        raise CommissionError("leaves.names", rule)


def _too_long(name: str, panels: Floats, heights: Floats, lines: int, fits: bool) -> TooLong:
    length = line_lengths([name], lines)[0]
    if fits:
        return TooLong(name, round(float(length[0])), lines, "every leaf with room for it bears another name already")
    best = max(
        (most_letters((float(w), float(h)), float(heights[0]), lines) for w, h in panels),
        key=lambda rl: min(rl[0] * rl[1], length[0]),
    )
    rows, letters = best
    advice = f"at most {letters} letters a line on {rows} line{'s' if rows != 1 else ''} of {heights[0]:.1f} mm letters"
    return TooLong(name, round(float(length[0])), rows, advice + _shorter(name, rows, letters))


def _shorter(name: str, rows: int, letters: int) -> str:
    """A form with initials that would fit, where there is one."""
    words = name.split()
    for keep in range(len(words) - 1):
        short = " ".join([w[0] + "." for w in words[: keep + 1]] + words[keep + 1 :])
        if rows and line_lengths([short], rows)[0][-1] <= letters:
            return f"; {short!r} would fit"
    return ""
