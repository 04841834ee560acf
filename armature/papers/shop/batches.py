"""Batches of cards: what is made in one go."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.shop import ShopPlan


@dataclass(frozen=True)
class Batch:
    """Members that are made in one go: the same rank, bar and parent; rows in order of their stations."""

    number: int
    rank: int
    stock_mm: float
    parent: int
    rows: tuple[int, ...]


def batches(plan: ShopPlan, every: bool = False) -> list[Batch]:
    """Return all members that are still to be made in batches, thick before thin; tags keep their order.

    every: those that exist too.
    """
    tree = plan.tree
    order = np.lexsort((tree.stations, tree.parents, -tree.stock_diameters, tree.ranks))
    order = order if every else order[~plan.exists[order]]
    if not len(order):
        return []
    keys = np.stack([tree.ranks[order], tree.stock_diameters[order], tree.parents[order]])
    starts = np.flatnonzero(np.append(True, np.diff(keys, axis=1).any(axis=0)))
    return [
        Batch(
            number,
            int(tree.ranks[rows[0]]),
            float(tree.stock_diameters[rows[0]]),
            int(tree.parents[rows[0]]),
            tuple(rows.tolist()),
        )
        for number, rows in enumerate(np.split(order, starts[1:]), start=1)
    ]
