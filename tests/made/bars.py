"""Bars bent with known errors, and what a tape reads on them: for the tests of steel that exists."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from armature.commission import Anvil
from armature.shop import floor_offsets
from armature.shop.anvil import strays
from armature.tree import Chains, Floats, Tree, locate

CHALK = np.array([[0.0, 1.0, 0.0]])


def bent_copy(tree: Tree, seed: int = 1, **tolerances: float) -> Chains:
    """Return the tree as one run of a real anvil makes it, errors as the anvil of a commission has them."""
    return strays(tree, Anvil().model_copy(update={"copies": 1, **tolerances}), seed).chains


def offset_rows(tags: list[str], chains: Chains, rows: list[int], step: float = 1.0, stations: int = 8) -> str:
    """Return offsets.csv of bars as they lie on the floor, read to whole steps of mm."""
    lines = ["tag,along_mm,rise_mm,lift_mm"]
    for row in rows:
        read = floor_offsets(chains, row, float(chains.lengths[row]) / stations)
        for along, rise, lift in zip(read.alongs[1:], read.rises[1:], read.lifts[1:], strict=True):
            lines.append(
                f"{tags[row]}," + ",".join(f"{np.round(v / step) * step + 0.0:g}" for v in (along, rise, lift))
            )
    return "\n".join(lines) + "\n"


def written(folder: Path, **tables: str) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in tables.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return folder


def apart(one: Chains, other: Chains) -> float:
    """Return how far two bars are apart at most once one is turned about its START to lie on the other (Kabsch's
    rotation, Acta Cryst. A32, 1976, from memory)."""
    a, b = _along(one), _along(other)
    u, _, vt = np.linalg.svd(a.T @ b)
    turn = vt.T @ np.diag([1.0, 1.0, np.sign(np.linalg.det(vt.T @ u.T))]) @ u.T
    return float(np.linalg.norm(a @ turn.T - b, axis=1).max())


def _along(chains: Chains) -> Floats:
    points = locate(chains, np.zeros(40, dtype=np.int64), np.linspace(0.0, 1.0, 40) * chains.lengths[0])[0]
    return np.asarray(points - points[0])
