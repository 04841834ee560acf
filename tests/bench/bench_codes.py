"""Two codes side by side on the same trees under the same wind: the same factored peak pressure and drag everywhere.

Run by hand: `python -m tests.bench.bench_codes`; prints the rows of the table in docs/strength.md. Each tree is sized
by ASCE 7-16 and then judged by either. The European mean, from which turbulence and damping follow, is that at which
1.5 times its own peak pressure at mid crown is the American velocity pressure there.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from unittest.mock import patch

import numpy as np

from armature.commission import Commission, changed, read
from armature.grow import grow
from armature.strength import Assessment, assessed, checks, peak_pressure, strengthened, worst_ratio
from armature.strength.actions import drag, pressure
from armature.strength.conditions import Conditions, conditions
from armature.strength.loads import Pressure
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


@contextmanager
def blown_alike(american: Commission) -> Iterator[None]:
    """Let bars and leaves take the American pressure, over 1.5, and the American drag under any standard."""
    held, ways = conditions(american), drag(conditions(american))

    def alike(asked: Conditions, speed: float) -> Pressure:
        assert held.wind_speed is not None
        own = pressure(held, held.wind_speed if speed == asked.wind_speed else speed)
        return lambda heights: own(heights) / 1.5

    where = "armature.strength.actions"
    with patch(f"{where}.pressure", alike), patch(f"{where}.drag", lambda _: ways):
        yield


def said(found: Assessment) -> tuple[float, str]:
    """Return the largest moment at the base with the leaves as plates, kN m, and its row's words."""
    gust = found.gusts["plates"]
    base = max(each.overturning for each in found.base if each.use == "strength" and "plates" in each.name) / 1e6
    wind = f"{found.conditions.wind_speed:.1f} m/s | {gust.frequencies[0]:.2f} Hz | {100 * gust.damping[0]:.1f} %"
    return base, f"{wind} | {gust.factors[0]:.3f} | {base:.1f} kN m | {worst_ratio(checks(found)):.3f}"


def main() -> None:
    """Print a row a preset and standard, and how far apart their moments are."""
    for name in ("garden", "linden", "weeping"):
        own = read(PRESETS / f"{name}.toml")
        american = changed(own, AMERICAN | {"site.topography": 1.0})
        grown = grow(own)
        site = {
            "site.standard": "EN 1991-1-4",
            "site.wind_speed": f"{european_speed(american, grown):.3f} m/s",
            "site.exposure": "II",
            "site.risk_category": None,
        }
        made = strengthened(grown, american)
        one, words = said(made.assessment)
        print(f"| {name} | {american.site.standard} | {words} |", flush=True)
        european = changed(own, AMERICAN | {"site.topography": 1.0} | site)
        with blown_alike(american):
            other, words = said(assessed(made.tree, european))
        print(
            f"| {name} | {european.site.standard} | {words} |\n  apart by {100 * (other / one - 1):.1f} %", flush=True
        )


if __name__ == "__main__":
    main()
