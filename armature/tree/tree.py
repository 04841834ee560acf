"""The Tree: every bar of a forged tree as a row of arrays, parents before children.

Size letters: M members, V vertices of their centrelines, L leaves. Lengths and diameters are mm, axes right-handed,
z up, the foot of the trunk at the origin.

A member starts on the surface of its parent: its axis leaves the parent's centreline at the point P at `stations`, and
the bar begins `setbacks` further along that axis. A member without a parent stands on the base, at a point of its own.
Diameters are told at places along each bar and run straight between them.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from armature.tree.centreline import Chains, Floats, Ints, joined, locate
from armature.tree.sketch import sketched
from armature.tree.tapers import Tapers, cones, joined_tapers

if TYPE_CHECKING:
    import networkx

Strings = NDArray[np.str_]

RANKS = ("trunk", "limb", "branch", "branchlet", "twig", "root")
PLURALS = ("trunks", "limbs", "branches", "branchlets", "twigs", "roots")
TRUNK, LIMB, BRANCH, BRANCHLET, TWIG, ROOT = range(6)


@dataclass(frozen=True, eq=False)
class Leaves:
    """L leaves: tags (L,), twigs (L,) member rows, stations (L,) mm along the twig, designs (L,) from 1, names (L,)."""

    tags: Strings
    twigs: Ints
    stations: Floats
    designs: Ints
    names: Strings

    def __len__(self) -> int:
        return len(self.tags)


def no_leaves() -> Leaves:
    """Return a record of no leaves."""
    none = np.zeros(0, dtype=np.int64)
    return Leaves(np.zeros(0, dtype=np.str_), none, np.zeros(0), none, np.zeros(0, dtype=np.str_))


@dataclass(frozen=True, eq=False)
class Tree:
    """M members, parents before children, and the leaves that hang on them.

    tags: (M,) as stamped. ranks: (M,) index into RANKS. parents: (M,) row of the parent, -1 for one on the base.
    chains: M centrelines. tapers: M lists of diameters. stations: (M,) mm along the parent's centreline at which the
    member's axis leaves it. setbacks: (M,) mm from there to where the bar begins. stock_diameters: (M,) mm, bar as
    bought. walls: (M,) mm, wall of a pipe, 0 for a solid bar. departures: (M,) mm, station at which a rod leaves the
    bundle that it runs in, 0 for a bar by itself. leaves: L leaves.
    """

    tags: Strings
    ranks: Ints
    parents: Ints
    chains: Chains
    tapers: Tapers
    stations: Floats
    setbacks: Floats
    stock_diameters: Floats
    walls: Floats
    departures: Floats
    leaves: Leaves

    def __len__(self) -> int:
        return len(self.tags)

    def __repr__(self) -> str:
        counts = (np.count_nonzero(self.ranks == rank) for rank in range(len(RANKS)))
        ranks = [
            f"{count} {RANKS[rank] if count == 1 else PLURALS[rank]}" for rank, count in enumerate(counts) if count
        ]
        low, high = self.chains.vertices.min(axis=0), self.chains.vertices.max(axis=0)
        size = f"{high[2] / 1000:.2f} m high, {(high[0] - low[0]) / 1000:.2f} by {(high[1] - low[1]) / 1000:.2f} m"
        return f"Tree: {', '.join(ranks)}, {len(self.leaves)} leaves; {size}"

    def _repr_html_(self) -> str:
        """Return a small picture with a line below, for a notebook."""
        return f"{sketched(self.chains, self.start_diameters, self.hang_points)}<br>{self!r}"

    @cached_property
    def rows(self) -> dict[str, int]:
        """Row of each tag."""
        return {str(tag): row for row, tag in enumerate(self.tags)}

    @cached_property
    def depths(self) -> Ints:
        """Joints between each member and the trunk: (M,)."""
        return depths(self.parents)

    @cached_property
    def levels(self) -> list[Ints]:
        """Member rows by depth, trunk first."""
        return levels(self.depths)

    @cached_property
    def lengths(self) -> Floats:
        """Centreline length of each member from its start to its tip: (M,) mm."""
        return self.chains.lengths

    @cached_property
    def tips(self) -> Floats:
        """End point of each member: (M, 3) mm."""
        return self.chains.vertices[self.chains.offsets[1:] - 1]

    @cached_property
    def starts(self) -> Floats:
        """Point at which each bar begins: (M, 3) mm."""
        return self.chains.vertices[self.chains.offsets[:-1]]

    @cached_property
    def axes(self) -> Floats:
        """Unit direction in which each bar begins: (M, 3)."""
        return self.chains.directions[self.chains.firsts[:-1]]

    @property
    def start_diameters(self) -> Floats:
        """Diameter of each member at its start, swelling and all: (M,) mm."""
        return self.tapers.starts

    @property
    def end_diameters(self) -> Floats:
        """Diameter of each member at its tip: (M,) mm."""
        return self.tapers.tips

    @property
    def taper_starts(self) -> Floats:
        """First station behind the swelling after which each member gets thinner: (M,) mm."""
        return self.tapers.falls

    @cached_property
    def has_leader(self) -> bool:
        """Whether a trunk runs on above its limbs and bears branches of its own."""
        borne = self.parents[(self.ranks > LIMB) & (self.ranks != ROOT)]
        return bool((self.ranks[borne[borne >= 0]] == TRUNK).any())

    @cached_property
    def bases(self) -> Floats:
        """Point on the base at which a member without a parent stands: (M, 3) mm, 0 for all others."""
        points = self.starts - self.setbacks[:, None] * self.axes
        return np.asarray(np.where(self.parents[:, None] < 0, points, 0.0) + 0.0)

    @cached_property
    def volumes(self) -> Floats:
        """Steel of each member as forged: (M,) mm3, less a pipe's bore."""
        return self.tapers.volumes(self.lengths, self.walls)

    @cached_property
    def foliage(self) -> Ints:
        """Leaves on each member: (M,)."""
        return np.bincount(self.leaves.twigs, minlength=len(self)).astype(np.int64)

    @cached_property
    def hang_points(self) -> Floats:
        """Where the loops sit: (L, 3) mm, on the underside of the twig."""
        points, tangents, _ = locate(self.chains, self.leaves.twigs, self.leaves.stations)
        down = np.array([0.0, 0.0, -1.0]) + tangents * tangents[:, 2:]
        steep = np.sqrt(np.maximum(1.0 - tangents[:, 2:] ** 2, 0.0))
        below = np.where(steep > 1e-6, down / np.maximum(steep, 1e-6), [1.0, 0.0, 0.0])
        return points + below * self.diameters_at(self.leaves.twigs, self.leaves.stations)[:, None] / 2.0

    def diameters_at(self, members: ArrayLike, stations: ArrayLike) -> Floats:
        """Return outside diameters (Q,) mm at stations (Q,) mm of the members (Q,)."""
        return self.tapers.at(self.lengths, members, stations)

    def of_rank(self, rank: int) -> Ints:
        """Return the rows of one rank."""
        return np.flatnonzero(self.ranks == rank)

    def subtree(self, row: int) -> Ints:
        """Return the rows of a member and of all that it carries."""
        inside = np.zeros(len(self), dtype=bool)
        inside[row] = True
        for level in self.levels[int(self.depths[row]) + 1 :]:
            inside[level] = inside[self.parents[level]]
        return np.flatnonzero(inside)

    def summed_to_root(self, values: Floats) -> Floats:
        """Return, for each member, the sum of `values` (M,) over the member and all that it carries."""
        totals = np.array(values, dtype=np.float64)
        for level in self.levels[:0:-1]:
            np.add.at(totals, self.parents[level], totals[level])
        return totals

    def graph(self) -> networkx.DiGraph[str]:
        """Return a networkx view: a node per tag with rank, length and diameters, an edge from parent to child."""
        import networkx

        view: networkx.DiGraph[str] = networkx.DiGraph()
        for row, tag in enumerate(self.tags.tolist()):
            view.add_node(
                tag,
                rank=RANKS[int(self.ranks[row])],
                length_mm=float(self.lengths[row]),
                start_mm=float(self.start_diameters[row]),
                end_mm=float(self.end_diameters[row]),
            )
            if self.parents[row] >= 0:
                view.add_edge(str(self.tags[self.parents[row]]), tag, station_mm=float(self.stations[row]))
        return view

    def hung(self, leaves: Leaves) -> Tree:
        """Return this tree with other leaves."""
        return replace(self, leaves=leaves)

    def alone(self, rows: ArrayLike) -> Tree:
        """Return the given members, in that order and without leaves, their parents still rows of this tree."""
        rows = np.asarray(rows, dtype=np.int64)
        columns = {name: getattr(self, name)[rows] for name in _COLUMNS}
        return Tree(
            **columns,
            parents=self.parents[rows],
            chains=self.chains.taken(rows),
            tapers=self.tapers.taken(rows),
            leaves=no_leaves(),
        )

    def taken(self, rows: ArrayLike) -> Tree:
        """Return the tree of the given rows, ascending and closed under parents, with the leaves that hang on them."""
        rows = np.asarray(rows, dtype=np.int64)
        new = np.full(len(self) + 1, -1, dtype=np.int64)
        new[rows] = np.arange(len(rows))
        kept = np.flatnonzero(new[self.leaves.twigs] >= 0)
        leaves = Leaves(**{f.name: getattr(self.leaves, f.name)[kept] for f in fields(Leaves)})
        columns = {name: getattr(self, name)[rows] for name in _COLUMNS}
        return Tree(
            **columns,
            parents=new[self.parents[rows]],
            chains=self.chains.taken(rows),
            tapers=self.tapers.taken(rows),
            leaves=replace(leaves, twigs=new[leaves.twigs]),
        )

    def grafted(self, *others: Tree) -> Tree:
        """Return this tree with the members of others as further rows; their parents are rows of the result."""
        parts = [self, *others]
        columns = {name: np.concatenate([getattr(part, name) for part in parts]) for name in (*_COLUMNS, "parents")}
        return Tree(
            **columns,
            chains=joined([part.chains for part in parts]),
            tapers=joined_tapers([part.tapers for part in parts]),
            leaves=self.leaves,
        )

    def coned(
        self, starts: ArrayLike | None = None, ends: ArrayLike | None = None, froms: ArrayLike | None = None
    ) -> Tree:
        """Return this tree with every bar one cone: other diameters at starts and tips (M,) mm, falling from other
        stations (M,) mm on; what is left out stays."""
        given = (starts, self.start_diameters), (ends, self.end_diameters), (froms, self.taper_starts)
        return replace(self, tapers=cones(*(old if new is None else new for new, old in given)))

    def rounded(self) -> Tree:
        """Return this tree with lengths to a tenth of a nanometre and diameters to a thousandth of one.

        The last digits of sines and powers differ from one kind of processor to the next; here they are cut off, far
        above that and far below what a list of joints and bends tells.
        """
        chains, leaves, tapers = self.chains, self.leaves, self.tapers
        return replace(
            self,
            chains=Chains(chains.offsets, _to(chains.vertices, 7), _to(chains.radii, 7)),
            stations=_to(self.stations, 7),
            setbacks=_to(self.setbacks, 7),
            departures=_to(self.departures, 7),
            # Bars in fractions of an inch have up to nine decimals.
            tapers=Tapers(
                tapers.offsets,
                _to(tapers.stations, 7),
                _to(tapers.diameters, 9),
                _to(tapers.tips, 9),
                _to(tapers.swells, 7),
            ),
            leaves=replace(leaves, stations=_to(leaves.stations, 7)),
        )

    def same_as(self, other: Tree) -> bool:
        """Return whether both trees hold the same rows to the last bit."""
        mine, theirs = list(_arrays(self)), list(_arrays(other))
        return all(a.shape == b.shape and bool((a == b).all()) for a, b in zip(mine, theirs, strict=True))


