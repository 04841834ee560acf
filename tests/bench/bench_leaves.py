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
from scipy.spatial import cKDTree

from armature.commission import read
from armature.grow import grow
from armature.leaves import plan_leaves
from armature.leaves.hanging.hang import Hung, Loop, hang_leaves
from armature.leaves.hanging.loops import Room
from armature.leaves.hanging.meeting import rods_met
from armature.leaves.hanging.swing import BODY, STALK, leaves_met, poses, steel_struck
from armature.leaves.naming.assigning import Places, assign_names
from armature.leaves.naming.letters import stamp_heights
from armature.leaves.naming.sight import sight, worth
from armature.leaves.nesting.laying import lay_plates
from armature.leaves.nesting.plates import Rules, density, plate_faults
from armature.leaves.outline.designs import draw_designs
from armature.leaves.outline.drawn_text import read_designs

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
    value = worth(points, sight(points, 75.0).legible, 2400.0)
    plain = np.ones(leaves, dtype=np.int64)
    places = Places(tags, rng.integers(0, 9, leaves), np.arange(leaves) // 40, points, value, plain)
    found = assign_names(texts, families, places, panels, stamp_heights(2.3, 6.5))
    seated, took = int((found.leaves >= 0).sum()), time.perf_counter() - start
    print(f"{seated} of {count} names assigned in {took:.2f} s (mark 1 s)")


def whole() -> None:
    from armature.job.leaves import write_leaves

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


def hanging() -> None:
    """Leaves left beyond their share, and the time against measuring every leaf once, pose by pose and pair by pair.

    Before designs were exchanged and a move counted for all leaves, the garden took 0.3 such measures and left 126 of
    its leaves beyond their share by a laxer count, 209 by this one.
    """
    for preset in sorted(Path("presets").glob("*.toml")):
        commission = read(preset)
        tree, leaves = grow(commission), commission.leaves
        designs, loop, hang = draw_designs(commission), Loop(leaves.wire, leaves.loop), leaves.hang
        given = (tree, designs, loop, 7.0, hang.swing, hang.strike, leaves.spacing)
        locked = np.ones(len(tree.leaves), dtype=bool)
        over = [
            (h.shares > hang.strike).sum() for h in (hang_leaves(*given, move=False), hang_leaves(*given, True, locked))
        ]
        start = time.perf_counter()
        hung = hang_leaves(*given)
        took = time.perf_counter() - start
        sizes = np.array([(d.length, BODY * d.blade[1]) for d in designs])
        room = Room(tree, loop, np.vstack([sizes, sizes.min(axis=0)]), hang.swing)
        start = time.perf_counter()
        plain_shares(room, hung)
        once = time.perf_counter() - start
        left, least = (hung.shares > hang.strike).sum(), least_over(room, hung, hang.strike, leaves.spacing)
        print(f"{preset.stem}: {over[0]} of {leaves.count} leaves beyond their share as grown, {over[1]} once moved,")
        print(f"  {left} once exchanged and on other twigs; {least} of these have no place on their own")
        print(f"  {took:.2f} s, {took / once:.1f} times one plain measure ({once:.2f} s)")


def plain_shares(room: Room, hung: Hung) -> np.ndarray:
    """Shares of all leaves, one pose and one leaf at a time against every piece within reach."""
    leaves, steel = hung.tree.leaves, room.steel
    sizes = room.sizes[leaves.designs - 1]
    pieces, eyes = cKDTree(steel.middles), cKDTree(hung.eyes)
    found = np.zeros(len(leaves))
    for row, (eye, (length, radius)) in enumerate(zip(hung.eyes, sizes, strict=True)):
        near = np.array(pieces.query_ball_point(eye, length + radius + float(steel.radii.max()) + 10.0), dtype=np.int64)
        beside = np.array([j for j in eyes.query_ball_point(eye, 2.5 * length) if j != row], dtype=np.int64)
        starts = np.concatenate([steel.starts[near], hung.eyes[beside]])
        axes = np.concatenate([steel.axes[near], np.tile([0.0, 0.0, -1.0], (len(beside), 1))])
        runs = np.concatenate([steel.runs[near], sizes[beside, 0]])
        gaps = np.concatenate([steel.radii[near], sizes[beside, 1]]) + radius
        own = np.concatenate([steel.members[near] == leaves.twigs[row], np.zeros(len(beside), dtype=bool)])
        some = np.full(len(starts), length)
        hits = [
            rods_met(eye - starts, some, gaps, axes, runs, way[None], np.where(own, STALK * length, 0.0)).any()
            for way in poses(room.swing)
        ]
        found[row] = np.mean(hits)
    return found


def least_over(room: Room, hung: Hung, strike: float, spacing: float) -> int:
    """Leaves that must stay beyond their share, were all as short as the shortest design and as narrow as any.

    On each twig with such a leaf: its leaves, less the longest row of places along it of which each is clear of steel
    and of the next. All others are left out, so no hanging does better.
    """
    leaves, tree = hung.tree.leaves, room.tree
    most = int(np.floor(strike * len(poses(room.swing)) + 1e-9))
    least = 0
    for twig in np.unique(leaves.twigs[hung.shares > strike]).tolist():
        length = tree.lengths[twig]
        stations = np.append(np.arange(0.03 * length, length - 4.0, max(length / 200, 0.5)), length - 4.0)
        tried = room.rods(np.full(len(stations), twig), stations, np.full(len(stations), len(room.sizes) - 1))
        struck = steel_struck(tried, room.steel, room.swing)
        clear = struck.sum(axis=1) <= most
        one, other = np.triu_indices(len(stations), 1)
        able = clear[one] & clear[other] & (stations[other] - stations[one] >= spacing - 1.0)
        one, other = one[able], other[able]
        for turn in (False, True):
            a, b = (other, one) if turn else (one, other)
            fits = (leaves_met(tried.taken(a), tried.taken(b), room.swing) | struck[a]).sum(axis=1) <= most
            one, other = one[fits], other[fits]
        rows = clear.astype(np.int64)
        for k in np.argsort(other, kind="stable").tolist():
            rows[other[k]] = max(rows[other[k]], rows[one[k]] + 1)
        least += max(int((leaves.twigs == twig).sum()) - int(rows.max()), 0)
    return least


if __name__ == "__main__":
    for part in (plates, assigning, hanging, whole):
        if len(sys.argv) < 2 or part.__name__ in sys.argv[1:]:
            part()
