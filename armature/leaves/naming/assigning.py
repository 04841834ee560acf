"""Which leaf gets which name: best-graded leaves first, families together, low and seen; stamped leaves stay."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError
from armature.leaves.naming.letters import letter_heights, line_lengths
from armature.leaves.naming.too_long import TooLong, too_long, without_font
from armature.typefaces import undrawn

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
SCRAP, WILD, PLAIN, BEST = 0, 1, 2, 3
GRADES = ("scrap", "wild", "plain", "best")
# Within a branch a family would rather hang this much closer, mm, than on the best-placed leaf of the tree; a better
# grade outweighs any distance.
_CLOSE = 500.0
_GRADE_FIRST = 1000.0


@dataclass(frozen=True, eq=False)
class Places:
    """L leaves that names can go to: tags (L,), designs (L,) rows of the panels, groups (L,) branch of each leaf,
    points (L, 3) mm, worth (L,) of the place, grades (L,) 0 scrap, 1 wild, 2 plain, 3 best."""

    tags: NDArray[np.str_]
    designs: Ints
    groups: Ints
    points: Floats
    worth: Floats
    grades: Ints

    def __len__(self) -> int:
        return len(self.tags)


@dataclass(frozen=True, eq=False)
class Assignment:
    """leaves: (N,) row of the leaf for each name, -1 where none takes it. too_long: those names, and those that no font
    draws."""

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
    likings: Mapping[int, Floats] | None = None,
) -> Assignment:
    """Return which leaf each of N names goes to.

    panels: (D, P, 2) width and height in mm of the clear rectangles of each design, zeros where there are fewer; (D, 2)
    for one each.
    heights: letter stamps on hand, mm. likings: (L,) by row of a name with a wish, how it likes each leaf. stamped:
    row of the leaf by name row, for leaves that are stamped already.
    Families come first, the hardest names before the others; each goes to the branch with the best leaves that takes
    all of it, or spreads over neighbouring branches. Where names are left that only leaves taken by others would take,
    those others move: as many names are seated as can be. A name with a sign that no font draws is set aside.
    Raises CommissionError where there are more names than leaves that can be stamped.
    """
    fits: NDArray[np.bool_] = np.asarray(letter_heights(line_lengths(texts, lines), panels, heights) > 0)
    leaf_of = np.full(len(texts), -1, dtype=np.int64)
    for name, leaf in (stamped or {}).items():
        leaf_of[name] = leaf
    free = (places.grades > SCRAP) & can_be_stamped(panels)[places.designs]
    free[leaf_of[leaf_of >= 0]] = False
    open_names = np.flatnonzero(leaf_of < 0)
    _check_count(len(texts), len(places), len(open_names), int(free.sum()))
    lacking = [undrawn(text) for text in texts]
    fits &= np.array([not signs for signs in lacking], dtype=bool)[:, None]
    can: NDArray[np.bool_] = np.asarray(fits.any(axis=1))
    pool = _Pool(places, free, fits, likings or {})
    for group in _families(open_names[can[open_names]], families, fits):
        pool.seat(group, leaf_of)
    late = [int(n) for n in open_names if can[n] and leaf_of[n] < 0]
    if late:
        fixed = np.ones(len(texts), dtype=bool)
        fixed[open_names] = False
        pool.make_room(late, leaf_of, fixed)
    none = [int(n) for n in open_names if leaf_of[n] < 0]
    left = (
        without_font(texts[n], lines, lacking[n])
        if lacking[n]
        else too_long(texts[n], panels, heights, lines, bool(can[n]))
        for n in none
    )
    return Assignment(leaf_of, tuple(left))


class _Pool:
    """The leaves still free, by branch and by design, best first.

    value: (L,) of a leaf: its grade, and below it its rank by worth among all leaves, from 1 to 0.
    """

    def __init__(
        self, places: Places, free: NDArray[np.bool_], fits: NDArray[np.bool_], likings: Mapping[int, Floats]
    ) -> None:
        self.places, self.fits, self.likings = places, fits, likings
        order = np.lexsort((np.arange(len(places)), -places.worth, -places.grades))
        order = order[free[order]]
        self.value = np.zeros(len(places))
        self.value[order] = np.linspace(1.0, 0.0, len(order)) + places.grades[order]
        self.free = free.copy()
        of_design = {int(d): order[places.designs[order] == d] for d in np.unique(places.designs)}
        self.by_design = {d: leaves[::-1].tolist() for d, leaves in of_design.items()}
        rows = np.flatnonzero(free)
        self.branches = {int(g): rows[places.groups[rows] == g] for g in np.unique(places.groups[rows])}
        self.middles = {g: places.points[members].mean(axis=0) for g, members in self.branches.items()}
        self.sums: dict[int, list[float]] = {}

    def seat(self, group: Sequence[int], leaf_of: Ints) -> None:
        """Seat a family on one branch, the one with the best leaves that takes all of it; else on neighbours."""
        if len(group) > 1:
            for branch in self._branches_for(group):
                taken = self._on_branch(group, branch)
                if len(taken) == len(group):
                    self._take_all(taken, leaf_of)
                    return
            self._spread(group, leaf_of)
        for name in group:
            if leaf_of[name] < 0:
                self._seat_anywhere(name, leaf_of)

    def make_room(self, late: Sequence[int], leaf_of: Ints, fixed: NDArray[np.bool_]) -> None:
        """Seat names for which only leaves taken by others would do, by moving those: along the shortest chain of
        designs that ends at a free leaf. fixed: (N,) names that stay.

        Leaves of one design take the same names, so that chains run from design to design; designs from which no chain
        led to a free leaf are full for good.
        """
        full: set[int] = set()
        for name in late:
            came = self._chain(name, leaf_of, fixed, full)
            if came is None:
                continue
            design, steps = came
            leaf = self._best(design)
            while (step := steps[design]) is not None:
                mover, before = step
                was = int(leaf_of[mover])
                self._take(mover, leaf, leaf_of)
                leaf, design = was, before
            self._take(name, leaf, leaf_of)

    def _chain(
        self, name: int, leaf_of: Ints, fixed: NDArray[np.bool_], full: set[int]
    ) -> tuple[int, dict[int, tuple[int, int] | None]] | None:
        """The design of the free leaf at the chain's end, and for each design who comes to it from which other."""
        steps: dict[int, tuple[int, int] | None] = {
            int(d): None for d in np.flatnonzero(self.fits[name]) if int(d) not in full and int(d) in self.by_design
        }
        queue = list(steps)
        for design in queue:
            if self._best(design) >= 0:
                return design, steps
            seated = np.flatnonzero((leaf_of >= 0) & ~fixed & (self.places.designs[leaf_of] == design))
            for other in np.flatnonzero(self.fits[seated].any(axis=0)).tolist():
                if other not in steps and other not in full and other in self.by_design:
                    steps[other] = int(seated[self.fits[seated, other]][-1]), design
                    queue.append(other)
        full.update(queue)
        return None

    def _best(self, design: int) -> int:
        """The best free leaf of a design, -1 where there is none."""
        leaves = self.by_design[design]
        while leaves and not self.free[leaves[-1]]:
            leaves.pop()
        return leaves[-1] if leaves else -1

    def _seat_anywhere(self, name: int, leaf_of: Ints) -> None:
        """Seat one name on the best free leaf that takes it, if there is one; of those, the one it wishes for most."""
        if name in self.likings:
            rows = np.flatnonzero(self.free & self.fits[name, self.places.designs])
            if len(rows):
                score = self.value + self.likings[name] + _GRADE_FIRST * self.places.grades
                self._take(name, int(rows[np.argmax(score[rows])]), leaf_of)
            return
        able = [self._best(d) for d in self.by_design if self.fits[name, d]]
        best = max(able, key=lambda leaf: self.value[leaf] if leaf >= 0 else -1.0, default=-1)
        if best >= 0:
            self._take(name, best, leaf_of)

    def _branches_for(self, group: Sequence[int]) -> list[int]:
        """Branches that have leaves for all of a group, those with the best leaves, and those wished for, first."""
        count, wishing = len(group), [self.likings[name] for name in group if name in self.likings]
        liked = {
            branch: sum(float(one[members[self.free[members]]].max(initial=0.0)) for one in wishing)
            for branch, members in (self.branches.items() if wishing else ())
        }
        able = [
            (-sums[count - 1] - count * liked.get(branch, 0.0), branch)
            for branch, sums in self._sums().items()
            if len(sums) >= count
        ]
        return [branch for _, branch in sorted(able)]

    def _sums(self) -> dict[int, list[float]]:
        """Value of the best leaf, the two best, and so on, of each branch."""
        for branch in self.branches:
            if branch not in self.sums:
                members = self.branches[branch]
                values = np.sort(self.value[members[self.free[members]]])[::-1]
                self.sums[branch] = np.cumsum(values).tolist()
        return self.sums

    def _spread(self, group: Sequence[int], leaf_of: Ints) -> None:
        """Seat a family that no branch takes whole: the branch that takes most of it, then those nearest to it."""
        sums = {branch: each for branch, each in self._sums().items() if each}
        if not sums:
            return
        first = max(sums, key=lambda b: (min(len(sums[b]), len(group)), sums[b][min(len(sums[b]), len(group)) - 1]))
        home = self.middles[first]
        left = list(group)
        for branch in sorted(sums, key=lambda b: (round(float(np.sum((self.middles[b] - home) ** 2)), 3), b)):
            self._take_all(self._on_branch(left, branch), leaf_of)
            left = [name for name in left if leaf_of[name] < 0]
            if not left:
                return

    def _on_branch(self, group: Sequence[int], branch: int) -> dict[int, int]:
        """Leaves by name for a family on one branch, as far as they go: the first where it is best, the others by
        grade and then close to it."""
        members = self.branches[branch]
        members = members[self.free[members]]
        open_ = np.ones(len(members), dtype=bool)
        value = self.value[members]
        chosen: dict[int, int] = {}
        for name in group:
            if len(chosen) == len(members):
                break
            able = open_ & self.fits[name, self.places.designs[members]]
            if not able.any():
                continue
            wished = np.zeros(len(members))
            if name in self.likings:
                wished = self.likings[name][members] + _GRADE_FIRST * self.places.grades[members]
            pick = int(np.argmax(np.where(able, value + wished, -np.inf)))
            if not chosen:
                apart = np.sqrt(np.sum((self.places.points[members] - self.places.points[members[pick]]) ** 2, axis=1))
                value = value + (_GRADE_FIRST - 1.0) * self.places.grades[members] - apart / _CLOSE
            open_[pick] = False
            chosen[name] = int(members[pick])
        return chosen

    def _take_all(self, taken: Mapping[int, int], leaf_of: Ints) -> None:
        for name, leaf in taken.items():
            self._take(name, leaf, leaf_of)

    def _take(self, name: int, leaf: int, leaf_of: Ints) -> None:
        leaf_of[name] = leaf
        self.free[leaf] = False
        self.sums.pop(int(self.places.groups[leaf]), None)


def can_be_stamped(panels: Floats) -> NDArray[np.bool_]:
    """Return which designs have any room for a name: (D,)."""
    widths_and_heights = panels.reshape(len(panels), -1, 2)
    return np.asarray(widths_and_heights.min(axis=2).max(axis=1) > 0)


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
