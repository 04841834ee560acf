"""Whether a torch still reaches each joint, and the order of welding that keeps every joint in reach.

Size letters: M members, K places round a joint, A ways of holding the torch at each, T points along the torch.

The test is geometric: at each place round the weld the torch comes in along the middle of the corner between parent
and child, or swung to either side along the bead, or tipped up or down. It needs a cone of free space: the nozzle near
the bead, the hand further out. A place is in reach when some way of holding it is free.

The order is found by taking the tree apart. From the whole tree, members that carry nothing any more are taken off as
long as their joint is in reach of all that still stands; backwards, that is an order in which every joint is in reach
when it is welded. Taking a member away never puts another out of reach, so this finds such an order if there is one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from armature.tree import Floats, Ints, Joints, Tree, dot, joints, locate, row_norms, sampled, turned

_PLACES = 8
_HALF = 12.5
_THICKNESSES = (6.0, 12.0, 25.0)
# A nozzle does not enter a corner closer than this (common practice, no source).
_LEAST_CORNER = 30.0
_SWINGS = ((0.0, 0.0), (40.0, 0.0), (-40.0, 0.0), (0.0, 20.0), (0.0, -20.0))


@dataclass(frozen=True)
class Torch:
    """Free space that a torch needs, mm: radius at nozzle and hand, and length; places of 8 to be reached."""

    nozzle_mm: float = 9.0
    hand_mm: float = 45.0
    length_mm: float = 260.0
    places: int = 6


@dataclass(frozen=True, eq=False)
class WeldOrder:
    """Rows in the order of welding (M,), trunk first; places in reach of 8 when each is welded (M,), by row.

    `late` (M,) by row: places in reach if it were welded last of all. `before` maps a row to those that must come
    after it, because they would put it out of reach.
    """

    order: Ints
    reached: Ints
    late: Ints
    before: dict[int, list[int]]

    @cached_property
    def turns(self) -> Ints:
        """When each member is welded, (M,) by row: 0 the first."""
        turns = np.empty_like(self.order)
        turns[self.order] = np.arange(len(self.order))
        return turns


@dataclass(frozen=True, eq=False)
class _Blocks:
    """P members in the way: ways (P,), numbered through rows, places and ways of holding the torch, and others (P,).

    Sorted by other; `starts` (M + 1,) says where each other's begin.
    """

    ways: Ints
    others: Ints
    starts: Ints

    @property
    def rows(self) -> Ints:
        """The members whose ways they are: (P,)."""
        return self.ways // (_PLACES * len(_SWINGS))

    def counted(self, chosen: NDArray[np.bool_]) -> Ints:
        """Return how many of the chosen (P,) stand in each way: (M, K, A)."""
        count = (len(self.starts) - 1) * _PLACES * len(_SWINGS)
        return np.bincount(self.ways[chosen], minlength=count).reshape(-1, _PLACES, len(_SWINGS))

    def of(self, rows: Ints) -> Ints:
        """Return the ways that the given rows stand in, one after the other."""
        return np.concatenate([self.ways[self.starts[row] : self.starts[row + 1]] for row in rows.tolist()])


def weld_order(tree: Tree, torch: Torch | None = None) -> WeldOrder:
    """Return the order of welding, with the joints of one parent together as far as reach allows.

    A joint that no order brings into reach is welded as early as can be; its `reached` says how much of it can be.
    """
    torch = torch or Torch()
    blocks = _blocks(tree, joints(tree), torch)
    left = blocks.counted(np.ones(len(blocks.ways), dtype=bool))
    late = _in_reach(left)
    order = np.array([0, *_taken_apart(tree, blocks, left, late.copy(), torch.places)[::-1]], dtype=np.int64)
    when = np.argsort(order)
    reached = _in_reach(blocks.counted(when[blocks.others] <= when[blocks.rows]))
    return WeldOrder(order, reached, late, _musts(blocks, late, when, torch.places))


def _taken_apart(tree: Tree, blocks: _Blocks, left: Ints, reached: Ints, places: int) -> list[int]:
    """Return the rows in the order of taking off; `left`, what stands in each way, and `reached` are used up."""
    # Last off first on: by branch, tips first, so that backwards one parent's joints come together.
    rank = np.lexsort((-np.arange(len(tree)), -tree.depths))
    rank = rank[tree.parents[rank] >= 0]
    standing = tree.parents >= 0
    children = np.bincount(tree.parents[1:], minlength=len(tree)) if len(tree) > 1 else np.zeros(1, dtype=np.int64)
    flat = left.reshape(-1)
    rows: list[int] = []
    while len(rows) < len(rank):
        free = rank[(standing & (children == 0))[rank]]
        batch = free[reached[free] >= places]
        if not len(batch):
            batch = free[np.lexsort((free, reached[free]))[-1:]]
        standing[batch] = False
        np.subtract.at(children, tree.parents[batch], 1)
        rows += batch.tolist()
        cleared = blocks.of(batch)
        np.subtract.at(flat, cleared, 1)
        touched = np.unique(cleared // (_PLACES * len(_SWINGS)))
        touched = touched[standing[touched]]
        reached[touched] = _in_reach(left[touched])
    return rows


def _in_reach(left: Ints) -> Ints:
    """Return how many places (Q,) have a way that nothing stands in, from the counts of what does: (Q, K, A)."""
    return np.asarray((left == 0).any(axis=2).sum(axis=1), dtype=np.int64)


def _musts(blocks: _Blocks, late: Ints, when: Ints, places: int) -> dict[int, list[int]]:
    asked = (late[blocks.rows] < places) & (when[blocks.others] > when[blocks.rows])
    pairs = np.stack([blocks.rows[asked], blocks.others[asked]], axis=1)
    musts: dict[int, list[int]] = {}
    for row, other in np.unique(pairs, axis=0).tolist():
        musts.setdefault(row, []).append(other)
    return musts


def _blocks(tree: Tree, listed: Joints, torch: Torch) -> _Blocks:
    """Return what stands in the way of each row, place and way of holding the torch; nothing for the trunk.

    A corner closer than the torch can enter is blocked by the child itself, which never goes.
    """
    count, every = len(tree), _PLACES * len(_SWINGS)
    beads, lines, corners = _approaches(tree, listed)
    rows, places = np.nonzero(corners < _LEAST_CORNER)
    tight = ((rows * _PLACES + places)[:, None] * len(_SWINGS) + np.arange(len(_SWINGS))).ravel()
    sizes = [(tight // every) * (count * every) + tight]
    for hit, others in _hits(tree, beads, lines, torch):
        row = hit // every
        foreign = (others != row) & (others != tree.parents[row])
        sizes.append(np.unique(others[foreign] * (count * every) + hit[foreign]))
    # One number a pair, other before way: sorting it sorts both.
    pairs = np.unique(np.concatenate(sizes))
    others, ways = np.divmod(pairs, count * every)
    return _Blocks(ways, others, np.searchsorted(others, np.arange(count + 1)))


def _hits(tree: Tree, beads: Floats, lines: Floats, torch: Torch) -> Iterator[tuple[Ints, Ints]]:
    """Yield ways, numbered through, and the rows in them, by distance along the torch and thickness of bar."""
    cloud = sampled(tree.chains, 2.0, 2.0 * _HALF)
    owners = tree.chains.members[cloud.straights]
    thick = tree.diameters_at(owners, cloud.stations) / 2.0
    classes = np.digitize(thick, _THICKNESSES)
    for reach in np.linspace(0.08, 1.0, 7) * torch.length_mm:
        wide = torch.nozzle_mm + (torch.hand_mm - torch.nozzle_mm) * (reach / torch.length_mm) ** 2
        points = (beads + lines * reach).reshape(-1, 3)
        asking = cKDTree(points)
        for size in np.unique(classes):
            own = np.flatnonzero(classes == size)
            limit = wide + _HALF + float(thick[own].max())
            pairs = asking.sparse_distance_matrix(cKDTree(cloud.points[own]), limit, output_type="ndarray")
            asks, hits = pairs["i"].astype(np.int64), own[pairs["j"]]
            away = points[asks] - cloud.points[hits]
            along = dot(away, cloud.tangents[hits])
            # The bar about a sample is a short straight piece: what lies along it is no distance.
            off = away - np.clip(along, -_HALF, _HALF)[:, None] * cloud.tangents[hits]
            close = row_norms(off) < wide + thick[hits]
            yield asks[close], owners[hits[close]]


def _approaches(tree: Tree, listed: Joints) -> tuple[Floats, Floats, Floats]:
    """Return beads (M, K, A, 3) mm, directions out along the torch (M, K, A, 3) and corners (M, K) deg."""
    count = len(tree)
    d = tree.axes
    parent = np.maximum(tree.parents, 0)
    t = np.where(tree.parents[:, None] >= 0, locate(tree.chains, parent, tree.stations)[1], [0.0, 0.0, 1.0])
    across = np.cross(t, d)
    across = np.where(row_norms(across)[:, None] > 1e-6, _unit(across), np.cross(t, listed.chalks))
    outward = np.cross(d, across)
    flat = d - dot(d, t)[:, None] * t
    angles = np.linspace(0.0, 2.0 * np.pi, _PLACES, endpoint=False)
    beads = np.zeros((count, _PLACES, len(_SWINGS), 3))
    lines = np.zeros_like(beads)
    for place, angle in enumerate(angles):
        side = np.cos(angle) * outward + np.sin(angle) * across
        middle = _unit(side + _unit(flat + 1e-3 * side) + 0.5 * d)
        bead = np.cross(d, side)
        for way, (swing, tip) in enumerate(_SWINGS):
            swung = turned(middle, np.cross(bead, middle), np.full(count, np.radians(swing)))
            lines[:, place, way] = turned(swung, bead, np.full(count, np.radians(tip)))
            beads[:, place, way] = tree.starts + side * tree.start_diameters[:, None] / 2.0
    corners = 90.0 - (90.0 - listed.leans[:, None]) * np.cos(angles)
    return beads, lines, corners


def _unit(rows: Floats) -> Floats:
    return np.asarray(rows / np.maximum(row_norms(rows), 1e-9)[:, None])
