"""Side shoots, size and steadiness of grown trees, beside the quartiles of eleven measured ones.

    python -m tests.bench.bench_shoots [TREES] [post|leader]

Grown trees are measured as real ones are: from their nodes alone, which child goes on as the same member at each fork
told by the wood it carries, thinned to the 450 thickest members. The seeds were not grown to before the rules stood.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from armature.commission import Commission, changed, read
from armature.edge import GrowthError
from armature.grow import grow
from armature.look.axes import Nodes, skeleton_of_nodes
from armature.tree import Tree, extent, sampled
from tests.bench import shoots

PRESET = Path(__file__).parents[2] / "presets" / "garden.toml"
FIRST_SEED = 31_000
# Quarter, middle and three quarters over the measured trees; None where the mark is another.
REAL = {
    "sibling_lengths": (0.61, 0.68, 0.71),
    "spur_share": (0.29, 0.34, 0.41),
    "child_share": (0.14, 0.16, 0.17),
    "length_by_place": (-0.36, -0.24, -0.17),
    "bare_start": (0.16, 0.19, 0.22),
    "gap_evenness": (0.85, 0.90, 0.93),
    "upper_side": (0.07, 0.24, 0.33),
    "angle_spread": (25.6, 28.7, 29.2),
    "tips_down": (0.12, 0.14, 0.23),
    "stem_lean": (0.03, 0.06, 0.10),
    "path_over_chord": (1.12, 1.17, 1.20),
}


def nodes_of(tree: Tree) -> Nodes:
    """Return a grown tree as nodes, as a scan would give it."""
    line = sampled(tree.chains, 3.0, 40.0)
    firsts, parents = line.offsets[:-1], np.arange(len(line.points)) - 1
    for row, parent in enumerate(tree.parents.tolist()):
        first = int(firsts[row])
        parents[first] = -1
        if parent >= 0:
            own = line.stations[firsts[parent] : line.offsets[parent + 1]]
            parents[first] = firsts[parent] + min(int(np.searchsorted(own, tree.stations[row])), len(own) - 1)
    rows = np.repeat(np.arange(len(tree)), np.diff(line.offsets))
    names = np.array([str(number) for number in range(len(parents))])
    return Nodes(names, parents, line.points, tree.diameters_at(rows, line.stations) / 2.0)


def measured(tree: Tree) -> list[float]:
    """Return all traits of one tree."""
    seen = shoots.thinned(skeleton_of_nodes(nodes_of(tree)))
    return [float(getattr(shoots, name)(seen).value) for name in REAL]


def moved(before: Tree, after: Tree, height: float) -> tuple[float, float, int, int]:
    """Return the middle and the ninth tenth of how far tips moved, over the height, and how many tags went and came."""
    old, new = set(before.tags.tolist()), set(after.tags.tolist())
    both = sorted(old & new)
    here, there = [before.rows[tag] for tag in both], [after.rows[tag] for tag in both]
    away = np.linalg.norm(before.tips[here] - after.tips[there], axis=1) / height
    return float(np.median(away)), float(np.quantile(away, 0.9)), len(old - new), len(new - old)


def nudges(asked: Commission) -> dict[str, dict[str, object]]:
    """Return small changes of a commission, by name."""
    canopy, growth = asked.canopy, asked.growth
    wide, deep = canopy.spread
    return {
        "an inch of height": {"canopy.height": f"{canopy.height + 25.4} mm"},
        "1 % of height": {"canopy.height": f"{canopy.height * 1.01} mm"},
        "an inch of width": {"canopy.spread": [f"{wide + 25.4} mm", f"{deep} mm"]},
        "1 % of width": {"canopy.spread": [f"{wide * 1.01} mm", f"{deep * 1.01} mm"]},
        "an inch of clear stem": {"canopy.clear_stem": f"{canopy.clear_stem + 25.4} mm"},
        "ten twigs": {"growth.twigs": growth.twigs + 10},
        "one branch": {"growth.branches": growth.branches + 1},
    }


def main() -> None:
    """Print the tables."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    stem = sys.argv[2] if len(sys.argv) > 2 else "leader"
    base = changed(read(PRESET), {"growth.stem": stem})
    rows, boxes, refused, trees = [], [], 0, []
    for number in range(count):
        asked = changed(base, {"seed": FIRST_SEED + number, "canopy.habit": ("spreading", "rounded")[number % 2]})
        try:
            tree = grow(asked)
        except GrowthError as why:
            print(f"seed {asked.seed}: {why}")
            refused += 1
            continue
        rows.append(measured(tree))
        size = np.ptp(extent(tree), axis=0)
        boxes.append([extent(tree)[1, 2] / asked.canopy.height, *(size[:2] / np.array(asked.canopy.spread))])
        trees.append((asked, tree))
    print(f"{len(rows)} trees, spreading and rounded, {stem}; {refused} refused\n")
    print("| trait | grown: quarter, middle, three quarters | real | inside | spread over that of the real |")
    print("| --- | --- | --- | --- | --- |")
    table = np.array(rows)
    for name, values in zip(REAL, table.T, strict=True):
        low, middle, high = np.quantile(values, [0.25, 0.5, 0.75])
        real = REAL[name]
        inside = "yes" if real[0] <= middle <= real[2] else "no"
        share = (high - low) / (real[2] - real[0])
        print(
            f"| {name} | {low:.3f} {middle:.3f} {high:.3f} | {real[0]} {real[1]} {real[2]} | {inside} | {share:.2f} |"
        )
    size = np.array(boxes)
    kept = (np.abs(size[:, 0] - 1.0) < 0.005) & (np.abs(size[:, 1:] - 1.0) < 0.02).all(axis=1)
    print(f"\nheight within 0.5 % and spread within 2 %: {kept.sum()} of {len(kept)}\n")
    print("| nudge | middle tip, % of height | 90 % | trees over 1.5 or 5 % | tags gone, come |")
    print("| --- | --- | --- | --- | --- |")
    for name in nudges(base):
        found = []
        for asked, tree in trees[:10]:
            try:
                found.append(moved(tree, grow(changed(asked, nudges(asked)[name])), asked.canopy.height))
            except GrowthError:
                continue
        each = np.array(found)
        over = int(((each[:, 0] > 0.015) | (each[:, 1] > 0.05)).sum())
        gone, come = each[:, 2].max(), each[:, 3].max()
        middle, most = 100.0 * np.median(each[:, 0]), 100.0 * np.median(each[:, 1])
        print(f"| {name} | {middle:.2f} | {most:.2f} | {over} of {len(each)} | {gone:.0f}, {come:.0f} |")


if __name__ == "__main__":
    main()
