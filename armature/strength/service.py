"""Movement in service: where each tip goes, how far each joint turns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from armature.strength.combinations import Combination, combined
from armature.strength.forces import Movement, crossed
from armature.strength.frame import Frame
from armature.tree import Floats


@dataclass(frozen=True, eq=False)
class Service:
    """sag: (M,) mm, tip movement under own weight. tips: (M,) mm, largest over the service combinations, from the
    unloaded shape. names: (M,) combination of that. swings: (M,) mm, the part that wind adds. turns: (M,) deg,
    largest turn at each foot. bends: (M,) movement of the tip against its own foot, over the length: linear theory
    holds up to about a tenth.
    """

    sag: Floats
    tips: Floats
    swings: Floats
    names: tuple[str, ...]
    turns: Floats
    bends: Floats


def service(
    frame: Frame,
    combos: tuple[Combination, ...],
    moves: Mapping[str, Movement],
    winds: Floats,
    gusts: Mapping[str, Floats],
) -> Service:
    """Return the tips' movement and the feet's turns under the service combinations.

    gusts: by bound, (M,) gust factor of each member.
    """
    ends, feet = frame.offsets[1:] - 1, frame.offsets[:-1]
    at_tips = {name: each.shifts[ends] for name, each in moves.items()}
    at_feet = {name: np.concatenate([each.shifts[feet], each.turns[feet]], axis=1) for name, each in moves.items()}
    span = (frame.points[ends] - frame.points[feet])[:, :, None]
    sag = np.linalg.norm(at_tips["dead"][:, :, 0], axis=1)
    tips, swings, turns, bends = sag.copy(), np.zeros_like(sag), np.zeros_like(sag), np.zeros_like(sag)
    names = np.full(len(sag), "own weight", dtype=object)
    for combo in combos:
        if combo.use != "service":
            continue
        moved, foot = combined(combo, at_tips, winds, gusts), combined(combo, at_feet, winds, gusts)
        total = np.linalg.norm(moved, axis=1).max(axis=1)
        more = total > tips
        tips[more], names[more] = total[more], combo.name
        swings = np.maximum(swings, np.linalg.norm(moved - at_tips["dead"], axis=1).max(axis=1))
        turns = np.maximum(turns, np.degrees(np.linalg.norm(foot[:, 3:], axis=1).max(axis=1)))
        own = moved - foot[:, :3] - crossed(foot[:, 3:], span)
        bends = np.maximum(bends, np.linalg.norm(own, axis=1).max(axis=1) / frame.tree.lengths)
    return Service(sag, tips, swings, tuple(names.tolist()), turns, bends)
