"""What a round cross-section can carry, and how its parts add up; one record for both steel standards."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from armature.tree import Floats

Marks = NDArray[np.bool_]
Rule = Callable[[Floats, Floats, Floats, Floats, Marks], Floats]


@dataclass(frozen=True, eq=False)
class Resistance:
    """Design resistance of Q cross-sections, each (Q,): N and N mm, factors of the standard included.

    rule: from the shares used of axial force, moment, shear and torsion, and whether it is a pipe, to the ratio of the
    standard's combination. is_pipe: (Q,). clauses: what each is called where it is coded, by the names of `Use`.
    """

    tension: Floats
    compression: Floats
    bending: Floats
    shear: Floats
    torsion: Floats
    rule: Rule
    is_pipe: Marks
    clauses: dict[str, str]

    def combined(self, axial: Floats, moment: Floats, sheared: Floats, twisted: Floats) -> Floats:
        """Return the ratio of the standard's combination, from the shares used: (Q, ...)."""
        pipes = self.is_pipe.reshape(self.is_pipe.shape + (1,) * (axial.ndim - 1))
        return self.rule(axial, moment, sheared, twisted, pipes)

    def taken(self, rows: slice) -> Resistance:
        """Return the resistance of some of the cross-sections."""
        names = ("tension", "compression", "bending", "shear", "torsion", "is_pipe")
        return replace(self, **{name: getattr(self, name)[rows] for name in names})


@dataclass(frozen=True, eq=False)
class Use:
    """What C load cases ask of Q cross-sections: (Q, C) each, N and N mm. axial is positive in tension.

    A round cross-section has no axes: shear and moment are the resultants.
    """

    axial: Floats
    shear: Floats
    torsion: Floats
    bending: Floats


def use(rows: Floats) -> Use:
    """Return what cross-section forces (Q, 6, C) in the cross-sections' own axes ask: see `CrossSections.of`."""
    return Use(rows[:, 0], _across(rows[:, 1], rows[:, 2]), np.abs(rows[:, 3]), _across(rows[:, 4], rows[:, 5]))


def _across(one: Floats, other: Floats) -> Floats:
    squares = one * one
    squares += other * other
    return np.sqrt(squares, out=squares)


def ratios(asked: Use, limit: Resistance) -> dict[str, Floats]:
    """Return the ratio of each check for every cross-section and case, by check: (Q, C) each.

    axial, bending, shear, torsion by themselves, and combined.
    """
    share = {
        # A pull is the larger of the two where it is positive, a push where it is negative.
        "axial": np.maximum(asked.axial / limit.tension[:, None], asked.axial / -limit.compression[:, None]),
        "bending": asked.bending / limit.bending[:, None],
        "shear": asked.shear / limit.shear[:, None],
        "torsion": asked.torsion / limit.torsion[:, None],
    }
    share["combined"] = limit.combined(share["axial"], share["bending"], share["shear"], share["torsion"])
    return share
