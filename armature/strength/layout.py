"""How the large arrays lie in memory: the nodes of one case beside each other, so that work runs along the nodes.

Cases are few and nodes many: with the cases innermost every step of a sweep would be a loop of two or eighteen.
"""

from __future__ import annotations

import numpy as np

from armature.tree import Floats, Ints


def empty(*shape: int) -> Floats:
    """Return an array of that shape, not yet filled, the first axis innermost in memory."""
    return np.empty(shape, order="F")


def zeros(*shape: int) -> Floats:
    """Return zeros of that shape, the first axis innermost in memory."""
    return np.zeros(shape, order="F")


def picked(values: Floats, rows: Ints) -> Floats:
    """Return `values` (N, ...) at `rows` (n,): (n, ...), laid likewise.

    >>> picked(np.arange(6.0).reshape(3, 2), np.array([2, 0])).tolist()
    [[4.0, 5.0], [0.0, 1.0]]
    """
    return np.asarray(np.take(values.T, rows, axis=-1).T)


def applied(matrices: Floats, rows: Floats) -> Floats:
    """Return matrices (n, I, J) times rows (n, J, C): (n, I, C), laid likewise; sums in one order on every machine.

    >>> applied(np.array([[[1.0, 2.0], [0.0, 3.0]]]), np.array([[[1.0], [10.0]]])).ravel().tolist()
    [21.0, 30.0]
    """
    count, high, wide = matrices.shape
    made = empty(count, high, rows.shape[2])
    part = empty(count, rows.shape[2])
    for i in range(high):
        np.multiply(matrices[:, i, 0, None], rows[:, 0], out=made[:, i])
        for j in range(1, wide):
            np.multiply(matrices[:, i, j, None], rows[:, j], out=part)
            made[:, i] += part
    return made
