"""The elastic limit in service: no storm that comes in a lifetime may leave a member bent.

Strength lets a round yield to 1.5 to 1.7 times its elastic moment, so that a tree may stand and yet be crooked.
Size letters: M members, Q sections, C cases. MPa, N, mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.strength.resistance import Use
from armature.strength.sections import Rounds
from armature.tree import Floats


@dataclass(eq=False)
class Elastic:
    """Largest equivalent stress over yield of Q sections, and the combination it came from; filled as cases go by."""

    ratio: Floats
    names: np.ndarray

    def see(self, name: str, asked: Use, section: Rounds, yields: Floats) -> None:
        """Take the worst of one more combination."""
        most = (equivalent_stress(asked, section) / yields[:, None]).max(axis=1)
        more = most > self.ratio
        self.ratio[more] = most[more]
        self.names[more] = name


def equivalent_stress(asked: Use, section: Rounds) -> Floats:
    """Return sqrt(sigma^2 + 3 tau^2) at the worst point of sections: (Q, C) MPa. EN 1993-1-1 eq. 6.1, from memory.

    Shear is 4/3 of its mean at the middle of a round, where bending is nothing; taken with it, the safer side.
    """
    sigma = np.abs(asked.axial) / section.area[:, None] + asked.bending / section.elastic[:, None]
    tau = asked.torsion / section.torsion[:, None] + 4.0 / 3.0 * asked.shear / section.area[:, None]
    return np.sqrt(sigma**2 + 3.0 * tau**2)


def nothing_strained(count: int) -> Elastic:
    """Return the record before any case is seen."""
    return Elastic(np.zeros(count), np.full(count, "", dtype=object))
