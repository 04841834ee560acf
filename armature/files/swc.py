"""tree.swc: the tree as a skeleton, a row per point with its parent, for programs that measure branching trees.

The format is that of Cannon et al., "An on-line archive of reconstructed hippocampal neurons", J. Neuroscience Methods
84 (1998) 49-54: number, kind, x, y, z, radius, parent. Lengths are mm. Kinds from 5 on are free by the letter, but some
readers give 5 to 9 a meaning of their own (fork, end); the row of a member's rank in RANKS is added to 10.
"""

from __future__ import annotations

import numpy as np

from armature.tree import RANKS, Floats, Ints, Tree, locate, sampled

KIND = 10
_CHORD_ERROR = 0.05


def swc_text(tree: Tree) -> str:
    """Return the skeleton as SWC text, parents before children.

    A child hangs on a point of its parent's centreline, its station; its own first point is where its bar begins.
    """
    rows, stations, forks = _points(tree)
    points, _, _ = locate(tree.chains, rows, stations)
    radii = tree.diameters_at(rows, stations) / 2.0
    first = np.append(True, np.diff(rows) > 0)
    before = np.arange(len(rows))
    parent = np.where(first, np.where(tree.parents[rows] >= 0, forks[rows] + 1, -1), before)
    kinds = KIND + tree.ranks[rows]
    head = "# millimetres, z up\n# " + ", ".join(f"{KIND + at} {rank}" for at, rank in enumerate(RANKS)) + "\n"
    table = np.column_stack([before + 1, kinds, np.round(points, 6) + 0.0, np.round(radii, 6), parent])
    return head + "%d %d %.6f %.6f %.6f %.6f %d\n" * len(table) % tuple(table.ravel().tolist())


def _points(tree: Tree) -> tuple[Ints, Floats, Ints]:
    """Return member (R,) and station (R,) mm of every point, and for each member the point that it hangs on (M,)."""
    run = sampled(tree.chains, _CHORD_ERROR)
    grows = np.flatnonzero(tree.parents >= 0)
    carriers = tree.parents[grows]
    at = np.clip(tree.stations[grows], 0.0, tree.lengths[carriers])
    members = np.concatenate([np.repeat(np.arange(len(tree)), np.diff(run.offsets)), carriers])
    stations = np.concatenate([run.stations, at])
    order = np.lexsort([stations, members])
    gap = np.append(np.inf, np.diff(stations[order]))
    fresh = (np.append(True, np.diff(members[order]) > 0)) | (gap > 1e-6)
    number = np.cumsum(fresh) - 1
    place = np.empty(len(order), dtype=np.int64)
    place[order] = number
    forks = np.full(len(tree), -1, dtype=np.int64)
    forks[grows] = place[len(run.stations) :]
    return members[order][fresh], stations[order][fresh], forks
