"""Stand-ins for measured trees: shoots that compete for light, as nodes with radius; none of them is a real tree.

Each year every living bud makes a few internodes, turns toward open space and up, sheds side buds at wide angles, and
dies where too many shoots stand above it; dead wood falls. Forest trees lean to a gap and lose their low limbs,
orchard trees are small and cut back. Thickness follows a pipe rule with noise, or is overstated in thin wood as
scanners do.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.look.axes import Nodes

Bud = tuple[int, np.ndarray, float, int]
KINDS = ("lone", "forest", "orchard", "tropical")


@dataclass(frozen=True)
class Habit:
    years: int
    leader: float
    side: float
    angle: float
    spread: float
    wander: float
    rise: float
    crowd: float
    lean: float
    clear: float
    shed: float


_HABITS = {
    "lone": Habit(13, 0.75, 0.85, 72.0, 24.0, 17.0, 0.10, 11.0, 0.15, 0.2, 0.5),
    "forest": Habit(17, 1.0, 0.75, 72.0, 26.0, 16.0, 0.14, 9.0, 0.6, 0.4, 0.7),
    "orchard": Habit(9, 0.6, 0.95, 66.0, 22.0, 15.0, 0.12, 14.0, 0.25, 0.15, 0.3),
    "tropical": Habit(14, 1.1, 0.75, 70.0, 27.0, 18.0, 0.08, 9.0, 0.4, 0.45, 0.6),
}


def natural(seed: int, kind: str = "lone", scan: bool = False) -> Nodes:
    """Return the nodes of one stand-in, mm."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    parents, points, alive = _grown(rng, _HABITS[kind])
    parents, points = _shed(rng, parents, points, alive, _HABITS[kind])
    radii = _radii(rng, parents, scan)
    if scan:
        points = points + rng.normal(0.0, 0.012, points.shape) * np.minimum(np.arange(len(points)), 1)[:, None]
    names = np.array([str(row + 1) for row in range(len(parents))])
    return Nodes(names, parents, points * 1000.0, radii * 1000.0)


def _unit(rows: np.ndarray) -> np.ndarray:
    return np.asarray(rows / np.maximum(np.linalg.norm(rows, axis=-1, keepdims=True), 1e-9))


def _grown(rng: np.random.Generator, habit: Habit) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    gap = np.array([*_unit(rng.normal(size=2)), 0.0]) * habit.lean * rng.uniform(0.3, 1.6)
    crowd, angle = habit.crowd * rng.uniform(0.7, 1.5), habit.angle + rng.normal(0.0, 6.0)
    parents, points = [-1], [np.zeros(3)]
    buds = [(0, np.array([0.0, 0.0, 1.0]), 1.0, 0)]
    alive = {0}
    for year in range(habit.years + int(rng.integers(-2, 3))):
        stand = np.array(points)
        new: list[Bud] = []
        for node, way, vigour, rank in buds:
            if rank >= 10:
                continue
            away = stand - points[node]
            far = np.linalg.norm(away, axis=1)
            over = (away[:, 2] > 0.05) & (np.hypot(away[:, 0], away[:, 1]) < 0.5 * away[:, 2] + 0.25) & (far < 2.2)
            near = (far < 1.3) & (far > 1e-6)
            if over.sum() > crowd * rng.uniform(0.5, 1.8) and year > 2:
                continue
            push = -_unit(_unit(away[near]).sum(axis=0)) if near.any() else np.zeros(3)
            way = _unit(way + 0.22 * push + gap * 0.12 + [0.0, 0.0, habit.rise])
            new += _shoot(rng, habit, parents, points, (node, way, vigour, rank), angle)
        buds = new
        alive = {bud[0] for bud in buds}
    return np.array(parents), np.array(points), np.isin(np.arange(len(parents)), list(alive))


def _shoot(
    rng: np.random.Generator, habit: Habit, parents: list[int], points: list[np.ndarray], bud: Bud, angle: float
) -> list[Bud]:
    node, way, vigour, rank = bud
    buds: list[Bud] = []
    azimuth = rng.uniform(0.0, 360.0)
    for step in range(int(rng.integers(1, 4))):
        way = _unit(way + np.radians(habit.wander) * (0.4 if rank == 0 else 1.0) * rng.normal(size=3) * 0.6)
        length = habit.leader * vigour * 0.45 * rng.lognormal(0.0, 0.35)
        points.append(points[node] + way * length)
        parents.append(node)
        node = len(points) - 1
        if rng.random() < habit.side and not (step == 0 and rng.random() < 0.4):
            azimuth += rng.normal(140.0, 65.0)
            side = _tilted(way, min(max(rng.normal(angle + 3.0 * rank, habit.spread), 8.0), 130.0), azimuth)
            # Most side shoots stay short; few become members that fork again.
            share = rng.beta(1.9, 1.5)
            buds.append((node, side, vigour * max(share, 0.3), rank + 1 if share > 0.3 else 9))
    if rng.random() > 0.06 * (rank > 0):
        buds.append((node, way, vigour * (1.0 if rank == 0 else 0.93), rank if rank < 9 else rank + 1))
    return buds


def _tilted(way: np.ndarray, angle: float, azimuth: float) -> np.ndarray:
    other = np.array([1.0, 0.0, 0.0]) if abs(way[0]) < 0.8 else np.array([0.0, 1.0, 0.0])
    one = _unit(np.cross(way, other))
    two = np.cross(way, one)
    turn, lean = np.radians(azimuth), np.radians(angle)
    return np.asarray(np.cos(lean) * way + np.sin(lean) * (np.cos(turn) * one + np.sin(turn) * two))


def _shed(
    rng: np.random.Generator, parents: np.ndarray, points: np.ndarray, alive: np.ndarray, habit: Habit
) -> tuple[np.ndarray, np.ndarray]:
    """Dead wood falls with some chance, and so do all limbs below the clear height."""
    living = alive.copy()
    for row in range(len(parents) - 1, 0, -1):
        living[parents[row]] |= living[row]
    top = points[:, 2].max()
    kept = np.zeros(len(parents), dtype=bool)
    kept[0] = True
    trunk = _leader(parents, points)
    for row in range(1, len(parents)):
        low = points[row, 2] < habit.clear * top * 0.8 and row not in trunk and parents[row] in trunk
        falls = (not living[row]) and living[parents[row]] and rng.random() < habit.shed
        kept[row] = kept[parents[row]] and not low and not falls
    new = np.cumsum(kept) - 1
    return np.where(parents[kept] >= 0, new[parents[kept]], -1), points[kept]


def _leader(parents: np.ndarray, points: np.ndarray) -> set[int]:
    row, found = int(points[:, 2].argmax()), set()
    while row >= 0:
        found.add(row)
        row = int(parents[row])
    return found


def _radii(rng: np.random.Generator, parents: np.ndarray, scan: bool) -> np.ndarray:
    exponent, thin = rng.uniform(1.8, 2.6), rng.uniform(0.006, 0.012)
    total = np.zeros(len(parents))
    children = np.bincount(parents[1:], minlength=len(parents))
    for row in range(len(parents) - 1, -1, -1):
        total[row] = total[row] * 1.03 if children[row] else thin**exponent
        if parents[row] >= 0:
            total[parents[row]] += total[row]
    radii = total ** (1.0 / exponent)
    return (
        np.maximum(radii * rng.lognormal(0.0, 0.2, len(radii)), 0.012)
        if scan
        else radii * rng.lognormal(0.0, 0.05, len(radii))
    )
