"""Darts cut out of a pipe's skin to draw it in: how wide, and the seams that close them.

Size letters: M members. Lengths are mm.
"""

from __future__ import annotations

import numpy as np

from armature.shop.labour import RUN_MM2
from armature.tree import Floats, Tree, bore_ends

# Evenly round the pipe, with straight sides (common practice, no source).
DARTS = 4
# A seam is bevelled by 30 degrees on each side, through the wall (common practice, no source).
_BEVEL = np.tan(np.radians(30.0))


def dart_width(start_mm: float, end_mm: float) -> float:
    """Return the width at which each dart ends that draws a pipe in from one outside diameter to another, mm.

    >>> round(dart_width(100.0, 100.0 - 4.0 / np.pi), 9)
    1.0
    """
    return float(np.pi * (start_mm - end_mm) / DARTS)


def seam_runs(tree: Tree) -> Floats:
    """Return the runs of weld in the seams of each pipe that is drawn in, and round its solid end: (M,) mm.

    A run lays down RUN_MM2; a seam takes one at the least.
    """
    closes = bore_ends(tree)
    drawn = (tree.walls > 0.0) & (tree.end_diameters < tree.start_diameters - 1e-6)
    runs = np.maximum(_BEVEL * tree.walls**2 / RUN_MM2, 1.0)
    ends = np.where(closes < tree.lengths - 1e-6, 2.0 * np.pi * tree.walls, 0.0)
    return np.where(drawn, runs * (DARTS * (closes - tree.taper_starts) + ends), 0.0)
