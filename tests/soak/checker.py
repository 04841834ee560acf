"""A tree checked by other means than those that grew it: its design.json read as plain arrays, bars as chains of
straights and arcs, distances between them by the closed form for two straights.

Arcs are cut to chords that leave them by 0.01 mm at most; two bars nearer than that to touching count as touching.
"""

from __future__ import annotations

import json
import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

SAG = 0.01


def faults(file: Path, limbs: int, branches: int, twigs: int, leaves: int) -> list[str]:
    """Return what is wrong with a design, a line each."""
    tree = json.loads(file.read_text("utf-8"))["tree"]
    ranks, parents = tree["ranks"], tree["parents"]
    said = []
    counts = [sum(rank == one for rank in ranks) for one in (0, 1, 2, 4)]
    if counts != [1, limbs, branches, twigs] or len(tree["leaves"]["twigs"]) != leaves:
        said.append(f"counts {counts}, {len(tree['leaves']['twigs'])} leaves")
    if any(parent >= row for row, parent in enumerate(parents)) or parents[0] != -1:
        said.append("a parent stands after its child")
    if len(set(tree["tags"])) != len(ranks):
        said.append("a tag stands twice")
    bars = chains(tree)
    if not all(math.isfinite(v) for bar in bars for point in bar for v in point):
        said.append("a corner is no number")
    return said


def chains(tree: dict[str, Any]) -> list[list[tuple[float, float, float]]]:
    """Return each bar as points: its straights, and its bends cut to chords."""
    vertices, radii, offsets = tree["chains"]["vertices"], tree["chains"]["radii"], tree["chains"]["offsets"]
    bars = []
    for first, last in pairwise(offsets):
        points = [tuple(vertices[first])]
        for at in range(first + 1, last - 1):
            before, corner, after = (np.array(vertices[at + step]) for step in (-1, 0, 1))
            points += _bend(before, corner, after, radii[at])
        bars.append([*points, tuple(vertices[last - 1])])
    return bars


def _bend(before: Any, corner: Any, after: Any, radius: float) -> list[tuple[float, ...]]:
    into, out = (corner - before) / np.linalg.norm(corner - before), (after - corner) / np.linalg.norm(after - corner)
    angle = math.acos(max(-1.0, min(1.0, float(into @ out))))
    if angle < 1e-9 or radius <= 0.0:
        return [tuple(corner)]
    back = radius * math.tan(angle / 2.0)
    inward = (out - into) / np.linalg.norm(out - into)
    centre = corner + inward * (radius / math.cos(angle / 2.0))
    steps = max(2, math.ceil(angle / (2.0 * math.acos(max(0.0, 1.0 - SAG / radius)))))
    start = corner - into * back - centre
    across = into * radius
    turns = [angle * step / steps for step in range(steps + 1)]
    return [tuple(centre + start * math.cos(turn) + across * math.sin(turn)) for turn in turns]


def touching(file: Path) -> int:
    """Return how many pairs of bars that are not welded to each other, nor to one parent, run through each other."""
    tree = json.loads(file.read_text("utf-8"))["tree"]
    bars, parents = chains(tree), tree["parents"]
    reach = _diameters(tree)
    heads = [np.array(bar[:-1]) for bar in bars]
    tails = [np.array(bar[1:]) for bar in bars]
    boxes = [(np.min(bar, axis=0) - d / 2.0, np.max(bar, axis=0) + d / 2.0) for bar, d in zip(bars, reach, strict=True)]
    lows, highs = np.array([box[0] for box in boxes]), np.array([box[1] for box in boxes])
    pairs = 0
    for one in range(len(bars)):
        near = np.flatnonzero(((lows[one] <= highs) & (lows <= highs[one])).all(axis=1))
        for other in near[near > one].tolist():
            if parents[one] == other or parents[other] == one or parents[one] == parents[other]:
                continue
            away = _least(heads[one], tails[one], heads[other], tails[other])
            pairs += away < (reach[one] + reach[other]) / 2.0
    return pairs


def _diameters(tree: dict[str, Any]) -> list[float]:
    """Return the least diameter of each bar, its tip's: what touches by that is sure to touch."""
    return list(tree["tapers"]["tips"])


def _least(a: Any, b: Any, c: Any, d: Any) -> float:
    """Return the least distance between two chains of straights, a to b and c to d: each end against each straight,
    and where two straights cross within both."""
    u, v = (b - a)[:, None], (d - c)[None]
    w = a[:, None] - c[None]
    uu, vv, uv = (u * u).sum(-1), (v * v).sum(-1), (u * v).sum(-1)
    uw, vw = (u * w).sum(-1), (v * w).sum(-1)
    det = uu * vv - uv * uv
    with np.errstate(all="ignore"):
        s, t = (uv * vw - vv * uw) / det, (uu * vw - uv * uw) / det
    inside = (det > 1e-9) & (s >= 0) & (s <= 1) & (t >= 0) & (t <= 1)
    away = [np.where(inside, np.linalg.norm(w + s[..., None] * u - t[..., None] * v, axis=-1), np.inf)]
    for end in (0.0, 1.0):
        on = np.clip((vw + end * uv) / np.maximum(vv, 1e-12), 0, 1)
        away.append(np.linalg.norm(w + end * u - on[..., None] * v, axis=-1))
        on = np.clip((end * uv - uw) / np.maximum(uu, 1e-12), 0, 1)
        away.append(np.linalg.norm(w + on[..., None] * u - end * v, axis=-1))
    return float(min(np.nanmin(one) for one in away))
