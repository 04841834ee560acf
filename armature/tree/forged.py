"""Members as forged: where a pipe's bore ends, how far a saddle reaches back, what it all weighs.

Size letters: M members. Lengths and diameters are mm.
"""

from __future__ import annotations

import numpy as np

from armature.tree.centreline import Floats
from armature.tree.tree import Tree


def bore_ends(tree: Tree) -> Floats:
    """Return the station at which the bore of each member ends: (M,) mm.

    Where a pipe tapers to less than twice its wall that is before its tip, elsewhere the tip. Solid bar has none: 0.
    """
    closes = tree.tapers.thinner(tree.lengths, np.arange(len(tree)), 2.0 * tree.walls)
    return np.where(tree.walls > 0.0, closes, 0.0)


def heels(diameters: Floats, parent_diameters: Floats, leans: Floats, setbacks: Floats) -> Floats:
    """Return how far the saddle of each member reaches behind the start of its centreline: (M,) mm.

    Two round bars whose axes cross at the lean a, radii R of the parent and r of the child: the generator of the child
    at an angle f round it meets the parent's skin at s = (sqrt(R^2 - r^2 sin^2 f) - r cos f cos a) / sin a along the
    child's axis. The least s follows by setting its derivative to zero: r cos f = min(r, sqrt(R^2 - r^2) |cot a|).
    A heel ends at the parent's axis; a member without a parent has none.

    >>> one = np.ones(1)
    >>> heels(20.0 * one, 20.0 * one, 90.0 * one, 10.0 * one).round(9).tolist()
    [10.0]
    """
    big = parent_diameters / 2.0
    small = np.minimum(diameters, parent_diameters) / 2.0
    sine, cosine = np.sin(np.radians(leans)), np.abs(np.cos(np.radians(leans)))
    flat = np.sqrt(np.maximum(big**2 - small**2, 0.0))
    near = np.minimum(small, flat * cosine / np.maximum(sine, 1e-9))
    reach = np.sqrt(np.maximum(big**2 - small**2 + near**2, 0.0)) - near * cosine
    return np.where(big > 0.0, np.clip(setbacks - reach / np.maximum(sine, 1e-9), 0.0, setbacks), 0.0)


def forged_masses(tree: Tree, density_kg_m3: float) -> Floats:
    """Return the mass of each member as forged: (M,) kg, from the density of its steel."""
    return tree.volumes * density_kg_m3 * 1e-9
