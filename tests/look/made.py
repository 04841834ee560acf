"""Trees that nobody would take for grown: drawn by rule, too regular or too wild. Nodes with radius, mm."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from armature.look.axes import Nodes

from .naturals import natural


def _nodes(parents: list[int], points: list[np.ndarray], radii: list[float]) -> Nodes:
    names = np.array([str(row) for row in range(len(parents))])
    return Nodes(names, np.array(parents), np.array(points) * 1000.0, np.array(radii) * 1000.0)


def _frame(way: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    other = np.array([1.0, 0.0, 0.0]) if abs(way[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
    one = np.cross(way, other)
    one /= np.linalg.norm(one)
    return one, np.cross(way, one)


def forked(depth: int = 7, ways: int = 2, angle: float = 32.0, ratio: float = 0.78, twist: float = 90.0) -> Nodes:
    """Every shoot forks alike into `ways`, each a fixed share of its length."""
    parents, points, radii = [-1], [np.zeros(3)], [0.1]
    stand = [(0, np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), 2.0, 0.1)]
    for _ in range(depth):
        new = []
        for node, way, side, length, radius in stand:
            points.append(points[node] + way * length)
            parents.append(node)
            radii.append(radius)
            at, other = len(points) - 1, np.cross(way, side)
            for number in range(ways):
                turn = np.radians(twist + 360.0 / ways * number)
                out = np.cos(turn) * side + np.sin(turn) * other
                child = np.cos(np.radians(angle)) * way + np.sin(np.radians(angle)) * out
                new.append((at, child, np.cross(np.cross(way, out), child), length * ratio, radius * ways**-0.5))
        stand = new
    return _nodes(parents, points, radii)


def spiral(limbs: int = 34, twigs: int = 8, turn: float = 137.5, even: bool = True) -> Nodes:
    """A straight pole with straight limbs at even steps and one angle, each with straight twigs at even steps."""
    del even
    parents, points, radii = [-1], [np.zeros(3)], [0.12]
    trunk = 0
    for limb in range(limbs):
        points.append(np.array([0.0, 0.0, 2.0 + 8.0 * limb / limbs]))
        parents.append(trunk)
        radii.append(0.12 * (1.0 - 0.8 * limb / limbs))
        trunk = node = len(points) - 1
        azimuth = np.radians(turn * limb)
        way = np.array([np.cos(azimuth), np.sin(azimuth), 0.8]) / np.hypot(1.0, 0.8)
        one, two = _frame(way)
        for twig in range(twigs):
            points.append(points[node] + way * 0.3)
            parents.append(node)
            radii.append(0.02)
            node = len(points) - 1
            swing = np.radians(turn * twig)
            out = way * 0.7 + 0.7 * (np.cos(swing) * one + np.sin(swing) * two)
            points.append(points[node] + out * 0.5)
            parents.append(node)
            radii.append(0.008)
    return _nodes(parents, points, radii)


def whorled() -> Nodes:
    """A pole with whorls of five, each turned like the one below."""
    parents, points, radii = [-1], [np.zeros(3)], [0.12]
    trunk = 0
    for whorl in range(9):
        points.append(np.array([0.0, 0.0, 1.5 + whorl]))
        parents.append(trunk)
        radii.append(0.12 - 0.01 * whorl)
        trunk = len(points) - 1
        for arm in range(5):
            node, azimuth = trunk, 2.0 * np.pi * arm / 5.0
            way = np.array([np.cos(azimuth), np.sin(azimuth), 0.25])
            for step in range(5):
                points.append(points[node] + way * 0.3 * (10 - whorl) / 6.0)
                parents.append(node)
                radii.append(0.02 - 0.003 * step)
                node = len(points) - 1
                for hand in (-1.0, 1.0):
                    out = way * 0.6 + hand * np.cross(way, [0.0, 0.0, 1.0]) * 0.6
                    points.append(points[node] + out * 0.25)
                    parents.append(node)
                    radii.append(0.006)
    points.append(np.array([0.0, 0.0, 11.0]))
    parents.append(trunk)
    radii.append(0.01)
    return _nodes(parents, points, radii)


def tangle(seed: int = 1, count: int = 400) -> Nodes:
    """Every new piece leaves a node picked at random in a direction at random."""
    rng = np.random.default_rng(seed)
    parents, points = [-1, 0, 1, 2], [np.array([0.0, 0.0, 0.8 * z]) for z in range(4)]
    for _ in range(count):
        parent = int(rng.integers(2, len(points)))
        way = rng.normal(size=3)
        points.append(points[parent] + way / np.linalg.norm(way) * rng.uniform(0.2, 1.2))
        parents.append(parent)
    return _nodes(parents, points, [0.05 / (1.0 + 0.05 * row) for row in range(len(points))])


def planted(seed: int = 1) -> Nodes:
    """Straight members to tips on a lattice in a round crown, limbs in a ring."""
    del seed
    parents, points, radii = [-1, 0], [np.zeros(3), np.array([0.0, 0.0, 2.5])], [0.12, 0.12]
    grid = np.stack(np.meshgrid(*[np.arange(-3.0, 3.1, 0.75)] * 3), axis=-1).reshape(-1, 3)
    tips = grid[np.linalg.norm(grid, axis=1) < 3.0] + [0.0, 0.0, 6.0]
    limb = {}
    for arm in range(6):
        azimuth = 2.0 * np.pi * arm / 6.0
        points.append(np.array([1.5 * np.cos(azimuth), 1.5 * np.sin(azimuth), 5.5]))
        parents.append(1)
        radii.append(0.05)
        limb[arm] = len(points) - 1
    for tip in tips:
        arm = int(np.arctan2(tip[1], tip[0]) / (2.0 * np.pi) % 1.0 * 6)
        points.append(tip)
        parents.append(limb[arm])
        radii.append(0.008)
    return _nodes(parents, points, radii)


def mirrored(seed: int = 3) -> Nodes:
    """One half of a natural tree and its mirror image on one trunk."""
    return _repeated(seed, [np.diag([1.0, 1.0, 1.0]), np.diag([-1.0, 1.0, 1.0])])


def turned(seed: int = 4, fold: int = 4) -> Nodes:
    """One side of a natural tree, set `fold` times around one trunk."""
    turns = []
    for number in range(fold):
        angle = 2.0 * np.pi * number / fold
        turns.append(
            np.array([[np.cos(angle), -np.sin(angle), 0.0], [np.sin(angle), np.cos(angle), 0.0], [0.0, 0.0, 1.0]])
        )
    return _repeated(seed, turns)


def _repeated(seed: int, turns: list[np.ndarray]) -> Nodes:
    source = natural(seed, "lone")
    points = source.points - source.points[0]
    tall = points[:, 2].max()
    keep = (
        points[:, 0] > 0.02 * tall
        if len(turns) == 2
        else np.abs(np.arctan2(points[:, 1], points[:, 0])) < np.pi / len(turns)
    )
    keep &= np.hypot(points[:, 0], points[:, 1]) > 0.02 * tall
    steps = 12
    parents = [-1, *range(steps)]
    stem = [np.array([0.0, 0.0, tall * step / steps]) for step in range(steps + 1)]
    all_points, radii = list(stem), [0.02 * tall * (1.0 - 0.9 * step / steps) for step in range(steps + 1)]
    for turn in turns:
        new: dict[int, int] = {}
        for row in np.flatnonzero(keep).tolist():
            parent = int(source.parents[row])
            at = new.get(parent)
            if at is None:
                at = int(np.clip(points[row, 2] / tall * steps - 1.0, 2, steps - 1))
            all_points.append(turn @ points[row])
            parents.append(at)
            radii.append(float(source.radii[row]))
            new[row] = len(all_points) - 1
    return Nodes(
        np.array([str(row) for row in range(len(parents))]), np.array(parents), np.array(all_points), np.array(radii)
    )


MADE: dict[str, Callable[[], Nodes]] = {
    "forked in two": lambda: forked(),
    "forked in two, flat": lambda: forked(8, 2, 28.0, 0.8, 0.0),
    "forked in three": lambda: forked(6, 3, 38.0, 0.7, 30.0),
    "spiral": lambda: spiral(),
    "two rows": lambda: spiral(turn=180.0),
    "whorled": whorled,
    "tangle": tangle,
    "planted": planted,
    "mirrored": mirrored,
    "turned in four": turned,
    "turned in three": lambda: turned(5, 3),
}
