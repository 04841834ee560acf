"""Second order: what weight and wind do on the moved shape, estimated, added, refused over a third.

Clauses from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from armature.strength.combinations import Combination, combined, leaf_drags, steady_part, turning_part
from armature.strength.forces import add_at, crossed
from armature.strength.frame import Frame
from armature.strength.layout import empty
from armature.tree import Floats

# Moments are raised by 1 / (1 - share), which both standards allow to here: EN 1993-1-1 5.2.2(5), alpha_cr of 3 and
# more; AISC 360-16 C2.1 asks for second order always, and appendix 8 for no more than 1.5 of the first-order movement.
LIMIT = 1.0 / 3.0


@dataclass(frozen=True, eq=False)
class SecondOrder:
    """shares: (M,) added moment over the first-order one at each foot. factors: (M,) 1 / (1 - share) on the moments.

    worst: the largest share of trunk and limbs, the members that carry others; is_refused: whether it is over a third.
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
    frame: Frame,
    combos: tuple[Combination, ...],
    rows: Mapping[str, Floats],
    shifts: Mapping[str, Floats],
    loads: Mapping[str, Floats],
    winds: tuple[Floats, Floats],
    gusts: Mapping[str, Floats],
) -> SecondOrder:
    """Return the second-order share of every member, the worst over the strength combinations.

    loads: by case, (N, 3, C) N gathered at the nodes. winds: directions of `rows`, and those of shifts and loads.
    gusts: by bound, (M,) factor of each member. All forces beyond a foot go with the bars that they act on, wind as
    well as weight: the moment that they add is one more sweep. It is set against the largest moment that the foot
    has to hold: near balance, a share of nothing would say nothing.
    """
    count, slight = len(frame.tree), leaf_drags()["streaming"]
    added, moment = np.zeros(count), np.full(count, 1e-6)
    at_nodes = {bound: factors[frame.members] for bound, factors in gusts.items()}
    for combo in combos:
        # Streaming leaves move the tree less and load it less: the plates have the worst of both.
        if not combo.is_strength or combo.drag == slight or (combo.is_iced and "ice" not in rows):
            continue
        more = _added(frame, _halves(combo, shifts, winds[1], at_nodes), _halves(combo, loads, winds[1], at_nodes))
        at_feet = combined(combo, {name: each[:count] for name, each in rows.items()}, winds[0], gusts)
        added = np.maximum(added, np.linalg.norm(more, axis=1).max(axis=1))
        moment = np.maximum(moment, np.linalg.norm(at_feet[:, 3:], axis=1).max(axis=1))
    shares = added / moment
    carries = np.bincount(frame.tree.parents[frame.tree.parents >= 0], minlength=count) > 0
    worst = float(shares[carries].max(initial=float(shares[0])))
    return SecondOrder(shares, 1.0 / (1.0 - np.minimum(shares, 0.5)), worst)


def _halves(
    combo: Combination, parts: Mapping[str, Floats], winds: Floats, gusts: Mapping[str, Floats]
) -> tuple[Floats, Floats]:
    """Return what is steady, (N, 3, 1), and what turns with the wind, (N, 3, C) toward half of the directions."""
    steady, turning = steady_part(combo, parts), turning_part(combo, parts, winds, gusts)
    return steady, np.zeros_like(steady) if turning is None else turning


def _added(frame: Frame, shifts: tuple[Floats, Floats], forces: tuple[Floats, Floats]) -> Floats:
    """Return the moment about each moved foot of forces that have moved, (M, 3, 2 C): all directions, a half at a time.

    It is a product of two sums, so that what is steady and what turns make four terms, and a turned wind changes the
    sign of two of them.
    """
    whole = [_about_feet(frame, shift, force) for shift in shifts for force in forces]
    even, odd = whole[0] + whole[3], whole[1] + whole[2]
    return np.concatenate([even + odd, even - odd], axis=2)


def _about_feet(frame: Frame, shift: Floats, force: Floats) -> Floats:
    """Return the moment of forces (N, 3, C) N moved by `shift` (N, 3, C) about each foot moved alike: (M, 3, C)."""
    firsts = frame.offsets[:-1]
    wide = np.broadcast_shapes(shift.shape, force.shape)
    own = empty(wide[0], 6, wide[2])
    own[:, :3], own[:, 3:] = crossed(shift, force), force
    total = np.add.reduceat(own, firsts, axis=0)
    for level in frame.tree.levels[:0:-1]:
        add_at(total, frame.tree.parents[level], total[level])
    return np.asarray(total[:, :3] - crossed(shift[firsts], total[:, 3:]))
