"""How long growing takes, and how it grows with the tree.

    python -m tests.bench.bench_grow [LARGEST_TWIGS]

Times are ratios against a fixed piece of numpy work done in the same run, so that tables from different machines
compare; seconds stand beside them. The cost exponent is the slope of log time on log twigs.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

import numpy as np

from armature.commission import Commission, read
from armature.grow import grow
from armature.look import first_look

PRESET = Path(__file__).parents[2] / "presets" / "garden.toml"


def sized(twigs: int) -> Commission:
    """Return an invented rounded crown of so many twigs, its volume a twig the same at every size."""
    scale = (twigs / 420.0) ** (1.0 / 3.0)
    height, width = 4.9 * scale, 4.0 * scale
    bars = ", ".join(
        f'"{size} mm"' for size in (6, 8, 10, 12, 16, 20, 25, 32, 40, 50, 65, 80, 100, 130, 170, 220, 300, 400, 600)
    )
    counts = f"limbs = {4 + twigs // 5000}, branches = {twigs // 80}, branchlets = {twigs // 10}, twigs = {twigs}"
    return read(
        f'title = "Bench {twigs} (invented)"\ncanopy.height = "{height} m"\n'
        f'canopy.spread = ["{width} m", "{width} m"]\ngrowth = {{pipe_exponent = 2.6, {counts}}}\n'
        f"steel.bars = [{bars}]\nleaves.count = {2 * twigs}\n"
    )


def yardstick() -> float:
    """Return the seconds of a fixed piece of array work: sorts and square roots of four million numbers."""
    values = np.random.default_rng(1).random(4_000_000)
    return best(lambda: np.sqrt(np.sort(values)).sum(), 3)


def best(work: Callable[[], object], runs: int, clock: Callable[[], float] = time.process_time) -> float:
    """Return the least seconds of several runs."""
    found = []
    for _ in range(runs):
        start = clock()
        work()
        found.append(clock() - start)
    return min(found)


def main() -> None:
    """Print the table."""
    largest = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    unit = yardstick()
    print(f"yardstick (sort and root of 4e6 numbers): {unit:.3f} s = 1")
    garden = read(PRESET)
    tree = grow(garden)
    took = best(lambda: first_look(grow(garden)), 7)
    print(f"grow, size and first look, {len(tree)} members: {took:.3f} s, ratio {took / unit:.2f}")
    help_took = best(
        lambda: subprocess.run([sys.executable, "-m", "armature", "--help"], capture_output=True), 5, time.perf_counter
    )
    print(f"armature --help, whole process: {help_took:.3f} s, ratio {help_took / unit:.2f}")
    sizes, times = [], []
    size = 1000
    while size <= largest:
        asked = sized(size)
        times.append(best(partial(grow, asked), 3 if size < 30_000 else 1))
        sizes.append(size)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        print(
            f"grow {size:>8,} twigs: {times[-1]:8.3f} s, ratio {times[-1] / unit:7.2f}, peak {memory / 1024:.0f} MiB",
            flush=True,
        )
        size = round(size * 10**0.5)
    print(f"cost exponent {np.polyfit(np.log(sizes), np.log(times), 1)[0]:.3f} (mark: at most 1.15)")


if __name__ == "__main__":
    main()
