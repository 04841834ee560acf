"""The order of forks: stream orders and their ratios, partition asymmetry.

Orders: Horton (Bull. Geol. Soc. Am. 56, 1945) and Strahler (Trans. Am. Geophys. Union 38, 1957): a tip has order 1;
where two streams of one order meet, the stream below has the next. Each member's far end is a tip.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.look.figures import Reading, nothing
from armature.look.skeleton import Skeleton
from armature.tree import Floats, Ints


@dataclass(frozen=True, eq=False)
class Streams:
    """S streams: orders (S,), lengths (S,) mm, diameters (S,) mm, the mean along each. member_orders: (M,) at each
    start."""

    orders: Ints
    lengths: Floats
    diameters: Floats
    member_orders: Ints


def tips_carried(skeleton: Skeleton) -> Ints:
    """Return the number of tips on each member and all that it carries: (M,)."""
    return skeleton.summed_to_root(np.ones(len(skeleton))).astype(np.int64)


def fork_tips(skeleton: Skeleton) -> tuple[Ints, Ints, Ints]:
    """Return, for each member with a parent, its row, the tips beyond its fork on the parent, and its own: three (K,).

    Members that leave at one point are taken one after the other.
    """
    order = skeleton.children
    own = tips_carried(skeleton)[order]
    parents = skeleton.parents[order]
    total = np.cumsum(own)
    last = np.searchsorted(parents, parents, side="right") - 1
    return order, total[last] - total + 1, own


def partition_asymmetry(skeleton: Skeleton) -> Reading:
    """Return the mean of (a - b) / (a + b - 2) over forks of a >= b tips, forks of two tips left out.

    0 where all forks are even, 1 where every fork sheds one tip (Van Pelt and others, Bull. Math. Biol. 54, 1992, from
    memory).
    """
    rows, beyond, own = fork_tips(skeleton)
    large = beyond + own > 2
    if large.sum() < 5:
        return nothing(int(large.sum()))
    rows, beyond, own = rows[large], beyond[large], own[large]
    uneven = np.abs(beyond - own) / (beyond + own - 2.0)
    order = rows[np.argsort(uneven, kind="stable")]
    few = max(len(rows) // 4, 1)
    return Reading(float(uneven.mean()), len(rows), low_rows=order[:few], high_rows=order[::-1][:few])


def streams(skeleton: Skeleton) -> Streams:
    """Return the Horton-Strahler streams of a tree, walked from the tips down."""
    at_joint = np.zeros(len(skeleton))
    grows = np.flatnonzero(skeleton.parents >= 0)
    at_joint[grows] = 2.0 * skeleton.radii_at(skeleton.parents[grows], skeleton.stations[grows])
    walk = _Walk(skeleton.lengths.tolist(), (2.0 * skeleton.radii[skeleton.offsets[1:] - 1]).tolist())
    for level in skeleton.levels[:0:-1]:
        orders = np.array([walk.order[row] for row in level.tolist()])
        thick = 2.0 * skeleton.radii[skeleton.offsets[level]]
        walk.close(level.tolist(), thick.tolist())
        for at in np.lexsort((-orders, -skeleton.stations[level], skeleton.parents[level])).tolist():
            row = int(level[at])
            walk.join(row, int(skeleton.parents[row]), float(skeleton.stations[row]), float(at_joint[row]))
    roots = skeleton.levels[0]
    walk.close(roots.tolist(), (2.0 * skeleton.radii[skeleton.offsets[roots]]).tolist())
    owner = np.array(walk.owners, dtype=np.int64)
    spans, wide = np.array(walk.spans), np.array(walk.wide)
    lengths = np.bincount(owner, spans, minlength=len(walk.kinds))
    weighted = np.bincount(owner, spans * wide, minlength=len(walk.kinds))
    thick = weighted / np.maximum(lengths, 1e-12)
    return Streams(np.array(walk.kinds), np.asarray(lengths, dtype=np.float64), thick, np.array(walk.order))


class _Walk:
    """The running order and stream of every member while its joints are met from the tip down.

    A stream's piece is closed at each joint and at the member's start; plain lists, since every step needs the one
    before.
    """

    def __init__(self, lengths: list[float], tip_diameters: list[float]) -> None:
        count = len(lengths)
        self.order, self.stream = [1] * count, list(range(count))
        self.place, self.thick = lengths, tip_diameters
        self.kinds: list[int] = [1] * count
        self.owners: list[int] = []
        self.spans: list[float] = []
        self.wide: list[float] = []

    def close(self, rows: list[int], diameters: list[float]) -> None:
        for row, diameter in zip(rows, diameters, strict=True):
            self._piece(row, 0.0, diameter)

    def join(self, row: int, parent: int, station: float, diameter: float) -> None:
        self._piece(parent, station, diameter)
        if self.order[row] == self.order[parent]:
            self.order[parent] += 1
            self.stream[parent] = len(self.kinds)
            self.kinds.append(self.order[parent])
        elif self.order[row] > self.order[parent]:
            self.order[parent], self.stream[parent] = self.order[row], self.stream[row]

    def _piece(self, row: int, station: float, diameter: float) -> None:
        self.owners.append(self.stream[row])
        self.spans.append(max(self.place[row] - station, 0.0))
        self.wide.append((self.thick[row] + diameter) / 2.0)
        self.place[row], self.thick[row] = station, diameter


def horton_ratio(streams: Streams, values: Floats | None, rising: bool) -> Reading:
    """Return 10 to the slope of log10 of the mean `values` (S,) a stream against the order; of the counts, falling, if
    none.

    Orders with at least one stream; fewer than three orders give nothing.
    """
    top = int(streams.orders.max(initial=0))
    if top < 3:
        return nothing(len(streams.orders))
    counts = np.bincount(streams.orders, minlength=top + 1)[1:].astype(float)
    kept = counts > 0
    means = (
        counts if values is None else np.bincount(streams.orders, values, minlength=top + 1)[1:] / np.maximum(counts, 1)
    )
    kept &= means > 0.0
    slope = np.polyfit(np.flatnonzero(kept), np.log10(means[kept]), 1)[0]
    return Reading(float(10.0 ** (slope if rising else -slope)), len(streams.orders))


def bifurcation_ratio(streams: Streams) -> Reading:
    """Return how many times as many streams each order has as the next."""
    return horton_ratio(streams, None, rising=False)


def length_ratio(streams: Streams) -> Reading:
    """Return how many times as long the streams of each order are as those of the order before."""
    return horton_ratio(streams, streams.lengths, rising=True)


def diameter_ratio(streams: Streams) -> Reading:
    """Return how many times as thick the streams of each order are as those of the order before."""
    return horton_ratio(streams, streams.diameters, rising=True)
