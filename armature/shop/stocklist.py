"""Every piece to saw: one a member, more where a member is bundled from rods or too long for one bar.

Size letters: M members, N pieces. Lengths and diameters are mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.shop.bars import Pieces
from armature.shop.cutting import SolidEnds
from armature.tree import LIMB, TRUNK, Floats, Ints, Strings, Tree

# Outside diameter of a bundle of equal rods over one rod's: 3 and 4 round a gap, 7 and 19 in rings.
_BUNDLES = {1: 1.0, 3: 1.0 + 2.0 / np.sqrt(3.0), 4: 1.0 + np.sqrt(2.0), 7: 3.0, 19: 5.0}
# From here on it is quicker to weld a thinner bar on than to draw the thick one out (common practice, no source).
_LONG_TAPER = 1500.0
_MUCH_TAPER = 2.2


@dataclass(frozen=True, eq=False)
class Sawing:
    """What is sawn for M members, (M,) each: diameters and walls mm, rods side by side, parts end to end in each rod,
    and the length mm of every part."""

    tags: Strings
    diameters: Floats
    walls: Floats
    rods: Ints
    parts: Ints
    lengths: Floats


@dataclass(frozen=True)
class SplitBar:
    """A member better made of two bars: the second begins at `station_mm`, forge-welded or welded on."""

    tag: str
    first_mm: float
    second_mm: float
    station_mm: float


def stock_pieces(pieces: Sawing, ends: SolidEnds | None = None) -> Pieces:
    """Return the pieces of all members, named by their tag and, where there are more of one, a number.

    ends: the solid ends of pipes, named by their tag and `end`; a bundle, which is no pipe, has none.
    """
    counts = pieces.rods * pieces.parts
    rows = np.repeat(np.arange(len(counts)), counts)
    numbers = np.arange(len(rows)) - np.repeat(np.cumsum(counts) - counts, counts) + 1
    tags = [
        str(tag) if count == 1 else f"{tag}.{number}"
        for tag, count, number in zip(pieces.tags[rows], counts[rows].tolist(), numbers.tolist(), strict=True)
    ]
    wanted = Pieces(np.array(tags), pieces.diameters[rows], pieces.walls[rows], pieces.lengths[rows])
    if ends is None:
        return wanted
    own = np.flatnonzero(pieces.rods[ends.rows] == 1)
    return Pieces(
        np.concatenate([wanted.tags, np.char.add(pieces.tags[ends.rows[own]], ".end")]),
        np.concatenate([wanted.diameters, ends.bars[own]]),
        np.concatenate([wanted.walls, np.zeros(len(own))]),
        np.concatenate([wanted.lengths, ends.cuts[own]]),
    )


def sawing(
    tree: Tree, cut: Floats, rods: Ints, bars: tuple[float, ...], longest: Floats | float, scarf: float
) -> Sawing:
    """Return what is sawn for each member.

    cut: (M,) mm of stock, of one rod where a member is a bundle. rods: (M,) rods bundled into each member, 1 for one
    bar. bars: diameters on hand. A bar over `longest` mm, one or (M,), is sawn as equal parts, each
    with a scarf of `scarf` diameters where it joins the one before.
    """
    diameters = tree.stock_diameters.astype(np.float64).copy()
    for row in np.flatnonzero(rods > 1).tolist():
        diameters[row] = rod_size(float(tree.start_diameters[row]), int(rods[row]), bars)
    lap = scarf * diameters
    parts = np.maximum(np.ceil((cut - lap) / np.maximum(longest - lap, 1.0) - 1e-9), 1.0)
    lengths = (cut + (parts - 1.0) * lap) / parts
    walls = np.where(rods > 1, 0.0, tree.walls)
    return Sawing(tree.tags, diameters, walls, rods, parts.astype(np.int64), lengths)


def bundled(cut: Floats, finished: Floats, heels: Floats, rods: Ints, scale_loss: float, added: Floats) -> Floats:
    """Return the stock of each member, or of each of its rods where it is a bundle: (M,) mm.

    cut: (M,) mm for one bar. Every rod of a bundle runs the whole finished length and the heel of the saddle, and is
    forge-heated as any bar; it is not counted shorter for a taper. added: (M,) mm for fitting, welding and joining.
    """
    return np.where(rods > 1, (finished + heels) / (1.0 - scale_loss) + added, cut)


def rod_size(outside: float, count: int, bars: tuple[float, ...]) -> float:
    """Return the bar on hand nearest to the rods of a bundle of `count` with that outside diameter, mm.

    >>> rod_size(60.0, 7, (16.0, 20.0, 25.0))
    20.0
    """
    wanted = outside / _BUNDLES[count]
    return min(bars, key=lambda bar: (abs(bar - wanted), bar))


def rod_counts(tree: Tree, trunk: int, limb: int) -> Ints:
    """Return the rods in each member: (M,)."""
    return np.where(tree.ranks == TRUNK, trunk, np.where(tree.ranks == LIMB, limb, 1)).astype(np.int64)


def split_bars(tree: Tree, bars: tuple[float, ...]) -> list[SplitBar]:
    """Return the members with so long and strong a taper that two bars, welded end to end, save heats."""
    long = (tree.lengths - tree.taper_starts > _LONG_TAPER) & (tree.walls == 0.0)
    much = tree.start_diameters > _MUCH_TAPER * tree.end_diameters
    split = []
    for row in np.flatnonzero(long & much).tolist():
        start, end = float(tree.start_diameters[row]), float(tree.end_diameters[row])
        middle = (start + end) / 2.0
        thinner = [bar for bar in bars if end < bar < start - 1e-6]
        if not thinner:
            continue
        second = min(thinner, key=lambda bar: (abs(bar - middle), bar))
        station = float(tree.tapers.thinner(tree.lengths, [row], [second])[0])
        split.append(SplitBar(str(tree.tags[row]), float(tree.stock_diameters[row]), second, station))
    return split


def collar_length(first_d: float, second_d: float, thickness: float) -> float:
    """Return the stock of a collar round two bars lying side by side, mm: its middle line plus one thickness to scarf.

    A belt round two circles; with equal bars 2 C + pi C for C the sum of the radii of the middle line. A collar round
    one bar follows the ring rule, pi times inside diameter plus stock.

    >>> round(collar_length(12.0, 12.0, 0.0), 3) == round(2 * 12.0 + np.pi * 12.0, 3)
    True
    """
    big, small = max(first_d, second_d) / 2.0 + thickness / 2.0, min(first_d, second_d) / 2.0 + thickness / 2.0
    apart = (first_d + second_d) / 2.0
    tangent = np.sqrt(max(apart**2 - (big - small) ** 2, 0.0))
    tilt = np.arcsin(min((big - small) / max(apart, 1e-9), 1.0))
    return float(2.0 * tangent + np.pi * (big + small) + 2.0 * (big - small) * tilt + thickness)


def collar_thickness(child_d: float) -> float:
    """Return the strap of a collar, mm: a quarter of the bar it holds, not under 3 mm (common practice, no source)."""
    return max(child_d / 4.0, 3.0)
