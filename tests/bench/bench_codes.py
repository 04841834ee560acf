"""Two codes side by side: the same trees under the same factored peak pressure, sized and judged by either.

Run by hand: `python -m tests.bench.bench_codes`; prints the rows of the table in docs/strength.md. The European speed
is that at which 1.5 times its peak pressure at mid crown is the American velocity pressure there.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np

from armature.commission import Commission, changed, read
from armature.grow import grow
from armature.strength import checks, peak_pressure, strengthened, worst_ratio
from armature.strength.actions import pressure
from armature.strength.conditions import conditions
from armature.tree import Tree

PRESETS = Path(__file__).parents[2] / "presets"
AMERICAN = {
    "site.standard": "ASCE 7-16",
    "site.wind_speed": "115 mph",
    "site.exposure": "C",
    "site.risk_category": "II",
}


def european_speed(american: Commission, tree: Tree) -> float:
    """Return the ten-minute mean, m/s in terrain II, of the same factored peak pressure at mid crown."""
    held, middle = conditions(american), np.array([0.6 * float(tree.tips[:, 2].max())])
    assert held.wind_speed is not None
    asked = float(pressure(held, held.wind_speed)(middle)[0])
    return float(np.sqrt(asked / (1.5 * float(peak_pressure(middle / 1000.0, "II", 1.0)[0]))))


def main() -> None:
    """Print a row a preset and standard."""
    for name in ("garden", "linden", "weeping"):
        own = read(PRESETS / f"{name}.toml")
        american = changed(own, AMERICAN | {"site.topography": 1.0})
        tree = grow(own)
        speed = european_speed(american, tree)
        site = {"site.standard": "EN 1991-1-4", "site.wind_speed": f"{speed:.3f} m/s", "site.exposure": "II"}
        for commission in (american, changed(own, site | {"site.risk_category": None})):
            made = strengthened(tree, commission)
            found, kilos = made.assessment, float(made.tree.volumes.sum()) * commission.steel.density * 1e-9
            gust = found.gusts["plates"]
            base = (
                max(each.overturning for each in found.base if each.use == "strength" and "plates" in each.name) / 1e6
            )
            wind = (
                f"{found.conditions.wind_speed:.1f} m/s | {gust.frequencies[0]:.2f} Hz | {100 * gust.damping[0]:.1f} %"
            )
            sized = f"{gust.factors[0]:.3f} | {base:.1f} kN m | {kilos:.0f} kg | {worst_ratio(checks(found)):.3f}"
            print(f"| {name} | {commission.site.standard} | {wind} | {sized} |", flush=True)


if __name__ == "__main__":
    main()
