"""A search for a plan with one bar less, or the proof that there is none."""

from __future__ import annotations

import numpy as np

from armature.centreline import Ints

_MOST_ARCS = 400_000


def one_less(pieces: Ints, capacity: int, bars: list[list[int]], effort: float) -> tuple[list[list[int]] | None, bool]:
    """Return a plan with one bar less than `bars`, or None; and whether the question is settled.

    Arc flow (Valerio de Carvalho 1999): a filled bar is a path from 0 to the capacity along arcs as long as pieces,
    longest first; the number of paths is fixed. Solved by CP-SAT with one worker, a fixed seed and its own count of
    work instead of a clock. Too long a list of arcs is given up unsolved.
    """
    sizes, demand = np.unique(pieces, return_counts=True)
    sizes, demand = sizes[::-1], demand[::-1]
    arcs = _arcs(sizes, demand, capacity)
    if len(arcs) > _MOST_ARCS:
        return None, False
    flows, settled = _solved(arcs, demand, capacity, len(bars) - 1, effort)
    return (None if flows is None else _paths(flows, sizes, pieces, capacity)), settled


def _arcs(sizes: Ints, demand: Ints, capacity: int) -> list[tuple[int, int, int]]:
    """Return (from, to, kind) for every place that pieces, longest first, can reach; kind -1 is the rest of a bar."""
    reached = {0}
    arcs: set[tuple[int, int, int]] = set()
    for kind, (size, count) in enumerate(zip(sizes.tolist(), demand.tolist(), strict=True)):
        for start in sorted(reached):
            for step in range(min(count, (capacity - start) // size)):
                arcs.add((start + step * size, start + (step + 1) * size, kind))
        reached |= {arc[1] for arc in arcs if arc[2] == kind}
        if len(arcs) > _MOST_ARCS:
            break
    return sorted(arcs) + [(place, capacity, -1) for place in sorted(reached) if 0 < place < capacity]


def _solved(
    arcs: list[tuple[int, int, int]], demand: Ints, capacity: int, count: int, effort: float
) -> tuple[dict[tuple[int, int, int], int] | None, bool]:
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    flow = {arc: model.new_int_var(0, count, "") for arc in arcs}
    into: dict[int, list[cp_model.IntVar]] = {}
    out: dict[int, list[cp_model.IntVar]] = {}
    for (start, end, _), variable in flow.items():
        out.setdefault(start, []).append(variable)
        into.setdefault(end, []).append(variable)
    model.add(sum(out[0]) == count)
    for place in sorted(into):
        if place != capacity:
            model.add(sum(into[place]) == sum(out.get(place, [])))
    for kind, wanted in enumerate(demand.tolist()):
        model.add(sum(variable for arc, variable in flow.items() if arc[2] == kind) == wanted)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return {arc: solver.value(variable) for arc, variable in flow.items() if solver.value(variable)}, True
    return None, status == cp_model.INFEASIBLE


def _paths(flows: dict[tuple[int, int, int], int], sizes: Ints, pieces: Ints, capacity: int) -> list[list[int]]:
    """Follow the flow from 0 to the capacity, one bar at a time, dealing out piece numbers."""
    stacks = [np.flatnonzero(pieces == size).tolist()[::-1] for size in sizes]
    leaving: dict[int, list[tuple[int, int, int]]] = {}
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
