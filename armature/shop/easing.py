"""Slack spread over the bars of a plan, so that no bar has to come out to the last step.

Everything is in whole steps of a sawing unit.
"""

from __future__ import annotations

from armature.shop.quick_bars import Bars, fitted, least_slack
from armature.tree import Ints


def eased(bars: Bars, pieces: Ints, capacity: int, slack: int) -> Bars:
    """Return as many bars, or the same, with as much of `slack` left on each as quick fillings find.

    A filling for shorter bars that needs no more of them leaves the difference on every one. Bars that are not filled
    anew keep theirs; the least slack of the answer is never under that of `bars`.

    >>> import numpy as np
    >>> pieces = np.array([50, 49, 30, 20])
    >>> eased([[0, 1], [2, 3]], pieces, 100, 30)
    [[0, 3], [1, 2]]
    """
    least = capacity - max((int(pieces[bar].sum()) for bar in bars), default=0)
    low, high, best = least, slack, bars
    while low < high:
        tried = (low + high + 1) // 2
        filled = _filled(pieces, capacity - tried, len(bars))
        if filled is None:
            high = tried - 1
        else:
            low, best = tried, filled
    return [sorted(bar, key=lambda n: (-pieces[n], n)) for bar in best]


def _filled(pieces: Ints, capacity: int, count: int) -> Bars | None:
    if int(pieces.max(initial=0)) > capacity:
        return None
    for bars in (fitted(pieces, capacity), fitted(pieces, capacity, "best"), least_slack(pieces, capacity)):
        if len(bars) <= count:
            return bars
    return None
