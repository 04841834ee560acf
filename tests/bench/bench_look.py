"""The eye's marks: full and first judgement, a hundred thousand members, 200 seeds, and the ratio against NeuroM.

Run by hand: `python -m tests.bench.bench_look [--all]`; `--all` adds the large tree and the survey. Ratios are taken
in the same run.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from armature.commission import read
from armature.grow import grow
from armature.look import angles, first_look, forks, judged, surveyed
from armature.look.axes import Nodes, skeleton_of_nodes
from tests.look.naturals import natural
from tests.trees import random_tree


def best(work: Callable[[], object], tries: int = 5) -> float:
    """Return the least seconds of some tries."""
    found = []
    for _ in range(tries):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def ours(nodes: Nodes) -> dict[str, float]:
    """Return the morphometrics that both compute: lengths, path over chord, orders, asymmetry, angles, thickness."""
    tree = skeleton_of_nodes(nodes)
    flows = forks.streams(tree)
    return {
        "length": float(tree.lengths.sum()),
        "order": float(flows.orders.max()),
        "asymmetry": forks.partition_asymmetry(tree).value,
        "angle": float(np.nanmean(angles.insertion_angles(tree))),
        "sinuosity": angles.path_over_chord(tree, 1).value,
        "diameter": float(flows.diameters.mean()),
    }


def theirs(path: Path) -> dict[str, float]:
    """Return the same quantities by NeuroM, loading left out of neither side's clock."""
    import neurom
    from neurom.features import section as feature

    cells: Any = neurom.load_morphology(path)
    sections = list(neurom.iter_sections(cells))
    return {
        "length": float(np.sum(neurom.get("section_lengths", cells))),
        "order": float(max(feature.strahler_order(section) for section in sections)),
        "asymmetry": float(np.mean(neurom.get("partition_asymmetry", cells))),
        "angle": float(np.mean(neurom.get("local_bifurcation_angles", cells))),
        "sinuosity": float(np.mean(neurom.get("section_tortuosity", cells))),
        "diameter": float(np.mean(neurom.get("segment_radii", cells))),
    }


def against_neurom() -> None:
    """Print the ratio of seconds on the largest of ten stand-ins."""
    nodes = max((natural(seed) for seed in range(10)), key=len)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "tree.swc"
        lines = ["1 1 0 0 0 1 -1"]
        for row, (point, radius, parent) in enumerate(zip(nodes.points, nodes.radii, nodes.parents, strict=True)):
            place = " ".join(f"{x / 1000:.6f}" for x in point)
            lines.append(f"{row + 2} 3 {place} {radius / 1000:.6f} {max(parent + 2, 1)}")
        path.write_text("\n".join(lines))
        slow = best(lambda: theirs(path), 3)
    fast = best(lambda: ours(nodes), 20)
    both = f"ours {1e3 * fast:.1f} ms, NeuroM {1e3 * slow:.0f} ms, ratio {slow / fast:.0f}"
    print(f"morphometrics of {len(nodes)} nodes: {both}")


def main() -> None:
    """Print all figures."""
    garden = read(Path(__file__).parents[2] / "presets" / "garden.toml")
    tree = grow(garden)
    # A fresh record each time: a tree keeps what it has once worked out.
    full, first = best(lambda: judged(tree.hung(tree.leaves))), best(lambda: first_look(tree.hung(tree.leaves)))
    print(f"full judgement of {len(tree)} members and {len(tree.leaves)} leaves: {full:.3f} s")
    print(f"first look: {1e3 * first:.1f} ms")
    against_neurom()
    if "--all" not in sys.argv:
        return
    large = random_tree(88_000, limbs=12)
    print(f"judgement of {len(large)} members: {best(lambda: judged(large), 1):.1f} s")
    start = time.perf_counter()
    found = surveyed(garden, range(1, 201), jobs=2)
    seconds, failed = time.perf_counter() - start, sum(bool(grown.failed) for grown in found)
    print(f"200 seeds surveyed by two processes: {seconds:.1f} s, {failed} failed")


if __name__ == "__main__":
    main()
