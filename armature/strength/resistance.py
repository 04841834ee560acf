"""What a round section can carry, and how its parts add up; one record for both steel standards."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from armature.tree import Floats

Shares = Callable[[Floats, Floats, Floats, Floats], Floats]


@dataclass(frozen=True, eq=False)
class Resistance:
    """Design resistance of Q sections, each (Q,): N and N mm, factors of the standard included.

    combined: from the shares used of axial force, moment, shear and torsion to the ratio of the standard's combination.
    clauses: what each is called where it is coded, by the names of `Use`.
    """

    tension: Floats
    compression: Floats
    bending: Floats
    shear: Floats
    torsion: Floats
    combined: Shares
    clauses: dict[str, str]


@dataclass(frozen=True, eq=False)
class Use:
    """What C load cases ask of Q sections: (Q, C) each, N and N mm. axial is positive in tension.

    A round section has no axes: shear and moment are the resultants.
    """

    axial: Floats
    shear: Floats
    torsion: Floats
    bending: Floats


def use(rows: Floats, tangents: Floats) -> Use:
    """Return what section forces (Q, 6, C) ask of sections whose axes are `tangents` (Q, 3)."""
    axial, shear = _split(rows[:, :3], tangents)
    torsion, bending = _split(rows[:, 3:], tangents)
    return Use(axial, shear, np.abs(torsion), bending)


def _split(vectors: Floats, tangents: Floats) -> tuple[Floats, Floats]:
    x, y, z = vectors[:, 0], vectors[:, 1], vectors[:, 2]
    tx, ty, tz = tangents[:, 0, None], tangents[:, 1, None], tangents[:, 2, None]
    on = x * tx + y * ty + z * tz
    # Taking the axial part off first keeps a slender bar's small shear from drowning in the square of its pull.
    squares = (x - on * tx) ** 2 + (y - on * ty) ** 2 + (z - on * tz) ** 2
    return on, np.sqrt(squares)


def ratios(asked: Use, limit: Resistance) -> dict[str, Floats]:
    """Return the ratio of each check for every section and case, by check: (Q, C) each.

    axial, bending, shear, torsion by themselves, and combined.
    """
    share = {
        "axial": np.where(
            asked.axial >= 0.0, asked.axial / limit.tension[:, None], -asked.axial / limit.compression[:, None]
        ),
        "bending": asked.bending / limit.bending[:, None],
        "shear": asked.shear / limit.shear[:, None],
        "torsion": asked.torsion / limit.torsion[:, None],
    }
    share["combined"] = limit.combined(share["axial"], share["bending"], share["shear"], share["torsion"])
    return share
