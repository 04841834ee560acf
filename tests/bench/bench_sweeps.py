"""Sizing without jumps: mass against wind speed and against height, no step anywhere.

Run by hand: `python -m tests.bench.bench_sweeps [wind] [height]`. Mass is printed over that of the step before.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from armature.commission import changed, read
from armature.grow import grow
from armature.strength import checks, strengthened, worst_ratio

PRESETS = Path(__file__).parents[2] / "presets"


def sweep(name: str, key: str, values: list[str]) -> None:
    """Print the mass at each value of a key of a preset, and its largest jump for one per cent of the value."""
    masses = []
    for value in values:
        commission = changed(read(PRESETS / f"{name}.toml"), {key: value})
        tree = grow(commission)
        made = strengthened(tree, commission)
        masses.append(float(made.tree.volumes.sum()) * commission.steel.density * 1e-9)
        found, before = made.assessment, float(tree.volumes.sum()) * commission.steel.density * 1e-9
        words = f"{before:.1f} kg grown, {masses[-1]:.1f} sized, gust {found.gusts['plates'].factors[0]:.3f}"
        print(f"{name} {key} {value}: {words}, worst {worst_ratio(checks(found)):.3f}", flush=True)
    numbers = np.array([float(value.split()[0]) for value in values])
    jumps = np.diff(masses) / masses[:-1] / (100.0 * np.diff(numbers) / numbers[:-1])
    print(
        f"  largest jump {100 * np.abs(jumps).max():.2f} % of mass for 1 % of {key}; steps {np.round(100 * jumps, 2)}"
    )


if __name__ == "__main__":
    asked = set(sys.argv[1:]) or {"wind", "height"}
    if "wind" in asked:
        sweep("garden", "site.wind_speed", [f"{speed} mph" for speed in range(106, 126)])
    if "height" in asked:
        sweep("garden", "canopy.height", [f"{16.0 + 0.25 * step} ft" for step in range(20)])
