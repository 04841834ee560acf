"""How far a tree reaches: the one height and spread that every paper prints."""

from __future__ import annotations

import numpy as np

from armature.tree.centreline import Floats, sampled
from armature.tree.tree import Tree

_CHORD_ERROR = 0.5


def extent(tree: Tree) -> Floats:
    """Return the least and greatest corner of all steel, (2, 3) mm, skins counted, leaves and base plate not.

    >>> from tests.trees import gallows
    >>> extent(gallows()).round(6).tolist()
    [[-10.0, -10.0, 0.0], [510.0, 10.0, 1000.0]]
    """
    line = sampled(tree.chains, _CHORD_ERROR)
    owners = np.repeat(np.arange(len(tree)), np.diff(line.offsets))
    # A round bar reaches beyond its middle by its radius times the sine of its slope to each axis.
    across = np.sqrt(np.maximum(1.0 - line.tangents**2, 0.0))
    reach = tree.diameters_at(owners, line.stations)[:, None] / 2.0 * across
    return np.stack([(line.points - reach).min(axis=0), (line.points + reach).max(axis=0)])
