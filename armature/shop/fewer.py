"""A search for a plan with one bar less, or the proof that there is none."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock
from typing import TYPE_CHECKING

import numpy as np

from armature.tree import Floats, Ints

if TYPE_CHECKING:
    from scipy.sparse import csr_array

# Arcs of the largest question that is asked at all: its first step, which no limit ends early, takes seconds.
MOST_ARCS = 6_000
_INFEASIBLE = 2  # status of scipy.optimize.milp
_ONE_AT_A_TIME = Lock()
Arc = tuple[int, int, int]


def one_less(pieces: Ints, capacity: int, bars: list[list[int]], nodes: int) -> tuple[list[list[int]] | None, bool]:
    """Return a plan with one bar less than `bars`, or None; and whether the question is settled.

    Arc flow (Valerio de Carvalho 1999): a filled bar is a path from 0 to the capacity along arcs as long as pieces,
    longest first; the number of paths is fixed. Solved by SciPy's MILP (HiGHS) in at most `nodes` nodes, which are
    counted and not timed; more than `MOST_ARCS` arcs are given up unsolved.
    """
    sizes, demand = np.unique(pieces, return_counts=True)
    sizes, demand = sizes[::-1], demand[::-1]
    arcs = _arcs(sizes, demand, capacity)
    if len(arcs) > MOST_ARCS:
        return None, False
    flows, settled = _solved(arcs, demand, capacity, len(bars) - 1, nodes)
    return (None if flows is None else _paths(flows, sizes, pieces, capacity)), settled


def _arcs(sizes: Ints, demand: Ints, capacity: int) -> list[Arc]:
    """Return (from, to, kind) for every place that pieces, longest first, can reach; kind -1 is the rest of a bar."""
    reached = {0}
    arcs: set[Arc] = set()
    for kind, (size, count) in enumerate(zip(sizes.tolist(), demand.tolist(), strict=True)):
        for start in sorted(reached):
            for step in range(min(count, (capacity - start) // size)):
                arcs.add((start + step * size, start + (step + 1) * size, kind))
        reached |= {arc[1] for arc in arcs if arc[2] == kind}
        if len(arcs) > MOST_ARCS:
            break
    return sorted(arcs) + [(place, capacity, -1) for place in sorted(reached) if 0 < place < capacity]


def _solved(arcs: list[Arc], demand: Ints, capacity: int, count: int, nodes: int) -> tuple[dict[Arc, int] | None, bool]:
    """Return the flow along each arc that bears one, or None where none was met; and whether that settles it."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    balance, wanted = _balance(np.array(arcs), demand, capacity, count)
    with _quiet():
        answer = milp(
            np.zeros(len(arcs)),
            integrality=np.ones(len(arcs), dtype=np.int64),
            bounds=Bounds(0, count),
            constraints=LinearConstraint(balance, wanted, wanted),
            options={"node_limit": nodes},
        )
    if answer.x is None:
        return None, answer.status == _INFEASIBLE
    flow = np.round(answer.x).astype(int).tolist()
    return {arc: bars for arc, bars in zip(arcs, flow, strict=True) if bars}, True


def _balance(arcs: Ints, demand: Ints, capacity: int, count: int) -> tuple[csr_array, Floats]:
    """Return what a flow must keep, a row a rule: as much out of a place as into it, and every piece once."""
    from scipy.sparse import coo_array

    places, ends = np.unique(arcs[:, :2], return_inverse=True)
    out, into = ends.reshape(-1, 2).T
    laid = np.flatnonzero(arcs[:, 2] >= 0)
    column = np.arange(len(arcs))
    rows = np.concatenate([out, into, len(places) + arcs[laid, 2]])
    columns = np.concatenate([column, column, laid])
    signs = np.concatenate([np.ones(len(arcs)), -np.ones(len(arcs)), np.ones(len(laid))])
    wanted = np.zeros(len(places) + len(demand))
    wanted[np.searchsorted(places, [0, capacity])] = count, -count
    wanted[len(places) :] = demand
    return coo_array((signs, (rows, columns)), shape=(len(wanted), len(arcs))).tocsr(), wanted


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep what the solver's C code prints off the user's output."""
    with _ONE_AT_A_TIME:
        sys.stdout.flush()
        try:
            kept = os.dup(1)
        except OSError:
            # There is no output that could be written on.
            yield
            return
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        try:
            yield
        finally:
            os.dup2(kept, 1)
            os.close(kept)
            os.close(nowhere)


def _paths(flows: dict[Arc, int], sizes: Ints, pieces: Ints, capacity: int) -> list[list[int]]:
    """Follow the flow from 0 to the capacity, one bar at a time, dealing out piece numbers."""
    stacks = [np.flatnonzero(pieces == size).tolist()[::-1] for size in sizes]
    leaving: dict[int, list[Arc]] = {}
    for arc in sorted(flows, reverse=True):
        leaving.setdefault(arc[0], []).extend([arc] * flows[arc])
    bars = []
    while leaving.get(0):
        place, bar = 0, []
        while place != capacity:
            _, place, kind = leaving[place].pop()
            if kind >= 0:
                bar.append(stacks[kind].pop())
        bars.append(bar)
    return bars
