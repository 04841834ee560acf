"""The order of cuts against heat: no leaf is cut beside the one before it, so that thin sheet does not bow.

Leaves that lie within reach of each other's heat get different colours, the fewest that going down the columns finds;
the table then cuts colour by colour, each in a sweep up one column and down the next. Common practice, no source:
spread the cuts, let the sheet cool, work from side to side.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import Polygon

# Reach of a cut's heat, mm, beyond the outline: common practice, no source.
REACH = 12.0


def cooled_order(rows: Sequence[int], shapes: Sequence[Polygon], reach: float = REACH) -> list[int]:
    """Return the rows of a plate's leaves in cutting order.

    rows: in order of a sweep over the plate. shapes: outline of each leaf, by row. Two leaves within `reach` mm never
    follow each other, but where every leaf left lies within reach of the one before.
    """
    tree = shapely.STRtree(list(shapes))
    one, other = tree.query(list(shapes), predicate="dwithin", distance=reach)
    near: dict[int, set[int]] = {row: set() for row in rows}
    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        if a != b:
            near[a].add(b)
    colours: dict[int, int] = {}
    for row in rows:
        taken = {colours[k] for k in near[row] if k in colours}
        colours[row] = next(c for c in range(len(rows) + 1) if c not in taken)
    swept = [row for colour in range(max(colours.values(), default=-1) + 1) for row in rows if colours[row] == colour]
    return _apart(swept, near)


def _apart(order: list[int], near: dict[int, set[int]]) -> list[int]:
    """The order with the first leaf that is not warm from the one before taken each time."""
    left = list(order)
    ordered: list[int] = []
    while left:
        pick = next((row for row in left if not ordered or row not in near[ordered[-1]]), left[0])
        ordered.append(pick)
        left.remove(pick)
    return ordered


def warm_steps(order: Sequence[int], shapes: Sequence[Polygon], reach: float = REACH) -> int:
    """Return how many leaves are cut right after one within `reach` mm."""
    distances = [shapes[a].distance(shapes[b]) for a, b in itertools.pairwise(order)]
    return int(np.sum(np.array(distances) <= reach))
