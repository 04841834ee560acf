"""The Skeleton: what the eye needs of any tree, grown here or measured from life, as arrays.

Size letters: M members, P points of their polylines, L leaves. Lengths are mm, axes right-handed, z up.

A member is a polyline from where it starts on its parent to its tip; parents come before children. The station of a
member is the distance along its parent's polyline at which it leaves the parent.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from armature.tree import ROOT, Floats, Ints, Strings, Tree, depths, levels, row_norms, sampled

# Arcs may be drawn as chords where the chord leaves them by less than this share of the height: nobody sees it.
_CHORD = 0.002


@dataclass(frozen=True, eq=False)
class Skeleton:
    """M members as polylines, with where and how thick they are.

    tags: (M,) as stamped, or the number of the last node in a measured file. ranks: (M,) joints to the trunk, or the
    ranks of a design. parents: (M,) row of the parent, -1 for the trunk. stations: (M,) mm along the parent. offsets:
    (M + 1,) first point of each member, then P. points: (P, 3) mm. radii: (P,) mm. leaves: (L, 3) mm, (0, 3) if bare.
    hung: (L,) member that carries each leaf.
    designed: counts and sizes were chosen by a maker; false for a tree measured from life.
    """

    tags: Strings
    ranks: Ints
    parents: Ints
    stations: Floats
    offsets: Ints
    points: Floats
    radii: Floats
    leaves: Floats
    hung: Ints
    designed: bool

    def __len__(self) -> int:
        return len(self.tags)

    @cached_property
    def members(self) -> Ints:
        """Member of each point: (P,)."""
        return np.repeat(np.arange(len(self)), np.diff(self.offsets))

    @cached_property
    def heads(self) -> Ints:
        """Points that have a next point in their member, the starts of the segments: (P - M,)."""
        inner = np.ones(len(self.points), dtype=bool)
        inner[self.offsets[1:] - 1] = False
        return np.flatnonzero(inner)

    @cached_property
    def steps(self) -> Floats:
        """Vector of each segment: (P - M, 3) mm."""
        return self.points[self.heads + 1] - self.points[self.heads]

    @cached_property
    def spans(self) -> Floats:
        """Length of each segment: (P - M,) mm."""
        return row_norms(self.steps)

    @cached_property
    def middles(self) -> Floats:
        """Middle of each segment: (P - M, 3) mm."""
        return self.points[self.heads] + self.steps / 2.0

    @cached_property
    def reaches(self) -> Floats:
        """Distance over all members, laid end to end, of each point: (P,) mm."""
        laid = np.zeros(len(self.points))
        laid[self.heads + 1] = self.spans
        return np.cumsum(laid)

    @cached_property
    def runs(self) -> Floats:
        """Distance of each point from the start of its member: (P,) mm."""
        return self.reaches - self.reaches[self.offsets[:-1]][self.members]

    @cached_property
    def lengths(self) -> Floats:
        """Length along each member: (M,) mm."""
        return self.runs[self.offsets[1:] - 1]

    @cached_property
    def starts(self) -> Floats:
        """First point of each member: (M, 3) mm."""
        return self.points[self.offsets[:-1]]

    @cached_property
    def tips(self) -> Floats:
        """Last point of each member: (M, 3) mm."""
        return self.points[self.offsets[1:] - 1]

    @cached_property
    def feet(self) -> Floats:
        """Point of the parent's centreline at which each member leaves it, the foot of the tree for the trunk: (M, 3)
        mm."""
        feet = self.starts.copy()
        grows = np.flatnonzero(self.parents >= 0)
        feet[grows] = self.located(self.parents[grows], self.stations[grows])[0]
        return feet

    @cached_property
    def foot(self) -> Floats:
        """Start of the first trunk: (3,) mm."""
        return np.asarray(self.starts[int(np.argmax(self.parents < 0))])

    @cached_property
    def height(self) -> float:
        """Greatest extent of the tree upward, or sideways where that is more than four times as much: mm."""
        extent = np.ptp(self.points, axis=0)
        return float(max(extent[2], extent.max() / 4.0, 1e-9))

    @cached_property
    def levels(self) -> list[Ints]:
        """Member rows by the number of joints below them."""
        return levels(depths(self.parents))

    @cached_property
    def children(self) -> Ints:
        """Rows of all members with a parent, by parent and then by station: (M - roots,)."""
        order = np.lexsort((self.stations, self.parents))
        return order[self.parents[order] >= 0]

    def located(self, rows: ArrayLike, stations: ArrayLike) -> tuple[Floats, Ints]:
        """Return points (Q, 3) mm and segments (Q,) at the stations (Q,) mm of the members (Q,), kept inside the
        member."""
        rows = np.asarray(rows, dtype=np.int64)
        first, last = self.offsets[rows], self.offsets[rows + 1] - 1
        place = self.reaches[first] + np.clip(np.asarray(stations), 0.0, self.lengths[rows])
        at = np.clip(np.searchsorted(self.reaches, place, side="right") - 1, first, np.maximum(last - 1, first))
        segments = np.clip(at - rows, 0, len(self.heads) - 1)
        share = (place - self.reaches[at]) / np.maximum(self.spans[segments], 1e-12)
        return self.points[at] + np.clip(share, 0.0, 1.0)[:, None] * self.steps[segments], segments

    def radii_at(self, rows: ArrayLike, stations: ArrayLike) -> Floats:
        """Return radii (Q,) mm at the stations (Q,) mm of the members (Q,)."""
        rows = np.asarray(rows, dtype=np.int64)
        place = self.reaches[self.offsets[rows]] + np.clip(np.asarray(stations), 0.0, self.lengths[rows])
        return np.asarray(np.interp(place, self.reaches, self.radii))

    def summed_to_root(self, values: Floats) -> Floats:
        """Return, for each member, the sum of `values` (M,) over the member and all that it carries."""
        totals = np.array(values, dtype=np.float64)
        for level in self.levels[:0:-1]:
            np.add.at(totals, self.parents[level], totals[level])
        return totals


def skeleton_of(tree: Tree) -> Skeleton:
    """Return the skeleton of a grown tree: its centrelines as polylines, its diameters, its leaves.

    >>> from tests.trees import gallows
    >>> skeleton_of(gallows()).lengths.tolist()
    [1000.0, 500.0]
    """
    # Roots are no part of the crown; they stand last, so that rows stay the tree's own.
    tree = tree.taken(np.flatnonzero(tree.ranks != ROOT)) if (tree.ranks == ROOT).any() else tree
    height = float(np.ptp(tree.chains.vertices[:, 2]))
    drawn = sampled(tree.chains, _CHORD * max(height, 1.0))
    rows = np.repeat(np.arange(len(tree)), np.diff(drawn.offsets))
    return Skeleton(
        tags=tree.tags,
        ranks=tree.ranks,
        parents=tree.parents,
        stations=tree.stations,
        offsets=drawn.offsets,
        points=drawn.points,
        # A swelling ends long before the next point: the bar speaks for itself.
        radii=tree.tapers.unswollen().at(tree.lengths, rows, drawn.stations) / 2.0,
        leaves=tree.hang_points if len(tree.leaves) else np.zeros((0, 3)),
        hung=tree.leaves.twigs,
        designed=True,
    )
