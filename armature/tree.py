"""The Tree: every bar of a forged tree as a row of arrays, parents before children.

Size letters: M members, V vertices of their centrelines, L leaves. Lengths and diameters are mm, axes right-handed,
z up, the foot of the trunk at the origin.

A member starts on the surface of its parent: its axis leaves the parent's centreline at the point P at `stations`, and
the bar begins `setbacks` further along that axis. Diameters hold from the start to `taper_starts`, then fall
linearly to the tip.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from armature.centreline import Chains, Floats, Ints, joined, locate

if TYPE_CHECKING:
    import networkx

Strings = NDArray[np.str_]

RANKS = ("trunk", "limb", "branch", "branchlet", "twig")
PLURALS = ("trunks", "limbs", "branches", "branchlets", "twigs")
TRUNK, LIMB, BRANCH, BRANCHLET, TWIG = range(5)


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

    tags: (M,) as stamped. ranks: (M,) index into RANKS. parents: (M,) row of the parent, -1 for the trunk.
    chains: M centrelines. stations: (M,) mm along the parent's centreline at which the member's axis leaves it.
    setbacks: (M,) mm from there to where the bar begins. start_diameters, end_diameters: (M,) mm.
    taper_starts: (M,) mm, station from which the diameter falls. stock_diameters: (M,) mm, bar as bought.
    walls: (M,) mm, wall of a pipe, 0 for a solid bar. leaves: L leaves.
    """

    tags: Strings
    ranks: Ints
    parents: Ints
    chains: Chains
    stations: Floats
    setbacks: Floats
    start_diameters: Floats
    end_diameters: Floats
    taper_starts: Floats
    stock_diameters: Floats
    walls: Floats
    leaves: Leaves

    def __len__(self) -> int:
        return len(self.tags)

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

    @cached_property
    def volumes(self) -> Floats:
        """Steel of each member as forged: (M,) mm3, cylinder to the taper's start and frustum on, less a pipe's
        bore."""
        d, e, full = self.start_diameters, self.end_diameters, self.taper_starts
        solid = _frustum(d, d, full) + _frustum(d, e, self.lengths - full)
        wide = np.where(self.walls > 0.0, d - 2.0 * self.walls, 0.0)
        narrow = np.where(self.walls > 0.0, e - 2.0 * self.walls, 0.0)
        # Where a pipe is drawn in below twice its wall the bore closes before the tip.
        open_share = np.where(narrow < 0.0, wide / np.maximum(wide - narrow, 1e-9), 1.0)
        tapered_bore = _frustum(wide, np.maximum(narrow, 0.0), open_share * (self.lengths - full))
        return np.asarray(solid - _frustum(wide, wide, full) - tapered_bore)

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
        rows = np.asarray(members, dtype=np.int64)
        taper = np.maximum(self.lengths[rows] - self.taper_starts[rows], 1e-9)
        share = np.clip((np.asarray(stations) - self.taper_starts[rows]) / taper, 0.0, 1.0)
        return np.asarray(self.start_diameters[rows] + share * (self.end_diameters[rows] - self.start_diameters[rows]))

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
        return Tree(**columns, parents=self.parents[rows], chains=self.chains.taken(rows), leaves=no_leaves())

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
            leaves=replace(leaves, twigs=new[leaves.twigs]),
        )

    def grafted(self, *others: Tree) -> Tree:
        """Return this tree with the members of others as further rows; their parents are rows of the result."""
        parts = [self, *others]
        columns = {name: np.concatenate([getattr(part, name) for part in parts]) for name in (*_COLUMNS, "parents")}
        return Tree(**columns, chains=joined([part.chains for part in parts]), leaves=self.leaves)

    def rounded(self) -> Tree:
        """Return this tree with lengths to a tenth of a nanometre and diameters to a thousandth of one.

        The last digits of sines and powers differ from one kind of processor to the next; here they are cut off, far
        above that and far below what a list of joints and bends tells.
        """
        chains, leaves = self.chains, self.leaves
        return replace(
            self,
            chains=Chains(chains.offsets, _to(chains.vertices, 7), _to(chains.radii, 7)),
            stations=_to(self.stations, 7),
            setbacks=_to(self.setbacks, 7),
            taper_starts=_to(self.taper_starts, 7),
            # Bars in fractions of an inch have up to nine decimals.
            start_diameters=_to(self.start_diameters, 9),
            end_diameters=_to(self.end_diameters, 9),
            leaves=replace(leaves, stations=_to(leaves.stations, 7)),
        )

    def same_as(self, other: Tree) -> bool:
        """Return whether both trees hold the same rows to the last bit."""
        mine, theirs = list(_arrays(self)), list(_arrays(other))
        return all(a.shape == b.shape and bool((a == b).all()) for a, b in zip(mine, theirs, strict=True))


def _to(values: Floats, decimals: int) -> Floats:
    return np.asarray(np.round(values, decimals) + 0.0)


def _frustum(wide: Floats, narrow: Floats, length: Floats) -> Floats:
    return np.asarray(np.pi / 12.0 * (wide * wide + wide * narrow + narrow * narrow) * length)


def depths(parents: Ints) -> Ints:
    """Return the number of joints between each member and the trunk: (M,), from the rows of the parents (M,)."""
    found = np.zeros(len(parents), dtype=np.int64)
    at = parents.copy()
    while (at >= 0).any():
        found += at >= 0
        at = np.where(at >= 0, parents[at], -1)
    return found


def levels(depth: Ints) -> list[Ints]:
    """Return the member rows of each depth, trunk first, from the depths (M,)."""
    order = np.argsort(depth, kind="stable")
    return np.split(order, np.cumsum(np.bincount(depth))[:-1])


_COLUMNS = (
    "tags",
    "ranks",
    "stations",
    "setbacks",
    "start_diameters",
    "end_diameters",
    "taper_starts",
    "stock_diameters",
    "walls",
)


def _arrays(tree: Tree) -> list[NDArray[np.generic]]:
    own = [getattr(tree, name) for name in (*_COLUMNS, "parents")]
    chains = [tree.chains.offsets, tree.chains.vertices, tree.chains.radii]
    return [*own, *chains, *(getattr(tree.leaves, field.name) for field in fields(Leaves))]
