"""The twig that is shown close by, and the leaves that are drawn finely for it.

Size letters: Q points, L leaves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from armature.pictures.cameras import toward
from armature.tree import TWIG, Floats, Tree


def shown_twig(tree: Tree, beside: Floats) -> tuple[int, Floats]:
    """Return the row of a twig rich in leaves and the direction (3,) from which it is seen: from the side and from
    outside the crown, with as little as may be before and behind it.

    beside: (Q, 3) mm, what else stands there.
    """
    twigs = tree.of_rank(TWIG)
    if len(twigs) == 0:
        twigs = np.arange(len(tree))
    rich = twigs[tree.foliage[twigs] >= np.quantile(tree.foliage[twigs], 0.6)]
    places = np.concatenate([tree.tips, tree.starts, tree.hang_points, beside])
    best: tuple[float, int, Floats] | None = None
    for row in rich.tolist():
        middle, along = (tree.starts[row] + tree.tips[row]) / 2.0, tree.tips[row] - tree.starts[row]
        reach = float(np.linalg.norm(along)) + 150.0
        outward = float(np.degrees(np.arctan2(middle[1], middle[0])))
        for turn in (-60.0, -30.0, 30.0, 60.0):
            look = toward(outward + turn, 4.0)
            # What lies within the picture's width, and how short the twig would look.
            away = (places - middle) @ look
            near = np.linalg.norm(places - middle - away[:, None] * look, axis=1) < 0.7 * reach
            clutter = 3.0 * (near & (away > 0.3 * reach)).sum() + (near & (away < -0.3 * reach)).sum()
            cost = float(clutter / len(places) + abs(along @ look) / reach)
            if best is None or round(cost, 9) < best[0]:
                best = round(cost, 9), row, look
    assert best is not None
    return best[1], best[2]


def near_leaves(tree: Tree, beside: Floats) -> NDArray[np.bool_]:
    """Return which leaves (L,) hang so near to the shown twig that they stand in its picture."""
    row, _ = shown_twig(tree, beside)
    middle = (tree.starts[row] + tree.tips[row]) / 2.0
    reach = float(np.linalg.norm(tree.tips[row] - tree.starts[row])) + 150.0
    return np.asarray(np.linalg.norm(tree.hang_points - middle, axis=1) < 1.2 * reach)
