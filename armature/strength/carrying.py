"""What a bar that may not grow can carry, and what would help: leaves, length, size of leaf."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.strength.actions import basic_loads
from armature.strength.assess import Assessment
from armature.strength.combinations import leaf_drags
from armature.strength.forces import forces
from armature.strength.rounds import rounds
from armature.tree import Floats, Ints


@dataclass(frozen=True)
class Carries:
    """A member that fails and keeps its bar.

    leaves, bears: leaves beyond its foot now, and as many as it bears, the rest as it is. length_share: how long it may
    be, of its length now. leaf_share: how long each leaf may be. diameter_mm: what it asks for at its foot.
    """

    tag: str
    ratio: float
    leaves: int
    bears: int
    length_share: float
    leaf_share: float
    diameter_mm: float

    @property
    def words(self) -> str:
        """What it can carry and what would help, in one line."""
        said = (
            f"{self.tag} keeps its bar and asks {self.ratio:.2f} of it: it bears {self.bears} of {self.leaves} leaves"
        )
        if self.leaf_share > 0.0:
            said += f", or leaves {100.0 * self.leaf_share:.0f} % as long"
        said += f", or is to be {100.0 * self.length_share:.0f} % as long"
        return f"{said}; {self.diameter_mm:.1f} mm would do, or a tie"


def carrying(assessment: Assessment, rows: Ints) -> tuple[Carries, ...]:
    """Return what members (R,) can carry as they are, the worst first.

    Of the moment at a foot that the wind brings, the leaves' share goes with their number and with the square of their
    length; the whole with about the square of the member's length, its leaves moving in with it.
    """
    if not len(rows):
        return ()
    share = _leaf_shares(assessment)[rows]
    ratio = assessment.ratios[rows]
    inside = assessment.tree.summed_to_root(assessment.tree.foliage.astype(np.float64))[rows]
    # What is left for the leaves once the bars have had theirs.
    left = np.clip((1.0 / ratio - (1.0 - share)) / np.maximum(share, 1e-9), 0.0, 1.0)
    size = rounds(assessment.tree.start_diameters[rows]).diameter
    made = [
        Carries(
            tag=str(assessment.tree.tags[row]),
            ratio=float(ratio[at]),
            leaves=int(inside[at]),
            bears=int(np.floor(inside[at] * left[at] + 1e-9)),
            length_share=float(1.0 / np.sqrt(ratio[at])),
            leaf_share=float(np.sqrt(left[at])),
            diameter_mm=float(size[at] * np.cbrt(ratio[at])),
        )
        for at, row in enumerate(rows.tolist())
    ]
    return tuple(sorted(made, key=lambda each: (-each.ratio, each.tag)))


def _leaf_shares(assessment: Assessment) -> Floats:
    """Return the leaves' share of the wind's moment at each foot: (M,); all of it where no wind blows."""
    if not assessment.gusts:
        return np.ones(len(assessment.tree))
    loads, _ = basic_loads(assessment.frame, assessment.conditions, assessment.foliage, 4)
    firsts = assessment.frame.offsets[:-1]
    leaves = forces(assessment.frame, loads["leaves"]).beyond[firsts, 3:] * leaf_drags()["plates"]
    bars = forces(assessment.frame, loads["bars"]).beyond[firsts, 3:]
    one = np.linalg.norm(leaves, axis=1).max(axis=1)
    both = np.linalg.norm(leaves + bars[..., :2], axis=1).max(axis=1)
    return np.asarray(np.clip(one / np.maximum(both, 1e-9), 0.0, 1.0))
