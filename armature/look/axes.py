"""Members and ranks of a measured tree: which child goes on as the same member at each fork.

The child that carries the most wood by length goes on; at equal shares the thicker one. Scanned thicknesses are too
noisy to decide it, and the straightest child is often a sucker.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.look.skeleton import Skeleton
from armature.tree import Floats, Ints, Strings, depths, row_norms


@dataclass(frozen=True, eq=False)
class Nodes:
    """N nodes of a measured tree, parents before children.

    names: (N,) as in the file. parents: (N,) row, -1 for a root. points: (N, 3) mm. radii: (N,) mm, of the piece that
    ends here. repairs: what was mended on reading, in words.
    """

    names: Strings
    parents: Ints
    points: Floats
    radii: Floats
    repairs: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.names)


def members_of(nodes: Nodes) -> Ints:
    """Return the member of each node, numbered parents first: (N,)."""
    parents = nodes.parents.tolist()
    carried = _carried(nodes)
    radii = nodes.radii.tolist()
    onward: dict[int, int] = {}
    for row, parent in enumerate(parents):
        best = onward.get(parent, -1)
        if best < 0 or (carried[row], radii[row]) > (carried[best], radii[best]):
            onward[parent] = row
    members, number = [0] * len(parents), -1
    for row, parent in enumerate(parents):
        if parent >= 0 and onward[parent] == row:
            members[row] = members[parent]
        else:
            number += 1
            members[row] = number
    return np.array(members, dtype=np.int64)


def _carried(nodes: Nodes) -> list[float]:
    """Return the length of wood from each node's parent outward, the piece to the parent included."""
    at = np.maximum(nodes.parents, 0)
    pieces = np.where(nodes.parents >= 0, row_norms(nodes.points - nodes.points[at]), 0.0)
    own: list[float] = pieces.tolist()
    parents = nodes.parents.tolist()
    for row in range(len(own) - 1, 0, -1):
        if parents[row] >= 0:
            own[parents[row]] += own[row]
    return own


def skeleton_of_nodes(nodes: Nodes) -> Skeleton:
    """Return the skeleton of a measured tree; a member starts at the node where it leaves its parent and is tagged by
    its last."""
    members = members_of(nodes)
    count = int(members.max()) + 1
    order = np.argsort(members, kind="stable")
    first = np.concatenate([[0], np.cumsum(np.bincount(members, minlength=count))[:-1]])
    joints = nodes.parents[order[first]]
    grows = joints >= 0
    parents = np.where(grows, members[joints], -1)
    # Each member but a root gets the fork's node as its first point, with its own thickness there.
    at = np.insert(order, first[grows], joints[grows])
    radii = np.insert(nodes.radii[order], first[grows], nodes.radii[order[first[grows]]])
    counts = np.bincount(members, minlength=count) + grows
    offsets = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    points = nodes.points[at]
    place = np.zeros(len(nodes), dtype=np.int64)
    own = np.setdiff1d(np.arange(len(at)), offsets[:-1][grows])
    place[order] = own
    bare = Skeleton(
        tags=nodes.names[at[offsets[1:] - 1]],
        ranks=depths(parents),
        parents=parents,
        stations=np.zeros(count),
        offsets=offsets,
        points=points,
        radii=radii,
        leaves=np.zeros((0, 3)),
        hung=np.zeros(0, dtype=np.int64),
        designed=False,
    )
    stations = np.where(grows, bare.runs[place[np.maximum(joints, 0)]], 0.0)
    return Skeleton(**{**{name: getattr(bare, name) for name in bare.__dataclass_fields__}, "stations": stations})
