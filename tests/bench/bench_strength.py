"""The strength marks: against a general frame solver, against a sparse solve, from 1e3 to 1e6 members, a whole preset.

Run by hand: `python -m tests.bench.bench_strength [largest number of members]`, or `forest 1e5` for one assessment;
prints rows of the table in docs/performance.md. Every ratio is against a reference in the same run.
"""

from __future__ import annotations

import resource
import sys
import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from armature.commission import changed, read
from armature.grow import grow
from armature.strength import assessed, strengthened
from armature.strength.actions import basic_loads
from armature.strength.assess import foliage_for
from armature.strength.combinations import combinations, combined
from armature.strength.conditions import conditions
from armature.strength.cross_sections import cross_sections
from armature.strength.forces import Loads, forces, movement
from armature.strength.frame import Frame, frame
from armature.strength.rules import resistance
from armature.strength.stiffness import moved, stiffness
from armature.strength.ties import solved, system
from armature.strength.worst import CaseSet, nothing_yet
from armature.tree import Tree, joined
from tests.strength.made import american, prismatic_tree, random_loads
from tests.trees import random_tree
from tests.validation.test_frames import in_pynite

YOUNG, SHEAR = 200_000.0, 77_200.0
PRESET = Path(__file__).parents[2] / "presets" / "garden.toml"


def best(work: Callable[[], object], times: int = 5) -> float:
    """Return the least seconds of some runs."""
    found = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def both_sweeps(cut: Frame, loads: Loads) -> tuple[np.ndarray, np.ndarray]:
    """Return the base's forces and every node's shift."""
    found = forces(cut, loads)
    return found.within[0], movement(cut, moved(cut, found, loads, YOUNG, SHEAR)).shifts


def against_frame_solver() -> None:
    """Print the time of a general frame solver over that of the sweeps, and how far apart they are."""
    cut = frame(prismatic_tree(250, 1), parts=8)
    loads = random_loads(cut, 1)
    start = time.perf_counter()
    reaction, shifts, _ = in_pynite(cut, loads)
    slow = time.perf_counter() - start
    foot, own = both_sweeps(cut, loads)
    fast = best(lambda: both_sweeps(cut, loads), 9)
    sparse = best(lambda: solved(cut, stiffness(cut, YOUNG, SHEAR), loads, None, YOUNG), 3)
    again = solved(cut, stiffness(cut, YOUNG, SHEAR), loads, None, YOUNG).shifts
    elements = int(np.sum(~cut.is_last))
    force = np.abs(foot[:3, 0] - reaction[:3]).max() / np.abs(reaction[:3]).max()
    moment = np.abs(foot[3:, 0] - reaction[3:]).max() / np.abs(reaction[3:]).max()
    move = np.abs(own[:, :, 0] - shifts).max() / np.abs(shifts).max()
    print(f"elements {elements}: frame solver {slow:.2f} s, sweeps {1e3 * fast:.2f} ms, {slow / fast:.0f} times")
    print(f"  base force apart {force:.1e}, moment {moment:.1e}, movement {move:.1e}")
    print(f"  scipy sparse {1e3 * sparse:.1f} ms, {sparse / fast:.0f} times; apart {_apart(own, again):.1e}")
    print(f"  its matrix: {system(cut, stiffness(cut, YOUNG, SHEAR)).nnz} terms; the sweeps have none")


def _apart(one: np.ndarray, other: np.ndarray) -> float:
    return float(np.abs(one - other).max() / np.abs(other).max())


def forest(members: int) -> Tree:
    """Return a tree of some members: the crown of a random tree many times over on one trunk."""
    one = random_tree(885)
    copies = max(round((members - 1) / (len(one) - 1)), 1)
    crown = np.arange(1, len(one))
    rows = np.concatenate([[0], np.tile(crown, copies)])
    shift = np.repeat(np.arange(copies), len(crown)) * len(crown)
    parents = np.concatenate(
        [[-1], np.where(one.parents[np.tile(crown, copies)] > 0, one.parents[rows[1:]] + shift, 0)]
    )
    columns = ("ranks", "stations", "setbacks", "stock_diameters", "walls", "departures")
    leaves = one.leaves
    twigs = np.tile(leaves.twigs, copies) + np.repeat(np.arange(copies), len(leaves)) * len(crown)
    many = replace(
        leaves,
        tags=np.tile(leaves.tags, copies),
        twigs=twigs,
        stations=np.tile(leaves.stations, copies),
        designs=np.tile(leaves.designs, copies),
        names=np.tile(leaves.names, copies),
    )
    return Tree(
        tags=one.tags[rows],
        parents=parents,
        chains=joined([one.chains.taken([0]), one.chains.taken(rows[1:])]),
        tapers=one.tapers.taken(rows),
        leaves=many,
        **{name: getattr(one, name)[rows] for name in columns},
    )


