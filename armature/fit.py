"""What fits, up front: for the canopy, twigs and leaves asked, how many leaves would strike, and three ways out.

Each answer is grown and hung, not guessed: the same growing and hanging as the job itself, without plates and papers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from armature.commission import Commission, changed
from armature.edge import format_length
from armature.grow import grow
from armature.leaves import read_given
from armature.leaves.hanging import Loop, hang_leaves
from armature.tree import TWIG

# Share of leaves that may strike too often: what is asked of a crown.
WANTED = 0.02
# Steps of each way, tried in turn until one serves.
_TALLER, _TWIGS, _SMALLER, _FEWER = (1.15, 1.3, 1.5), (1.25, 1.5, 2.0), (0.85, 0.7, 0.55), (0.8, 0.6)
# Sheet that nests leave, common practice, no source: a plate covers about two thirds.
_USED = 0.66


@dataclass(frozen=True)
class Fit:
    """How a crown fits its leaves: leaves in all, those that strike in over their share; metal hung and sheet
    to buy, kg; twigs by diameter at the foot, mm."""

    words: str
    leaves: int
    striking: int
    metal_kg: float
    sheet_kg: float
    per_foot: float
    twigs: Mapping[float, int]

    @property
    def share(self) -> float:
        """Share of the leaves that strike too often."""
        return self.striking / max(self.leaves, 1)


def fit_of(commission: Commission, words: str = "as asked") -> Fit:
    """Return how the leaves of a commission fit the tree that it grows."""
    leaves, hang = commission.leaves, commission.leaves.hang
    tree = grow(commission)
    designs = read_given(commission, plates=False).designs
    loop = Loop(leaves.wire, leaves.loop, hang.isolation == "ring")
    hung = hang_leaves(tree, designs, loop, leaves.kg_m2, hang.swing, hang.strike, leaves.spacing)
    metal = float(hung.masses.sum())
    mean = float(np.mean([d.area for d in designs]))
    feet = tree.start_diameters[tree.ranks == TWIG]
    sizes, counts = np.unique(np.round(feet, 2), return_counts=True)
    return Fit(
        words, leaves.count, int((hung.shares > hang.strike + 1e-9).sum()), metal,
        metal * (1.0 + leaves.plates.spares) / _USED, _USED * 304.8**2 / mean,
        dict(zip(sizes.tolist(), counts.tolist(), strict=True)),
    )  # fmt: skip


def ways_out(
    commission: Commission, wanted: float = WANTED, told: Callable[[str], None] = lambda _words: None
) -> Iterator[tuple[str, Fit]]:
    """Yield what would let at most a share `wanted` of the leaves strike, a way at a time: (way, how it fits).

    Taller, more twigs, smaller leaves, fewer leaves; of each the first step that serves, or the last where none does.
    """
    for way, steps in _ways(commission).items():
        best = None
        for words, keys in steps:
            told(words)
            best = fit_of(changed(commission, keys), words)
            if best.share <= wanted:
                break
        if best is not None:
            yield way, best


def _ways(commission: Commission) -> dict[str, list[tuple[str, dict[str, Any]]]]:
    canopy, leaves, twigs = commission.canopy, commission.leaves, commission.growth.twigs

    def size(mm: float) -> str:
        return format_length(mm, commission.units, feet=mm > 600.0)

    ways: dict[str, list[tuple[str, dict[str, Any]]]] = {}
    if not canopy.outline:
        ways["taller"] = [(f"{size(canopy.height * k)} high", _scaled(commission, k)) for k in _TALLER]
    ways["more twigs"] = [(f"{round(twigs * k)} twigs", {"growth.twigs": round(twigs * k)}) for k in _TWIGS]
    ways["smaller leaves"] = [
        (
            f"leaves of {size(leaves.length * k)}",
            _mm({"leaves.length": leaves.length * k, "leaves.spacing": leaves.spacing * k}),
        )
        for k in _SMALLER
    ]
    ways["fewer leaves"] = [
        (f"{round(leaves.count * k)} leaves", {"leaves.count": round(leaves.count * k)}) for k in _FEWER
    ]
    return ways


def _scaled(commission: Commission, k: float) -> dict[str, Any]:
    canopy = commission.canopy
    keys: dict[str, Any] = _mm({"canopy.height": canopy.height * k, "canopy.clear_stem": canopy.clear_stem * k})
    return keys | {"canopy.spread": [f"{side * k:.2f} mm" for side in canopy.spread]}


def _mm(keys: Mapping[str, float]) -> dict[str, Any]:
    return {key: f"{mm:.2f} mm" for key, mm in keys.items()}
