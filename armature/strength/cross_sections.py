"""Where the checks look: every cross-section of the tree that could be the worst of its stretch.

Size letters: N nodes, M members, Q cross-sections, C load cases.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from armature.strength.forces import Forces, blocks
from armature.strength.frame import Frame
from armature.strength.layout import applied, empty, picked
from armature.strength.rounds import Rounds, rounds
from armature.tree import Floats, Ints


@dataclass(frozen=True, eq=False)
class CrossSections:
    """Q cross-sections: nodes (Q,); members (Q,); tangents (Q, 3); values of each; free (Q,) mm of member beyond it.

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

    @cached_property
    def axes(self) -> Floats:
        """Return the cross-section's own axes: (Q, 3, 3), the rows along the bar and twice across it."""
        along = self.tangents
        # Any two directions across do, since a round has no axes: the first leaves out what the bar runs along most.
        off = np.eye(3)[np.argmin(np.abs(along), axis=1)]
        first = np.cross(along, off)
        first /= np.linalg.norm(first, axis=1, keepdims=True)
        return np.asfortranarray(np.stack([along, first, np.cross(along, first)], axis=1))

    def of(self, inner: Forces) -> Floats:
        """Return the forces of all cases at these cross-sections: (Q, 6, C), each in the cross-section's own axes.

        Rows are axial force (positive in tension), two of shear, torsion, two of bending.
        """
        count, beyond = inner.beyond.shape[2], int(np.sum(self.is_beyond))
        found = empty(len(self), 6, count)
        for rows in blocks(len(self), count):
            side = inner.beyond if rows.stop <= beyond else inner.within
            here = picked(side, self.nodes[rows])
            if rows.start < beyond < rows.stop:
                here[: beyond - rows.start] = picked(inner.beyond, self.nodes[rows.start : beyond])
            found[rows] = self.turned(here, rows)
        return found

    def turned(self, rows: Floats, some: slice) -> Floats:
        """Return forces (n, 6, C) of some cross-sections in the cross-sections' own axes."""
        own = empty(*rows.shape)
        for part in (slice(3), slice(3, 6)):
            own[:, part] = applied(self.axes[some], rows[:, part])
        return own


def cross_sections(frame: Frame) -> CrossSections:
    """Return the cross-sections of a frame that the checks look at."""
    welds = frame.offsets[:-1]
    others = np.setdiff1d(np.arange(len(frame)), welds)
    joints = np.setdiff1d(frame.joints, welds)
    nodes = np.concatenate([welds, joints, others])
    members = frame.members[nodes]
    return CrossSections(
        nodes=nodes,
        is_beyond=np.arange(len(nodes)) < len(welds) + len(joints),
        members=members,
        tangents=frame.tangents[nodes],
        values=rounds(frame.diameters[nodes], frame.bores[nodes]),
        free=np.maximum(frame.tree.lengths[members] - frame.stations[nodes], 1.0),
    )


def member_worst(cross_sections: CrossSections, values: Floats) -> tuple[Floats, Ints]:
    """Return each member's largest of `values` (Q,) over its cross-sections, and where it is: (M,) each."""
    order = np.lexsort((-values, cross_sections.members))
    firsts = np.flatnonzero(np.diff(cross_sections.members[order], prepend=-1))
    worst = order[firsts]
    return values[worst], worst
