"""The tree cut into short elements: nodes wherever a bend, a joint, a leaf or a place of a taper is.

Size letters: M members, N nodes, L leaves. Element i runs from node i to node i + 1 of the same member; no element
starts at a member's last node, and whatever an array says of it there is zero. Lengths are mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError
from armature.tree import Chains, Floats, Ints, Tree, along, bore_ends, locate

# Two-point Gauss: exact for the weight of a straight taper (a square) times its lever (a line).
LOAD_SHARES = (0.5 - 0.5 / np.sqrt(3.0), 0.5 + 0.5 / np.sqrt(3.0))

# Stations nearer than this are one node: finer than a forge, and coarse enough for any frame solver. An element's
# stiffness goes with the inverse cube of its length: one of six thousandths of a millimetre, beside others of thirty,
# costs a general solver its digits.
SAME_STATION_MM = 0.1


@dataclass(frozen=True, eq=False)
class Frame:
    """N nodes along M members.

    tree: the tree. offsets: (M + 1,) first node of each member, then N. members: (N,). stations: (N,) mm.
    points: (N, 3) mm. tangents: (N, 3). straights: (N,) straight on which element i lies, with the arc behind it.
    diameters: (N,) mm. bores: (N,) mm, 0 for a solid bar. parent_nodes: (M,) node that holds each member, -1 for the
    ground. hangs: (L,) node of each leaf.
    """

    tree: Tree
    offsets: Ints
    members: Ints
    stations: Floats
    points: Floats
    tangents: Floats
    straights: Ints
    diameters: Floats
    bores: Floats
    parent_nodes: Ints
    hangs: Ints

    def __len__(self) -> int:
        return len(self.members)

    @cached_property
    def is_last(self) -> NDArray[np.bool_]:
        """Whether a node ends its member: (N,)."""
        last = np.zeros(len(self), dtype=bool)
        last[self.offsets[1:] - 1] = True
        return last

    @cached_property
    def spans(self) -> Floats:
        """Length of each element along its centreline: (N,) mm."""
        spans = np.zeros(len(self))
        spans[:-1] = np.diff(self.stations)
        spans[self.is_last] = 0.0
        return spans

    @cached_property
    def joints(self) -> Ints:
        """Nodes that hold a member: sorted, each once."""
        return np.unique(self.parent_nodes[self.parent_nodes >= 0])

    @cached_property
    def load_places(self) -> tuple[tuple[Floats, Floats, Floats, Floats], ...]:
        """What `at` says of the two places of each element where loads are gathered: every load asks for them."""
        places = (self.at(share) for share in LOAD_SHARES)
        return tuple(
            (np.asfortranarray(point), np.asfortranarray(along), diameter, bore)
            for point, along, diameter, bore in places
        )

    def at(self, share: float, rows: slice = slice(None)) -> tuple[Floats, Floats, Floats, Floats]:
        """Return points (n, 3), tangents (n, 3), diameters (n,) and bores (n,) at a share (0 to 1) of each element."""
        straights = self.straights[rows]
        stations = self.stations[rows] + share * self.spans[rows]
        points, tangents = along(self.tree.chains, straights, stations - self.tree.chains.marks[straights])
        after = np.minimum(np.arange(*rows.indices(len(self))) + (self.spans[rows] > 0.0), len(self) - 1)
        start = self.diameters[rows]
        diameter = start + share * (self.diameters[after] - start)
        return points, tangents, diameter, bores(diameter, self.tree.walls[self.members[rows]])


def frame(tree: Tree, parts: int = 4, arc_deg: float = 22.5, extra: tuple[Ints, Floats] | None = None) -> Frame:
    """Return the tree as elements: at most a `parts`-th of a member long, and at most `arc_deg` of an arc.

    `extra` are further member rows and stations (mm) that must be nodes, such as the ends of ties. Raises
    CommissionError where a member has no stiffness, because its diameter or length is not above zero.

    >>> from tests.trees import post
    >>> len(frame(post(), parts=4))
    5
    """
    _require_stiffness(tree)
    members, stations = _asked(tree, extra)
    members, stations = _thinned(members, stations)
    members, stations = _split(tree, members, stations, parts, np.radians(arc_deg))
    points, tangents, _ = locate(tree.chains, members, stations)
    offsets = np.searchsorted(members, np.arange(len(tree) + 1))
    diameters = tree.diameters_at(members, stations)
    kids = np.flatnonzero(tree.parents >= 0)
    parent_nodes = np.full(len(tree), -1, dtype=np.int64)
    parent_nodes[kids] = nodes_at(tree, members, stations, tree.parents[kids], tree.stations[kids])
    after = np.minimum(np.arange(1, len(members) + 1), len(members) - 1)
    middle = np.where(members[after] == members, (stations + stations[after]) / 2.0, stations)
    return Frame(
        tree=tree,
        offsets=offsets,
        members=members,
        stations=stations,
        points=np.asfortranarray(points),
        tangents=np.asfortranarray(tangents),
        straights=locate(tree.chains, members, middle)[2],
        diameters=diameters,
        bores=bores(diameters, tree.walls[members]),
        parent_nodes=parent_nodes,
        hangs=nodes_at(tree, members, stations, tree.leaves.twigs, tree.leaves.stations),
    )


def bores(diameters: Floats, walls: Floats) -> Floats:
    """Return bores (n,) mm for outside diameters (n,) and walls (n,) mm: a pipe keeps its wall as it is drawn in."""
    return np.where(walls > 0.0, np.maximum(diameters - 2.0 * walls, 0.0), 0.0)


def nodes_at(tree: Tree, members: Ints, stations: Floats, rows: Ints, places: Floats) -> Ints:
    """Return the node nearest to each place (Q,) mm on the member rows (Q,), given the nodes' members and stations."""
    line = np.concatenate([[0.0], np.cumsum(tree.lengths + 1.0)])
    nodes = line[members] + stations
    wanted = line[rows] + np.clip(places, 0.0, tree.lengths[rows])
    after = np.clip(np.searchsorted(nodes, wanted), 1, len(nodes) - 1)
    return np.where(np.abs(nodes[after - 1] - wanted) <= np.abs(nodes[after] - wanted), after - 1, after)


