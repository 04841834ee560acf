"""The elastic limit in service: no storm that comes in a lifetime may leave a member bent.

Strength lets a round yield to 1.5 to 1.7 times its elastic moment, so that a tree may stand and yet be crooked.
Size letters: M members, Q cross-sections, C cases. MPa, N, mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from armature.strength.forces import blocks
from armature.strength.resistance import Use
from armature.strength.rounds import Rounds
from armature.tree import Floats


@dataclass(eq=False)
class Elastic:
    """Largest equivalent stress over yield of Q cross-sections and its combination; filled case by case."""

    ratio: Floats
    names: np.ndarray

    def see(self, name: str, asked: Callable[[slice], Use], cross_section: Rounds, yields: Floats) -> None:
        """Take the worst of one more combination, a run of cross-sections at a time."""
        for rows in blocks(len(self.ratio), 36):
            stress = equivalent_stress(
                asked(rows), cross_section.area[rows], cross_section.elastic[rows], cross_section.torsion[rows]
            )
            most = stress.max(axis=1) / yields[rows]
            more = most > self.ratio[rows]
            self.ratio[rows][more] = most[more]
            self.names[rows][more] = name


def equivalent_stress(asked: Use, areas: Floats, elastic: Floats, torsion: Floats) -> Floats:
    """Return sqrt(sigma^2 + 3 tau^2) at the worst point of each: (Q, C) MPa. EN 1993-1-1 eq. 6.1, from memory.

    areas mm2, elastic and torsion moduli mm3: (Q,). Shear is 4/3 of its mean at the middle of a round, where bending
    is nothing; taken with it, the safer side.
    """
    sigma = np.abs(asked.axial) / areas[:, None] + asked.bending / elastic[:, None]
    tau = asked.torsion / torsion[:, None] + 4.0 / 3.0 * asked.shear / areas[:, None]
    return np.sqrt(sigma**2 + 3.0 * tau**2)


def nothing_strained(count: int) -> Elastic:
    """Return the record before any case is seen."""
    return Elastic(np.zeros(count), np.full(count, "", dtype=object))
