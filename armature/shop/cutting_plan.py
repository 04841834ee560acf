"""Which pieces come out of which bar: as few bars as can be, and whether that is proven.

Everything is in whole steps of a sawing unit, so that sums are exact. A piece weighs its length plus one kerf and a bar
holds its length plus one kerf: the last cut of a bar needs none.

Strategy: quick fillings against a lower bound; where they miss it, the stronger bound of column generation and a dive
along it; where a gap is still left and the list is not too long, a search by SciPy's MILP for a plan with one bar
less. All limits are counted in steps and not in seconds, so the same pieces give the same plan on any machine.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from armature.shop.columns import column_plan
from armature.shop.fewer import one_less
from armature.shop.quick_bars import Bars, fitted, least_slack
from armature.tree import Ints


@dataclass(frozen=True)
class Packing:
    """Bars, each a list of piece numbers in cutting order; the lower bound; `proof` says why there cannot be fewer.

    `proof` is "bound met", "searched" (no plan with one bar less exists) or "" (not proven: the search was given up).
    """

    bars: Bars
    bound: int
    proof: str


def packed(pieces: Ints, capacity: int, nodes: int = 400) -> Packing:
    """Return a plan for pieces (N,) in whole steps, each at most `capacity`, on bars of that capacity.

    `nodes` caps the last search.

    >>> packed(np.array([14, 14, 14, 13, 13, 13, 3, 3, 3]), 30).proof
    'bound met'
    """
    if not len(pieces):
        return Packing([], 0, "bound met")
    best = min((fitted(pieces, capacity, rule) for rule in ("first", "best")), key=len)
    bound = _simple_bound(pieces, capacity)
    if len(best) > bound:
        best = min(best, least_slack(pieces, capacity), key=len)
    if len(best) > bound:
        lower, dived = column_plan(pieces, capacity)
        bound, best = max(bound, lower), min(best, dived, key=len)
    proof = "bound met" if len(best) == bound else ""
    while len(best) > bound and not proof:
        fewer, settled = one_less(pieces, capacity, best, nodes)
        if fewer is None:
            proof = "searched" if settled else ""
            break
        best = fewer
        proof = "bound met" if len(best) == bound else ""
    return Packing([sorted(bar, key=lambda n: (-pieces[n], n)) for bar in best], bound, proof)


def _simple_bound(pieces: Ints, capacity: int) -> int:
    """Return the larger of the length bound and the bound L2 of Martello and Toth 1990, section 8.3."""
    total = math.ceil(int(pieces.sum()) / capacity)
    best = total
    for small in np.unique(pieces[pieces <= capacity // 2]).tolist() + [0]:
        long = pieces > capacity - small
        middle = (pieces <= capacity - small) & (2 * pieces > capacity)
        short = (2 * pieces <= capacity) & (pieces >= small)
        spare = int(middle.sum()) * capacity - int(pieces[middle].sum())
        over = max(int(pieces[short].sum()) - spare, 0)
        best = max(best, int(long.sum()) + int(middle.sum()) + math.ceil(over / capacity))
    return best