def _to(values: Floats, decimals: int) -> Floats:
    return np.asarray(np.round(values, decimals) + 0.0)


def depths(parents: Ints) -> Ints:
    """Return the number of joints between each member and the trunk: (M,), from the rows of the parents (M,)."""
    counts = np.zeros(len(parents), dtype=np.int64)
    at = parents.copy()
    while (at >= 0).any():
        counts += at >= 0
        at = np.where(at >= 0, parents[at], -1)
    return counts


def levels(depth: Ints) -> list[Ints]:
    """Return the member rows of each depth, trunk first, from the depths (M,)."""
    order = np.argsort(depth, kind="stable")
    return np.split(order, np.cumsum(np.bincount(depth))[:-1])


_COLUMNS = (
    "tags",
    "ranks",
    "stations",
    "setbacks",
    "stock_diameters",
    "walls",
    "departures",
)


def _arrays(tree: Tree) -> list[NDArray[np.generic]]:
    own = [getattr(tree, name) for name in (*_COLUMNS, "parents")]
    chains = [tree.chains.offsets, tree.chains.vertices, tree.chains.radii]
    tapers = [getattr(tree.tapers, field.name) for field in fields(Tapers)]
    return [*own, *chains, *tapers, *(getattr(tree.leaves, field.name) for field in fields(Leaves))]
