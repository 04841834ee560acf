"""Movement in service: where each tip goes, how far each joint turns."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from armature.centreline import Floats
from armature.strength.combinations import Combination, combined
from armature.strength.frame import Frame


@dataclass(frozen=True, eq=False)
class Service:
    """sag: (M,) mm, tip movement under own weight. tips: (M,) mm, largest over the service combinations, from the
    unloaded shape. names: (M,) combination of that. swings: (M,) mm, the part that wind adds.
    """

    sag: Floats
    tips: Floats
    swings: Floats
    names: tuple[str, ...]


def service(cut: Frame, combos: tuple[Combination, ...], shifts: Mapping[str, Floats], winds: Floats) -> Service:
    """Return the tips' movement under the service combinations."""
    ends = cut.offsets[1:] - 1
    at_tips = {name: each[ends] for name, each in shifts.items()}
    sag = np.linalg.norm(at_tips["dead"][:, :, 0], axis=1)
    tips, swings = sag.copy(), np.zeros_like(sag)
    names = np.full(len(sag), "own weight", dtype=object)
    for combo in combos:
        if combo.is_strength or combo.is_iced:
            continue
        moved = combined(combo, at_tips, winds)
        total = np.linalg.norm(moved, axis=1).max(axis=1)
        more = total > tips
        tips[more], names[more] = total[more], combo.name
        swings = np.maximum(swings, np.linalg.norm(moved - at_tips["dead"], axis=1).max(axis=1))
    return Service(sag, tips, swings, tuple(names.tolist()))
