"""The canopy of a commission: its envelope, and the lobes and hollows of its skin."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from armature.grow.envelope import Envelope
from armature.grow.outline import outlined
from armature.habits import Habit, habits
from armature.seeds import keys, normal, uniform
from armature.tree import Floats

if TYPE_CHECKING:
    from armature.commission import Commission


def envelope(commission: Commission) -> Envelope:
    """Return the canopy that a commission asks for."""
    canopy = commission.canopy
    half = np.asarray(canopy.spread, dtype=np.float64) / 2.0
    boxes = np.array([[box.min, box.max] for box in canopy.keep_out], dtype=np.float64).reshape(-1, 2, 3)
    form = of_its_own(habits()[canopy.habit], commission.seed)
    # Leaves hang below their twigs, and nothing that hangs may come below the clear stem.
    base = min(canopy.clear_stem + commission.leaves.length, canopy.height * 0.9)
    if canopy.habit == "outline":
        return outlined(commission, base, boxes)
    return Envelope(base, canopy.height, half, form, boxes)


def of_its_own(habit: Habit, seed: int) -> Habit:
    """Return a habit as one tree has it: no two trees of a kind agree in how long, how even and how high their shoots
    are. The spreads are those over measured trees."""
    bell = np.clip(normal(keys(seed, ["crown"], "own"), 5)[0], -2.0, 2.0)
    longer = float(np.exp(0.10 * bell[0]))
    return replace(
        habit,
        shares=(habit.shares[0] * longer, habit.shares[1] * longer, habit.shares[2] * longer),
        spread=habit.spread * float(np.exp(0.12 * bell[1])),
        place=habit.place + 0.40 * float(bell[2]),
        bare=habit.bare * float(np.exp(0.35 * bell[3])),
        upper=habit.upper + 0.22 * float(bell[4]),
    )


@dataclass(frozen=True, eq=False)
class Lobes:
    """Uneven skin: how far the crown comes out by azimuth and height, 0 to 1 of the envelope, from a few waves."""

    phases: Floats
    strength: float

    def share(self, points: Floats, canopy: Envelope) -> Floats:
        """Return the share of the envelope's reach that the crown takes toward points (Q, 3): (Q,)."""
        height, _ = canopy.relative(points)
        azimuth = np.arctan2(points[:, 1], points[:, 0])
        wave = np.zeros(len(points))
        for order, (turn, tilt, weight) in zip((1, 2, 3, 5), self.phases, strict=True):
            wave += weight * np.cos(order * azimuth + 2 * np.pi * (turn + (tilt - 0.5) * order * height))
        return 1.0 - self.strength * (0.5 - 0.5 * np.tanh(1.4 * wave))


def lobes(seed: int, strength: float = 0.5) -> Lobes:
    """Return the lobes and hollows of a seed's crown."""
    return Lobes(uniform(keys(seed, ["canopy"], "lobes"), 12)[0].reshape(4, 3), strength)
