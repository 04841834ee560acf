"""Commissions for the tests of growing: invented, small, of every habit."""

from __future__ import annotations

from armature.commission import Commission, read

SIZES = {
    "rounded": (3000, 2400, 1000),
    "spreading": (3000, 2800, 1100),
    "columnar": (3600, 1500, 800),
    "pendulous": (3000, 2600, 500),
    "espalier": (2800, 3200, 500),
}


def commission(
    habit: str = "rounded",
    seed: int = 1,
    limbs: int = 3,
    branches: int = 9,
    twigs: int = 60,
    branchlets: int = 0,
    leaves: int = 150,
    growth: str = "",
    canopy: str = "",
    steel: str = "",
    scale: float = 1.0,
) -> Commission:
    """Return a commission of one habit; further lines go into its tables as they are."""
    height, width, clear = (scale * size for size in SIZES[habit])
    depth = 420 * scale if habit == "espalier" else 0.92 * width
    return read(
        f"""
title = "Trial tree (invented)"
seed = {seed}
[canopy]
habit = "{habit}"
height = "{height} mm"
spread = ["{width} mm", "{depth} mm"]
clear_stem = "{clear} mm"
{canopy}
[growth]
limbs = {limbs}
branches = {branches}
branchlets = {branchlets}
twigs = {twigs}
{growth}
[steel]
{steel}
[leaves]
count = {leaves}
"""
    )
