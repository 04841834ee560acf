"""The worst of all combinations, cross-section by cross-section, kept as the cases go by so that no case has to stay.

Size letters: Q cross-sections, M members, C cases of one set.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from armature.strength.cross_sections import CrossSections
from armature.strength.forces import blocks
from armature.strength.resistance import Resistance, Use, ratios, use
from armature.strength.welds import line_force
from armature.tree import Floats, Ints

CHECKS = ("combined", "bending", "axial", "shear", "torsion")
_FORCES = ("axial", "shear", "torsion", "bending")

# Ratios that differ by less than a share of themselves are one; less than the other is none at all.
_EQUAL, _NOTHING = 1e-9, 1e-12


@dataclass(frozen=True, eq=False)
class CaseSet:
    """A name, a label for each of C cases, and forces (n, 6, C) for runs of n cross-sections, in their axes."""

    name: str
    rows: Callable[[slice], Floats]
    labels: tuple[str, ...]


@dataclass(eq=False)
class Worst:
    """Running worst over case sets; the only record of this package that changes, while `seen` is filled.

    ratio: by check, (Q,). place: by check, (Q,) index into `labels`. most: (Q,) largest pull, push, shear, torsion and
    bending over all cases, N and N mm. weld: (M,) N/mm, largest force on a line of weld round each foot; weld_place:
    (M,). sets: each set's name and its worst ratio.
    """

    ratio: dict[str, Floats]
    place: dict[str, Ints]
    most: dict[str, Floats]
    weld: Floats
    weld_place: Ints
    labels: list[str] = field(default_factory=list)
    sets: dict[str, float] = field(default_factory=dict)

    def see(self, sets: Sequence[CaseSet], cross_sections: CrossSections, limit: Resistance) -> None:
        """Take the worst of more sets of cases, a run of cross-sections at a time: the work stays in the cache."""
        firsts = []
        for cases in sets:
            firsts.append(len(self.labels))
            self.labels += [f"{cases.name}{', ' if label else ''}{label}" for label in cases.labels]
        for rows in blocks(len(cross_sections), max(len(cases.labels) for cases in sets) if sets else 1):
            here = limit.taken(rows)
            for cases, first in zip(sets, firsts, strict=True):
                worst = self._see_run(use(cases.rows(rows)), here, rows, cross_sections, first)
                self.sets[cases.name] = max(self.sets.get(cases.name, 0.0), worst)

    def _see_run(self, asked: Use, limit: Resistance, rows: slice, cross_sections: CrossSections, first: int) -> float:
        """Take the worst of one set at a run of cross-sections; return it."""
        used, most = ratios(asked, limit), self._see_most(asked, rows)
        axial = np.maximum(most["pull"] / limit.tension, most["push"] / limit.compression)
        values = {"combined": used["combined"].max(axis=1), "axial": axial}
        values |= {name: most[name] / getattr(limit, name) for name in ("bending", "shear", "torsion")}
        for name, value in values.items():
            _keep(self.ratio[name][rows], self.place[name][rows], used[name], value, first)
        self._see_welds(asked, rows, cross_sections, first)
        return max(float(value.max(initial=0.0)) for value in values.values())

    def _see_most(self, asked: Use, rows: slice) -> dict[str, Floats]:
        """Take the largest of each force, and return those of these cases."""
        most = {
            "pull": asked.axial.max(axis=1),
            "push": -asked.axial.min(axis=1),
            "shear": asked.shear.max(axis=1),
            "torsion": asked.torsion.max(axis=1),
            "bending": asked.bending.max(axis=1),
        }
        for name, values in most.items():
            np.maximum(self.most[name][rows], values, out=self.most[name][rows])
        return most

    def _see_welds(self, asked: Use, rows: slice, cross_sections: CrossSections, first: int) -> None:
        feet = slice(rows.start, min(rows.stop, len(self.weld)))
        if feet.start >= feet.stop:
            return
        here = Use(*(getattr(asked, name)[: feet.stop - feet.start] for name in _FORCES))
        line = line_force(here, cross_sections.values.diameter[feet])
        _keep(self.weld[feet], self.weld_place[feet], line, line.max(axis=1), first)


def nothing_yet(cross_sections: CrossSections, members: int) -> Worst:
    """Return the record before any case is seen."""
    count = len(cross_sections)
    return Worst(
        ratio={name: np.zeros(count) for name in CHECKS},
        place={name: np.zeros(count, dtype=np.int64) for name in CHECKS},
        most={name: np.zeros(count) for name in ("pull", "push", "shear", "torsion", "bending")},
        weld=np.zeros(members),
        weld_place=np.zeros(members, dtype=np.int64),
    )


def first_worst(asked: Floats) -> Ints:
    """Return the column of the most in each row of (R, C), the first of those as good as equal: (R,).

    What is equal by symmetry differs in its last digits, and these from one kind of processor to another.
    """
    return np.asarray((asked >= asked.max(axis=1, keepdims=True) * (1.0 - _EQUAL)).argmax(axis=1), dtype=np.int64)


def _keep(best: Floats, place: Ints, asked: Floats, value: Floats, first: int) -> None:
    """Keep what is worse than the best so far, with its case; value: (R,) the most of each row of `asked` (R, C)."""
    more = np.flatnonzero(value > best * (1.0 + _EQUAL) + _NOTHING)
    best[more] = value[more]
    place[more] = first_worst(asked[more]) + first
