"""Sizing without jumps: mass against wind speed and against height, no step anywhere.

Run by hand: `python -m tests.bench.bench_sweeps [wind] [drawn] [height]`. Mass is printed over that of the step before.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from armature.commission import changed, read
from armature.grow import grow
from armature.strength import checks, strengthened, worst_ratio
from armature.tree import Chains

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


def drawn_out(name: str, shares: list[float]) -> None:
    """Print the mass of one grown tree drawn out in all directions, its bars kept: what sizing alone does with height.

    A crown that is grown anew for each height is another crown, and its own mass jumps.
    """
    commission = read(PRESETS / f"{name}.toml")
    tree = grow(commission)
    masses = []
    for share in shares:
        chains = Chains(tree.chains.offsets, tree.chains.vertices * share, tree.chains.radii * share)
        longer = replace(
            tree,
            chains=chains,
            stations=tree.stations * share,
            setbacks=tree.setbacks * share,
            tapers=replace(tree.tapers, stations=tree.tapers.stations * share, swells=tree.tapers.swells * share),
            leaves=replace(tree.leaves, stations=tree.leaves.stations * share),
        )
        made = strengthened(longer, commission)
        masses.append(float(made.tree.volumes.sum()) * commission.steel.density * 1e-9)
        factor = made.assessment.gusts["plates"].factors[0]
        top = float(longer.tips[:, 2].max()) / 304.8
        before = float(longer.volumes.sum()) * commission.steel.density * 1e-9
        print(
            f"{name} drawn out to {top:.2f} ft: {before:.1f} kg, {masses[-1]:.1f} sized, gust {factor:.3f}", flush=True
        )
    jumps = np.diff(masses) / masses[:-1] / (100.0 * np.diff(shares) / shares[:-1])
    print(f"  largest jump {100 * np.abs(jumps).max():.2f} % of mass for 1 % of height")
    print(f"  steps {np.round(100 * jumps, 2)}")


if __name__ == "__main__":
    asked = set(sys.argv[1:]) or {"wind", "drawn", "height"}
    if "wind" in asked:
        sweep("garden", "site.wind_speed", [f"{speed} mph" for speed in range(106, 126)])
    if "drawn" in asked:
        drawn_out("garden", [1.0 + 0.01 * step for step in range(20)])
    if "height" in asked:
        sweep("garden", "canopy.height", [f"{16.0 + 0.25 * step} ft" for step in range(20)])