def growth_in_size(largest: int) -> None:
    """Print time and memory of the cut and both sweeps by number of members, and the exponent of the cost."""
    sizes = [size for size in (1_000, 10_000, 100_000, 1_000_000) if size <= largest]
    taken = []
    for size in sizes:
        tree = forest(size)
        cut = frame(tree)
        loads = random_loads(cut, 1)

        def sweep(cut: Frame = cut, loads: Loads = loads) -> object:
            found = forces(cut, loads)
            return movement(cut, moved(cut, found, loads, YOUNG, SHEAR))

        seconds = best(sweep, 3)
        tracemalloc.start()
        sweep()
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        taken.append(seconds)
        print(
            f"members {len(tree)}, nodes {len(cut)}: both sweeps {seconds:.3f} s,"
            f" {1e6 * seconds / len(tree):.1f} us a member, peak {peak / len(tree):.0f} bytes a member and load case"
        )
    if len(sizes) > 1:
        slope = np.polyfit(np.log(sizes), np.log(taken), 1)[0]
        print(f"  cost exponent from {sizes[0]} to {sizes[-1]} members: {slope:.3f}")


def batch_memory() -> None:
    """Print the memory of a batch of cases on a tree of 100,000 members."""
    tree = forest(100_000)
    cut = frame(tree)
    for cases in (1, 4, 8):
        loads = random_loads(cut, 1, cases)
        tracemalloc.start()
        found = forces(cut, loads)
        movement(cut, moved(cut, found, loads, YOUNG, SHEAR))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        print(f"  {cases} cases at once: peak {peak / len(tree) / cases:.0f} bytes a member and load case")


def whole_preset() -> None:
    """Print the time of 36 wind directions times all combinations on a preset, and of the whole assessment."""
    commission = read(PRESET)
    tree = grow(commission)
    held = conditions(commission)
    foliage = foliage_for(tree, commission)

    def cases() -> int:
        cut = frame(tree)
        loads, winds = basic_loads(cut, held, foliage)
        places = cross_sections(cut)
        yields = held.grade.yield_mpa(tree.stock_diameters)[places.members]
        limit = resistance(places.values, yields, places.free, held)
        rows = {name: places.of(forces(cut, each)) for name, each in loads.items()}
        worst = nothing_yet(places, len(tree))
        for combo in combinations(held):
            if combo.is_strength:
                both = combined(combo, rows, winds)
                worst.see([CaseSet(combo.name, both.__getitem__, ("",) * both.shape[2])], places, limit)
        return len(worst.labels)

    count = cases()
    print(f"preset: {len(tree)} members, {len(tree.leaves)} leaves, {count} load cases: {best(cases):.3f} s")
    print(f"  the whole assessment: {best(lambda: assessed(tree, commission), 3):.3f} s")
    print(f"  sizing: {best(lambda: strengthened(tree, commission), 1):.2f} s")


def whole_forest(members: int) -> None:
    """Print the processor time and memory of one assessment of so many members, 36 directions and all combinations."""
    # Nobody pulls: the crown of this forest hangs at the ground, and each pull is one more sweep of all of it.
    tree, commission = forest(members), changed(american(), {"site.pull": "0 N"})
    count = len(tree.leaves)
    masses, areas = np.full(count, 0.02), np.full(count, 2000.0)
    start = time.process_time()
    assessed(tree, commission, masses, areas)
    taken = time.process_time() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(f"assessment of {len(tree)} members: {taken:.1f} s of processor, peak {peak:.1f} GB")


if __name__ == "__main__":
    if sys.argv[1:2] == ["forest"]:
        whole_forest(int(float(sys.argv[2])))
        sys.exit()
    against_frame_solver()
    growth_in_size(int(float(sys.argv[1])) if len(sys.argv) > 1 else 1_000_000)
    batch_memory()
    whole_preset()
