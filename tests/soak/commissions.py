"""Commissions drawn at random over the whole key space, small enough to be grown by the thousand."""

from __future__ import annotations

import random


def random_commission(number: int) -> str:
    """Return the text of one commission; the same number gives the same text."""
    draw = random.Random(number)
    inch, high = draw.random() < 0.5, draw.uniform(500.0, 6000.0)
    limbs = draw.randint(1, 6)
    branches = limbs * draw.randint(1, 6)
    twigs = branches * draw.randint(1, 6)
    wide = [round(high * draw.uniform(0.4, 1.1), 1) for _ in range(2)]
    habit = draw.choice(["rounded", "spreading", "columnar", "pendulous", "espalier"])
    lines = [
        f'title = "Soak {number}"',
        f"seed = {draw.randint(0, 2**40)}",
        f'units = "{"inch" if inch else "mm"}"',
        "[canopy]",
        f'habit = "{habit}"',
        f'height = "{high:.1f} mm"',
        f'spread = ["{wide[0]} mm", "{wide[1]} mm"]',
        f'clear_stem = "{high * draw.uniform(0.1, 0.5):.1f} mm"',
        "[growth]",
        f"limbs = {limbs}",
        f"branches = {branches}",
        f"twigs = {twigs}",
        f"pipe_exponent = {draw.uniform(1.9, 3.0):.2f}",
        f'clearance = "{draw.choice([0, 1, 3, 6, 12])} mm"',
    ]
    for rank in ("limb", "branch", "twig"):
        if draw.random() < 0.5:
            lines += [
                f"[growth.{rank}]",
                f'insertion_angle = "{draw.uniform(25.0, 80.0):.0f} deg"',
                f'insertion_angle_sd = "{draw.uniform(2.0, 18.0):.0f} deg"',
                f"sinuosity = {draw.uniform(1.0, 1.2):.2f}",
            ]
    lines += [
        "[leaves]",
        f"count = {draw.randint(0, 4 * twigs)}",
        f'metal = "{draw.choice(["copper", "bronze", "brass"])}"',
        f"designs = {draw.randint(1, 9)}",
        f'sheet = "{draw.choice(["0.5 mm", "0.8 mm", "1.2 mm"])}"',
        "[site]",
        f'wind_speed = "{draw.uniform(20.0, 55.0):.0f} m/s"',
        f'corrosivity = "{draw.choice(["C2", "C3", "C4", "C5"])}"',
        f"years = {draw.choice([25, 50, 100, 200])}",
    ]
    return "\n".join(lines) + "\n"
