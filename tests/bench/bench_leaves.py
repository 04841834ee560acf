"""Marks of the leaves, run by hand: `python -m tests.bench.bench_leaves`.

Eight outlines of our own, fixed in tests/leaves/eight_outlines.json, 3 mm web and 3 mm margin. References in the same
run: the quick raster layout of the same leaves, and the share that upright boxes would use.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from armature.commission import read
from armature.grow import grow
from armature.leaves import plan_leaves
from armature.leaves.assigning import Places, assign_names
from armature.leaves.drawn_text import read_designs
from armature.leaves.laying import lay_plates
from armature.leaves.letters import stamp_heights
from armature.leaves.plates import Rules, density, plate_faults
from armature.leaves.sight import sight, worth

EIGHT = Path(__file__).parents[1] / "leaves" / "eight_outlines.json"
COMMISSION = """title = "Bench rowan"
seed = 7
canopy = {height = "16 ft", spread = ["13 ft", "12 ft"], clear_stem = "7 ft"}
growth = {limbs = 5, branches = 34, twigs = 420}
[leaves]
count = 1300
names = "names.csv"
[leaves.plates]
seconds = 40
"""


def plates() -> None:
    designs = read_designs(EIGHT)
    jobs = (("square 12 in", (304.8, 304.8), 1, 0.70), ("36 x 96 in", (2438.4, 914.4), 40, 0.72))
    for name, size, each, mark in jobs:
        for seconds in (0.0, 55.0):
            rules = Rules(web=3.0, margin=3.0, seconds=seconds)
            start = time.perf_counter()
            layout = lay_plates(designs, [each] * 8, [size], rules)
            took = time.perf_counter() - start
            first = layout.plates[0]
            faults = len(plate_faults(first, designs, rules))
            used = density([first], designs)
            print(f"{name}, {layout.engine}: {len(first)} leaves, {used:.4f} used (mark {mark}), {took:.1f} s")
            print(f"  {faults} faults of web or margin")


def assigning() -> None:
    rng = np.random.default_rng(1)
    count, leaves = 10_000, 12_000
    families = [f"family {k // 4}" for k in range(count)]
    texts = [f"Ada {''.join(rng.choice(list('abcdefghij'), 6))}" for _ in range(count)]
    points = rng.uniform(-2000, 2000, (leaves, 3)) + [0, 0, 4000]
    tags = np.array([f"A-{k}" for k in range(leaves)])
    panels = rng.uniform([30, 10], [50, 20], (9, 2))
    start = time.perf_counter()
    value = worth(points, sight(points, 75.0), 2400.0)
    plain = np.ones(leaves, dtype=np.int64)
    places = Places(tags, rng.integers(0, 9, leaves), np.arange(leaves) // 40, points, value, plain)
    found = assign_names(texts, families, places, panels, stamp_heights(2.3, 6.5))
    seated, took = int((found.leaves >= 0).sum()), time.perf_counter() - start
    print(f"{seated} of {count} names assigned in {took:.2f} s (mark 5 s)")


def whole() -> None:
    from armature.records.leaf_writing import write_leaves

    with tempfile.TemporaryDirectory() as folder:
        Path(folder, "names.csv").write_text("\n".join(f"Ada {k:03d}" for k in range(400)), encoding="utf-8")
        Path(folder, "bench.toml").write_text(COMMISSION, encoding="utf-8")
        commission = read(Path(folder, "bench.toml"))
        tree = grow(commission)
        start = time.perf_counter()
        plan = plan_leaves(commission, tree)
        planned = time.perf_counter()
        write_leaves(plan, commission, Path(folder, "leaves"))
        end = time.perf_counter()
        used = density(plan.layout.plates, plan.designs) if plan.layout else 0.0
        print(f"1300 leaves: laid in {planned - start:.1f} s, written in {end - planned:.1f} s (mark 90 s)")
        print(f"  {used:.3f} of the plates used")


if __name__ == "__main__":
    for part in (plates, assigning, whole):
        if len(sys.argv) < 2 or part.__name__ in sys.argv[1:]:
            part()