def _require_stiffness(tree: Tree) -> None:
    thin = np.minimum(np.minimum.reduceat(tree.tapers.diameters, tree.tapers.offsets[:-1]), tree.end_diameters)
    weak = np.flatnonzero((thin <= 0.0) | (tree.lengths <= 0.0))
    if len(weak):
        row = int(weak[0])
        value = f"{tree.start_diameters[row]:g} to {tree.end_diameters[row]:g} mm over {tree.lengths[row]:g} mm"
        raise CommissionError(f"member {tree.tags[row]}", "a bar needs diameter and length above 0 to be stiff", value)


def _asked(tree: Tree, extra: tuple[Ints, Floats] | None) -> tuple[Ints, Floats]:
    chains, all_rows = tree.chains, np.arange(len(tree))
    kids = np.flatnonzero(tree.parents >= 0)
    wanted = [
        (chains.members, chains.marks),
        (chains.members, chains.marks + chains.feeds),
        (all_rows, tree.lengths),
        (tree.tapers.members, tree.tapers.stations),
        (tree.parents[kids], tree.stations[kids]),
        (tree.leaves.twigs, tree.leaves.stations),
        _closings(tree),
    ] + ([] if extra is None else [extra])
    members = np.concatenate([rows for rows, _ in wanted])
    stations = np.clip(np.concatenate([places for _, places in wanted]), 0.0, tree.lengths[members])
    stations[stations < SAME_STATION_MM] = 0.0
    return members, stations


def _closings(tree: Tree) -> tuple[Ints, Floats]:
    """Return the pipes that are drawn in until their bore closes, and the stations (mm) where it does."""
    shut = np.flatnonzero((tree.walls > 0.0) & (tree.end_diameters < 2.0 * tree.walls))
    return shut, bore_ends(tree)[shut]


def _thinned(members: Ints, stations: Floats) -> tuple[Ints, Floats]:
    order = np.lexsort((stations, members))
    members, stations = members[order], stations[order]
    new = np.ones(len(members), dtype=bool)
    new[1:] = (np.diff(stations) > SAME_STATION_MM) | (np.diff(members) > 0)
    # A bar's end stays, and what lies too near before it goes.
    ends = np.flatnonzero(np.diff(members, append=-1))
    near = ends[~new[ends]]
    firsts = np.maximum.accumulate(np.where(new, np.arange(len(new)), 0))[near]
    new[firsts[stations[firsts] > 0.0]] = False
    new[near] = True
    return members[new], stations[new]


def _split(tree: Tree, members: Ints, stations: Floats, parts: int, arc: float) -> tuple[Ints, Floats]:
    after = np.append(stations[1:], 0.0)
    spans = np.where(np.append(members[1:], -1) == members, after - stations, 0.0)
    straights = locate(tree.chains, members, stations + spans / 2.0)[2]
    arcs = _arc_limit(tree.chains, straights, members, stations + spans / 2.0, arc)
    limit = np.minimum(tree.lengths[members] / parts, arcs)
    # A hair's allowance: a span of exactly the limit must not be cut by rounding.
    counts = np.maximum(np.ceil(spans / limit - 1e-9), 1.0).astype(np.int64)
    firsts = np.cumsum(counts) - counts
    step = np.arange(counts.sum()) - np.repeat(firsts, counts)
    return np.repeat(members, counts), np.repeat(stations, counts) + step * np.repeat(spans / counts, counts)


def _arc_limit(chains: Chains, straights: Ints, members: Ints, middles: Floats, arc: float) -> Floats:
    on_arc = middles > chains.marks[straights] + chains.feeds[straights]
    radii = chains.bend_radii[straights]
    return np.where(on_arc & (radii > 0.0) & (members == chains.members[straights]), radii * arc, np.inf)
