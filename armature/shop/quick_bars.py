"""Quick ways to fill bars: longest piece first, and one bar at a time with the least rest."""

from __future__ import annotations

import numpy as np

from armature.tree import Ints

Bars = list[list[int]]


def fitted(pieces: Ints, capacity: int, rule: str = "first") -> Bars:
    """Return bars filled longest piece first, each piece to the first bar with room, or to the fullest ("best").

    >>> len(fitted(np.array([14, 14, 14, 13, 13, 13, 3, 3, 3]), 30))
    4
    """
    bars: Bars = []
    room = np.zeros(len(pieces), dtype=np.int64)
    for number in np.lexsort((np.arange(len(pieces)), -pieces)):
        fits = np.flatnonzero(room[: len(bars)] >= pieces[number])
        if not len(fits):
            room[len(bars)] = capacity
            fits = np.array([len(bars)])
            bars.append([])
        at = int(fits[0]) if rule == "first" else int(fits[np.argmin(room[fits])])
        bars[at].append(int(number))
        room[at] -= pieces[number]
    return bars


def least_slack(pieces: Ints, capacity: int) -> Bars:
    """Return bars filled one at a time, each with the longest piece left and the subset that leaves the least rest.

    Minimum bin slack with the longest piece fixed, Gupta and Ho 1999.

    >>> len(least_slack(np.array([14, 14, 14, 13, 13, 13, 3, 3, 3]), 30))
    3
    """
    left = list(np.lexsort((np.arange(len(pieces)), -pieces)).tolist())
    bars: Bars = []
    while left:
        first, rest = left[0], left[1:]
        bars.append([first, *(rest[at] for at in fullest(pieces[rest], capacity - int(pieces[first])))])
        taken = set(bars[-1])
        left = [number for number in left if number not in taken]
    return bars


def fullest(pieces: Ints, capacity: int) -> list[int]:
    """Return the places in `pieces` of a subset with the largest sum within the capacity, early places first.

    >>> fullest(np.array([9, 7, 5, 4]), 12)
    [1, 2]
    """
    # Sums as the bits of one big integer: shifting by a piece adds it to every sum at once.
    mask, reached = (1 << (capacity + 1)) - 1, [1]
    for piece in pieces.tolist():
        reached.append((reached[-1] | (reached[-1] << piece)) & mask)
        if reached[-1] >> capacity:
            break
    total = reached[-1].bit_length() - 1
    chosen = []
    for at in range(len(reached) - 2, -1, -1):
        if not reached[at] >> total & 1:
            chosen.append(at)
            total -= int(pieces[at])
    return chosen[::-1]
