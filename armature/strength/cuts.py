"""Where the checks look: every section of the tree that could be the worst of its stretch.

Size letters: N nodes, M members, Q sections, C load cases.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.strength.forces import Forces
from armature.strength.frame import Frame
from armature.strength.sections import Rounds, rounds
from armature.tree import Floats, Ints


@dataclass(frozen=True, eq=False)
class Sections:
    """Q sections: nodes (Q,); members (Q,); tangents (Q, 3); section values; free (Q,) mm of member beyond each.

    The first M are the welds, in member order. Then each node as seen from the root, with what sits on it, and each
    joint as seen from the tip as well, since the moment may jump down there and not only up.
    """

    nodes: Ints
    is_beyond: NDArray[np.bool_]
    members: Ints
    tangents: Floats
    values: Rounds
    free: Floats

    def __len__(self) -> int:
        return len(self.nodes)

    def of(self, inner: Forces) -> Floats:
        """Return the forces of all cases at these sections: (Q, 6, C)."""
        beyond = int(np.sum(self.is_beyond))
        return np.concatenate([inner.beyond[self.nodes[:beyond]], inner.within[self.nodes[beyond:]]])


def sections(frame: Frame) -> Sections:
    """Return the sections of a frame that the checks look at."""
    welds = frame.offsets[:-1]
    others = np.setdiff1d(np.arange(len(frame)), welds)
    joints = np.setdiff1d(frame.joints, welds)
    nodes = np.concatenate([welds, joints, others])
    members = frame.members[nodes]
    return Sections(
        nodes=nodes,
        is_beyond=np.arange(len(nodes)) < len(welds) + len(joints),
        members=members,
        tangents=frame.tangents[nodes],
        values=rounds(frame.diameters[nodes], frame.bores[nodes]),
        free=np.maximum(frame.tree.lengths[members] - frame.stations[nodes], 1.0),
    )


def member_worst(cross_sections: Sections, values: Floats) -> tuple[Floats, Ints]:
    """Return each member's largest of `values` (Q,) over its sections, and the section where it is: (M,) each."""
    order = np.lexsort((-values, cross_sections.members))
    firsts = np.flatnonzero(np.diff(cross_sections.members[order], prepend=-1))
    worst = order[firsts]
    return values[worst], worst
