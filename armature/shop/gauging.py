"""Gauges for the anvil: caliper sizes along a taper, lengths round the skin, what one degree of a bend moves.

Size letters: B bends. Lengths are mm.
"""

from __future__ import annotations

import numpy as np

from armature.shop.card_numbers import Written
from armature.tree import BendList, Floats, Tree, row_norms

# Between two places of a list of diameters so many more are told where the bar changes much.
_MOST = 6


def calipers(tree: Tree, row: int, step: float) -> list[tuple[float, float]]:
    """Return stations from START, mm in whole steps, and what the caliper reads there, mm; one where it is no taper.

    >>> from tests.trees import post
    >>> calipers(post(1000.0), 0, 1.0)
    [(0.0, 20.0)]
    """
    tapers, length = tree.tapers, float(tree.lengths[row])
    own = slice(int(tapers.offsets[row]), int(tapers.offsets[row + 1]))
    places = {0.0, length, *(float(at) for at in tapers.stations[own])}
    sizes = tree.diameters_at(np.full(len(places), row), sorted(places))
    if np.ptp(sizes) < 0.1:
        return [(0.0, float(sizes[0]))]
    # Between those places a bar is straight.
    known = sorted(places)
    asked = list(known)
    while len(asked) < _MOST:
        # Halve the piece along which the bar changes most.
        read = np.interp(asked, known, sizes)
        worst = int(np.argmax(np.round(np.abs(np.diff(read)), 6)))
        asked.insert(worst + 1, (asked[worst] + asked[worst + 1]) / 2.0)
    asked = [round(at / step) * step for at in asked]
    keep = [at for n, at in enumerate(asked) if n == 0 or at > asked[n - 1]]
    read = np.interp(keep, known, sizes)
    return [(at, float(size)) for at, size in zip(keep, read.tolist(), strict=True)]


def bend_gauges(tree: Tree, bends: BendList, kept: Written) -> tuple[Floats, Floats, Floats]:
    """Return of each bend, (B,) mm: its inside radius, its clock as a length round the skin, R positive, and how far
    one degree of it moves the tip."""
    rows = bends.members
    begin = tree.diameters_at(rows, kept.begins)
    middle = tree.diameters_at(rows, (kept.begins + kept.ends) / 2.0)
    radii = (kept.ends - kept.begins) / np.radians(np.maximum(kept.angles, 1e-6))
    bent = tree.chains.vertices[tree.chains.offsets[rows] + bends.numbers]
    moved = row_norms(tree.tips[rows] - bent) * np.radians(1.0)
    return radii - middle / 2.0, np.radians(kept.bend_clocks) * begin / 2.0, moved
