"""Second order: what gravity does on the moved shape, estimated and refused where it is more than a tenth.

Clauses from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from armature.centreline import Floats
from armature.strength.combinations import Combination, combined, leaf_drags
from armature.strength.forces import carried, crossed
from armature.strength.frame import Frame
from armature.strength.loads import GRAVITY

LIMIT = 0.10  # EN 1993-1-1 5.2.1(3), alpha_cr of 10; AISC 360-16 C2.1 asks for second order always


@dataclass(frozen=True, eq=False)
class SecondOrder:
    """shares: (M,) added moment over the first-order one at each foot. factors: (M,) 1 / (1 - share) on the moments.

    worst: the largest share of trunk and limbs, the members that carry others; is_refused: whether it is over 10 %.
    """

    shares: Floats
    factors: Floats
    worst: float
    clause: str = "EN 1993-1-1 5.2.1, 5.2.2(5); AISC 360-16 C2"

    @property
    def is_refused(self) -> bool:
        """Whether first-order forces, even raised, are not enough."""
        return self.worst > LIMIT


def second_order(
    cut: Frame,
    combos: tuple[Combination, ...],
    rows: Mapping[str, Floats],
    shifts: Mapping[str, Floats],
    lumps: Floats,
    winds: Floats,
) -> SecondOrder:
    """Return the second-order share of every member, the worst over the strength combinations without ice.

    The added moment is that of the weights beyond a foot, moved against it: one more sweep. It is set against the
    largest moment that the foot has to hold: near balance, a share of nothing would say nothing.
    """
    count, slight = len(cut.tree), leaf_drags()["streaming"]
    added, moment = np.zeros(count), np.full(count, 1e-6)
    first = cut.offsets[:-1]
    for combo in combos:
        # Streaming leaves move the tree less and load it less: the plates have the worst of both.
        if not combo.is_strength or combo.is_iced or combo.drag == slight:
            continue
        shift = combined(combo, shifts, winds)
        at_feet = combined(combo, {name: each[:count] for name, each in rows.items()}, winds)
        more = _added(cut, shift, lumps * GRAVITY * combo.dead)[first]
        added = np.maximum(added, np.linalg.norm(more, axis=1).max(axis=1))
        moment = np.maximum(moment, np.linalg.norm(at_feet[:, 3:], axis=1).max(axis=1))
    shares = added / moment
    carries = np.bincount(cut.tree.parents[cut.tree.parents >= 0], minlength=count) > 0
    worst = float(shares[carries].max(initial=float(shares[0])))
    return SecondOrder(shares, 1.0 / (1.0 - np.minimum(shares, 0.5)), worst)


def _added(cut: Frame, shift: Floats, weights: Floats) -> Floats:
    """Return the moment of weights (N,) N, moved by `shift` (N, 3, C), about each node as it has moved: (N, 3, C)."""
    down = np.zeros((len(cut), 3, 1))
    down[:, 2, 0] = -weights
    moments = np.array(crossed(shift, down))
    weight = np.broadcast_to(weights[:, None, None], (len(cut), 1, shift.shape[2]))
    own = np.concatenate([moments, weight], axis=1)
    total = carried(cut, own, np.zeros_like(own))
    total += own
    pull = np.zeros_like(shift)
    pull[:, 2] = -total[:, 3]
    return np.asarray(total[:, :3] - crossed(shift, pull))
