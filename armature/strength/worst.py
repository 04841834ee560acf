"""The worst of all combinations, section by section, kept as the cases go by so that no case has to stay.

Size letters: Q sections, M members, C cases of one set.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from armature.strength.cuts import Sections, member_worst
from armature.strength.resistance import Resistance, Use, ratios, use
from armature.strength.welds import line_force
from armature.tree import Floats, Ints

CHECKS = ("combined", "bending", "axial", "shear", "torsion")
_FORCES = ("axial", "shear", "torsion", "bending")


@dataclass(frozen=True, eq=False)
class CaseSet:
    """A name, and section forces (Q, 6, C) with a label for each of the C cases."""

    name: str
    rows: Floats
    labels: tuple[str, ...]


@dataclass(eq=False)
class Worst:
    """Running worst over case sets; the only record of this package that changes, while `seen` is filled.

    ratio: by check, (Q,). place: by check, (Q,) index into `labels`. pull, push, shear, torsion, bending: (Q,) largest
    of each force over all cases, N and N mm. weld: (M,) N/mm, largest force on a line of weld round each foot;
    weld_place: (M,). sets: each set's name and its worst ratio by member (M,).
    """

    ratio: dict[str, Floats]
    place: dict[str, Ints]
    most: dict[str, Floats]
    weld: Floats
    weld_place: Ints
    labels: list[str] = field(default_factory=list)
    sets: dict[str, Floats] = field(default_factory=dict)

    def see(self, cases: CaseSet, cross_sections: Sections, limit: Resistance) -> None:
        """Take the worst of one more set of cases."""
        asked = use(cases.rows, cross_sections.tangents)
        first = len(self.labels)
        self.labels += [f"{cases.name}{', ' if label else ''}{label}" for label in cases.labels]
        here = np.zeros(len(cross_sections))
        for name, used in ratios(asked, limit).items():
            np.maximum(here, _keep(self.ratio[name], self.place[name], used, first), out=here)
        self.sets[cases.name] = np.maximum(self.sets.get(cases.name, 0.0), member_worst(cross_sections, here)[0])
        self._see_most(asked)
        count = len(self.weld)
        line = line_force(_welds(asked, count), cross_sections.values.diameter[:count])
        _keep(self.weld, self.weld_place, line, first)

    def _see_most(self, asked: Use) -> None:
        for name, values in (
            ("pull", asked.axial),
            ("push", -asked.axial),
            ("shear", asked.shear),
            ("torsion", asked.torsion),
            ("bending", asked.bending),
        ):
            np.maximum(self.most[name], values.max(axis=1), out=self.most[name])


def nothing_yet(cross_sections: Sections, members: int) -> Worst:
    """Return the record before any case is seen."""
    count = len(cross_sections)
    return Worst(
        ratio={name: np.zeros(count) for name in CHECKS},
        place={name: np.zeros(count, dtype=np.int64) for name in CHECKS},
        most={name: np.zeros(count) for name in ("pull", "push", "shear", "torsion", "bending")},
        weld=np.zeros(members),
        weld_place=np.zeros(members, dtype=np.int64),
    )


def _welds(asked: Use, count: int) -> Use:
    return Use(*(getattr(asked, name)[:count] for name in _FORCES))


def _keep(best: Floats, place: Ints, found: Floats, first: int) -> Floats:
    """Keep what is worse than the best so far, with its case; return the worst of these cases."""
    column = found.argmax(axis=1)
    value: Floats = found[np.arange(len(found)), column]
    more = value > best
    best[more] = value[more]
    place[more] = column[more] + first
    return value
