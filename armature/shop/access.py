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
from scipy.spatial import cKDTree

from armature.centreline import Floats, Ints, locate, row_norms, sampled, turned
from armature.joints import Joints, dot, joints
from armature.tree import Tree

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


def weld_order(tree: Tree, torch: Torch | None = None) -> WeldOrder:
    """Return the order of welding, with the joints of one parent together as far as reach allows.

    A joint that no order brings into reach is welded as early as can be; its `reached` says how much of it can be.
    """
    torch = torch or Torch()
    blockers = _blockers(tree, joints(tree), torch)
    standing = np.ones(len(tree), dtype=bool)
    children = np.bincount(tree.parents[1:], minlength=len(tree)) if len(tree) > 1 else np.zeros(1, dtype=np.int64)
    late = np.array([_reached(each, standing) for each in blockers])
    taken_off, reached = _taken_apart(tree, blockers, standing, children, late.copy(), torch.places)
    order = np.array([0, *taken_off[::-1]], dtype=np.int64)
    return WeldOrder(order, reached, late, _musts(blockers, late, order, torch.places))


def _taken_apart(
    tree: Tree, blockers: list[list[list[Ints]]], standing: np.ndarray, children: Ints, reached: Ints, places: int
) -> tuple[list[int], Ints]:
    # Last off first on: by branch, tips first, so that backwards one parent's joints come together.
    rank = np.lexsort((-np.arange(len(tree)), -tree.depths))
    waiting = [int(row) for row in rank if tree.parents[row] >= 0]
    found: list[int] = []
    while waiting:
        free = [row for row in waiting if not children[row]]
        ready = [row for row in free if reached[row] >= places]
        batch = ready or [max(free, key=lambda row: (int(reached[row]), row))]
        for row in batch:
            standing[row] = False
            children[tree.parents[row]] -= 1
            found.append(row)
        gone = set(batch)
        waiting = [row for row in waiting if row not in gone]
        for row in waiting:
            if reached[row] < _PLACES:
                reached[row] = _reached(blockers[row], standing)
    return found, reached


def _reached(places: list[list[Ints]], standing: np.ndarray) -> int:
    return sum(any(not standing[way].any() for way in ways) for ways in places)


def _musts(blockers: list[list[list[Ints]]], late: Ints, order: Ints, places: int) -> dict[int, list[int]]:
    when = np.argsort(order)
    musts = {}
    for row in np.flatnonzero(late < places).tolist():
        inside = {int(other) for ways in blockers[row] for way in ways for other in way.tolist()}
        after = sorted(other for other in inside if when[other] > when[row])
        if after:
            musts[row] = after
    return musts


def _blockers(tree: Tree, listed: Joints, torch: Torch) -> list[list[list[Ints]]]:
    """Return, for each row, place and way of holding the torch, the rows that stand in its way; none for the trunk.

    A corner closer than the torch can enter is blocked by the child itself, which never goes.
    """
    beads, lines, corners = _approaches(tree, listed)
    found: list[list[list[set[int]]]] = [[[set() for _ in _SWINGS] for _ in range(_PLACES)] for _ in range(len(tree))]
    for row, place in np.argwhere(corners < _LEAST_CORNER).tolist():
        for way in found[row][place]:
            way.add(row)
    for rows, places, ways, others in _hits(tree, beads, lines, torch):
        own = (others == rows) | (others == tree.parents[rows])
        for row, place, way, other in np.unique(np.stack([rows, places, ways, others])[:, ~own], axis=1).T.tolist():
            found[row][place][way].add(other)
    return [[[np.array(sorted(way), dtype=np.int64) for way in ways] for ways in places] for places in found]


def _hits(tree: Tree, beads: Floats, lines: Floats, torch: Torch) -> Iterator[tuple[Ints, Ints, Ints, Ints]]:
    """Yield rows, places, ways and the rows in their way, by distance along the torch and thickness of bar."""
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
            row, place, way = np.unravel_index(asks[close], beads.shape[:-1])
            yield row, place, way, owners[hits[close]]


def _approaches(tree: Tree, listed: Joints) -> tuple[Floats, Floats, Floats]:
    """Return beads (M, K, A, 3) mm, directions out along the torch (M, K, A, 3) and corners (M, K) deg."""
    count = len(tree)
    d = tree.axes
    host = np.maximum(tree.parents, 0)
    t = np.where(tree.parents[:, None] >= 0, locate(tree.chains, host, tree.stations)[1], [0.0, 0.0, 1.0])
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
