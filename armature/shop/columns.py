"""The cutting-stock bound by column generation, and a plan of whole bars by diving along it.

Size letters: K kinds of piece (equal lengths counted together), C columns; a column is one way to fill a bar.

The linear programme of Gilmore and Gomory (1961) lets a column be cut a fraction of a time. Its prices tell which
further column would help: a knapsack. Diving then cuts the columns that are nearest to whole, and solves the rest anew.
"""

from __future__ import annotations

import math

import numpy as np

from armature.shop.quick_bars import Bars, least_slack
from armature.tree import Floats, Ints

_ROUNDS = 150
_AT_ONCE = 8
_MOST_PRICINGS = 1500


def column_plan(pieces: Ints, capacity: int) -> tuple[int, Bars]:
    """Return a lower bound on the bars and a plan for pieces (N,), as good as diving finds.

    The bound holds even when the rounds run out: it is then the worth of all pieces at the prices of a round over the
    best worth of one bar at them (Farley 1990).
    """
    sizes, demand = np.unique(pieces, return_counts=True)
    columns = _first_columns(sizes, demand, capacity)
    stacks = [np.flatnonzero(pieces == size).tolist()[::-1] for size in sizes]
    done: Bars = []
    best: Bars = []
    bound, pricings = 0, 0
    while demand.any():
        columns, times, floor, used = _generated(columns, sizes, demand, capacity, bound == 0)
        pricings += used
        bound = bound or math.ceil(floor - 1e-6)
        for column, count in _nearest_whole(columns, times, demand):
            demand = demand - count * column
            done += [_dealt(column, stacks) for _ in range(count)]
        left = np.array(sorted(number for stack in stacks for number in stack), dtype=np.int64)
        trial = done + [[int(left[at]) for at in bar] for bar in least_slack(pieces[left], capacity)]
        best = trial if not best or len(trial) < len(best) else best
        if len(best) == bound or pricings > _MOST_PRICINGS:
            break
        columns = np.unique(np.minimum(columns, demand[:, None]), axis=1)
        columns = columns[:, columns.any(axis=0)]
    return bound, best


def _generated(
    columns: Ints, sizes: Ints, demand: Ints, capacity: int, to_the_end: bool
) -> tuple[Ints, Floats, float, int]:
    """Return enough columns, how often each is cut, the bound reached and the number of knapsacks solved."""
    from scipy.optimize import linprog

    floor, used, times = 0.0, 0, np.zeros(0)
    wanted = demand > 0
    for _ in range(_ROUNDS if to_the_end else _ROUNDS // 10):
        solved = linprog(np.ones(columns.shape[1]), A_ub=-columns[wanted], b_ub=-demand[wanted], method="highs")
        times, total = np.asarray(solved.x), float(solved.fun)  # type: ignore[arg-type]
        prices = np.zeros(len(sizes))
        prices[wanted] = np.maximum(-solved.ineqlin.marginals, 0.0)
        fresh, worth = _best_columns(sizes, demand, prices, capacity)
        used += fresh.shape[1]
        floor = max(floor, float(prices @ demand) / max(worth, 1.0))
        if worth <= 1.0 + 1e-9 or math.ceil(floor - 1e-6) >= math.ceil(total - 1e-6):
            break
        columns = np.concatenate([columns, fresh], axis=1)
    return columns[:, : len(times)], times, floor, used


def _nearest_whole(columns: Ints, times: Floats, demand: Ints) -> list[tuple[Ints, int]]:
    """Return the columns to cut now and how often: whole parts and shares over 3/4, or else the largest share."""
    cuts: list[tuple[Ints, int]] = []
    left = demand.copy()
    order = np.lexsort((np.arange(len(times)), -np.round(times - np.floor(times + 1e-9), 9)))
    for at in order.tolist():
        column = columns[:, at]
        share = times[at] - math.floor(times[at] + 1e-9)
        count = math.floor(times[at] + 1e-9) + int(share > 0.75 or (not cuts and at == order[0]))
        bought = column > 0
        count = min(count, int((left[bought] // column[bought]).min())) if bought.any() else 0
        if count:
            cuts.append((column, count))
            left = left - count * column
    return cuts or [(np.minimum(columns[:, order[0]], demand), 1)]


def _dealt(column: Ints, stacks: list[list[int]]) -> list[int]:
    return [stack.pop() for stack, count in zip(stacks, column.tolist(), strict=True) for _ in range(count)]


def _first_columns(sizes: Ints, demand: Ints, capacity: int) -> Ints:
    """Return one column a kind, as many as fit, and those of a first-fit plan: (K, C)."""
    single = np.diag(np.minimum(capacity // sizes, demand))
    left, columns = demand.copy(), []
    while left.any():
        room, column = capacity, np.zeros_like(demand)
        for kind in range(len(sizes) - 1, -1, -1):
            column[kind] = min(int(left[kind]), room // int(sizes[kind]))
            room -= int(column[kind] * sizes[kind])
        left = left - column * int((left[column > 0] // column[column > 0]).min())
        columns.append(column)
    return np.concatenate([single, np.stack(columns, axis=1)], axis=1)


def _best_columns(sizes: Ints, demand: Ints, prices: Floats, capacity: int) -> tuple[Ints, float]:
    """Return the column of greatest worth and a few more over the pieces that those before do not use: (K, C)."""
    first, worth = _priced(sizes, demand, prices, capacity)
    columns, left = [first], demand - first
    for _ in range(_AT_ONCE - 1):
        column, value = _priced(sizes, left, prices, capacity)
        if value <= 1.0 + 1e-9:
            break
        columns.append(column)
        left = left - column
    return np.stack(columns, axis=1), worth


def _priced(sizes: Ints, demand: Ints, prices: Floats, capacity: int) -> tuple[Ints, float]:
    """Return the column of greatest worth: a bounded knapsack by dynamic programming over the length."""
    copies, kinds = _bundles(sizes, demand, prices, capacity)
    best = np.zeros(capacity + 1)
    took = np.zeros((len(copies), capacity + 1), dtype=bool)
    for at, (count, kind) in enumerate(zip(copies, kinds, strict=True)):
        size, worth = int(sizes[kind]) * count, float(prices[kind]) * count
        raised = best[: capacity + 1 - size] + worth
        took[at, size:] = raised > best[size:] + 1e-12
        best[size:] = np.where(took[at, size:], raised, best[size:])
    column, room = np.zeros_like(demand), capacity
    for at in range(len(copies) - 1, -1, -1):
        if took[at, room]:
            column[kinds[at]] += copies[at]
            room -= int(sizes[kinds[at]]) * copies[at]
    return column, float(prices @ column)


def _bundles(sizes: Ints, demand: Ints, prices: Floats, capacity: int) -> tuple[list[int], list[int]]:
    """Split each kind's count into 1, 2, 4, … and a rest, so that any number of it can be taken."""
    copies, kinds = [], []
    for kind in np.flatnonzero((prices > 1e-12) & (demand > 0)).tolist():
        left, step = min(int(demand[kind]), capacity // int(sizes[kind])), 1
        while left:
            copies.append(min(step, left))
            kinds.append(kind)
            left -= copies[-1]
            step *= 2
    return copies, kinds
