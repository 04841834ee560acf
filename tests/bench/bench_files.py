"""How long the records take: lists of up to 100,000 bars, and every mesh file of the garden tree.

    python -m tests.bench.bench_files [LARGEST]

Times are ratios against a fixed piece of numpy work done in the same run, so that tables from different machines
compare; seconds stand beside them. The cost exponent is the slope of log time on log bars.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from armature.commission import read
from armature.files.body import steel_body, stl_bytes
from armature.files.centrelines import centrelines_dxf
from armature.files.design import design_json, load
from armature.files.foliage import plain_foliage
from armature.files.gltf import glb_bytes
from armature.files.lists import bends_csv, hang_points_csv, joints_csv, members_csv
from armature.files.obj import obj_text
from armature.files.skin import skin
from armature.files.swc import swc_text
from armature.files.threemf import threemf_bytes
from armature.grow import grow
from armature.tree import Tree, joints
from tests.files.test_body import saddle_volumes
from tests.trees import random_tree

PRESET = Path(__file__).parents[2] / "presets" / "garden.toml"


def yardstick() -> float:
    """Return the seconds of a fixed piece of array work: sorts and square roots of four million numbers."""
    values = np.random.default_rng(1).random(4_000_000)
    return timed(lambda: np.sqrt(np.sort(values)).sum(), 3)


def timed(work: Callable[[], object], runs: int = 1) -> float:
    """Return the least seconds of several runs."""
    found = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        found.append(time.perf_counter() - start)
    return min(found)


def lists(tree: Tree) -> None:
    """Write the four lists of a tree as text."""
    members_csv(tree, tree.lengths, tree.volumes)
    bends_csv(tree)
    joints_csv(tree, joints(tree))
    hang_points_csv(tree)


def told(what: str, seconds: float, unit: float, more: str = "") -> None:
    """Print one line of the table."""
    print(f"{what:<44} {seconds:8.3f} s, ratio {seconds / unit:7.2f}{more}", flush=True)


def list_times(unit: float, largest: int) -> None:
    """Print how long the lists of ever larger trees take."""
    sizes, times = [], []
    size = 1000
    while size <= largest:
        tree = random_tree(size, 1)
        times.append(timed(partial(lists, tree), 3))
        sizes.append(len(tree))
        told(f"four lists of {len(tree):,} bars", times[-1], unit)
        size *= 10
    if len(sizes) > 1:
        print(f"cost exponent {np.polyfit(np.log(sizes), np.log(times), 1)[0]:.3f}")


def mesh_times(unit: float) -> None:
    """Print how long each file of the garden tree takes, and how its volume compares."""
    commission = read(PRESET)
    tree = grow(commission)
    outside, hung = skin(tree), plain_foliage(tree, commission.leaves.length)
    works: dict[str, Callable[[], Any]] = {
        "design.json": lambda: design_json(tree, commission),
        "tree.swc": lambda: swc_text(tree),
        "tubes": lambda: skin(tree),
        "steel.stl, one watertight body": lambda: stl_bytes(steel_body(tree, outside)),
        "tree.glb": lambda: glb_bytes(tree, outside, hung),
        "tree.obj": lambda: obj_text(tree, outside, hung),
        "tree.3mf": lambda: threemf_bytes(tree, outside, hung),
        "centrelines.dxf": lambda: centrelines_dxf(tree),
    }
    print(f"garden: {len(tree)} bars, {len(tree.leaves)} leaves")
    for what, work in works.items():
        work()
        told(what, timed(work, 3), unit)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "design.json"
        file.write_text(design_json(tree, commission), "utf-8")
        told("load design.json", timed(lambda: load(file), 3), unit)
    held, found, grows = steel_body(tree, outside).volume_mm3, joints(tree), tree.parents >= 0
    radii, big = tree.start_diameters[grows] / 2.0, found.parent_diameters[grows] / 2.0
    saddles = saddle_volumes(radii, big, found.leans[grows], tree.setbacks[grows]).sum()
    bars = tree.volumes.sum()
    print(f"steel.stl: {held / bars - 1.0:+.3%} against the bars alone", end=", ")
    print(f"{held / (bars + saddles) - 1.0:+.3%} against bars and their saddles")


def main() -> None:
    """Print the tables."""
    unit = yardstick()
    print(f"yardstick (sort and root of 4e6 numbers): {unit:.3f} s = 1")
    mesh_times(unit)
    list_times(unit, int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)


if __name__ == "__main__":
    main()
