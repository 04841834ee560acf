"""Diameters: the pipe rule from the tips down, then real bars, then the taper that each bar is forged to.

The pipe rule, d^n = sum of d_i^n over what a member carries, holds between the diameters at which members start
(Shinozaki et al., Jap. J. Ecol. 14, 1964, from memory; the exponent n as measured on real trees lies near 1.8 to 2.3,
Eloy, Phys. Rev. Lett. 107, 2011). With twigs of one bar it reads d = twig x (twigs carried)^(1/n).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from armature.edge import GrowthError, StockError, exact_length
from armature.tree import BRANCH, BRANCHLET, LIMB, TRUNK, TWIG, Floats, Ints

if TYPE_CHECKING:
    from armature.commission import Pipe

# A child's bar keeps a little inside its parent's skin, so that the saddle has something to sit on.
SEAT = 1.04


@dataclass(frozen=True, eq=False)
class Taper:
    """How members thin: end diameters (M,) mm and the share of the length at which the taper starts (M,)."""

    ends: Floats
    from_share: Floats


def piped(carried: Ints | Floats, twig: float, exponent: float) -> Floats:
    """Return start diameters (M,) mm of members that carry so many twigs each (M,).

    >>> piped(np.array([1, 8]), 6.0, 3.0).round(9).tolist()
    [6.0, 12.0]
    """
    return np.asarray(twig * np.asarray(carried, dtype=np.float64) ** (1.0 / exponent))


def tapered(rank: int, starts: Floats, thickest_child: Floats, twig: float) -> Taper:
    """Return the taper of members of one rank from their start diameters and that of their thickest child, each (M,)
    mm.

    A trunk thins evenly and stays thick enough for its thickest limb to the top; limbs stay strong, then thin to a
    whip; branches thin from the start; twigs are drawn out to half their bar.
    """
    if rank == TRUNK:
        return Taper(np.minimum(np.maximum(SEAT * thickest_child * 1.02, 0.62 * starts), starts), np.zeros(len(starts)))
    if rank == TWIG:
        return Taper(np.full(len(starts), 0.5 * twig), np.full(len(starts), 0.35))
    shares = {LIMB: 0.45, BRANCH: 0.30, BRANCHLET: 0.30}
    whip = {LIMB: 0.9, BRANCH: 0.7, BRANCHLET: 0.6}[rank] * twig
    return Taper(np.minimum(np.full(len(starts), whip), 0.9 * starts), np.full(len(starts), shares[rank]))


def last_seats(
    parent_starts: Floats, parent_ends: Floats, taper_from: Floats, lengths: Floats, children: Floats
) -> Floats:
    """Return the last station (B,) mm at which a parent still seats a child of the given diameter, row by row."""
    drop = np.maximum(parent_starts - parent_ends, 1e-9)
    share = np.clip((parent_starts - SEAT * children) / drop, 0.0, 1.0)
    return np.asarray(taper_from + share * (lengths - taper_from))


def stocked(diameters: Floats, bars: tuple[float, ...], what: str) -> Floats:
    """Return the smallest bar on hand, (M,) mm, that holds each diameter (M,) mm.

    Raises GrowthError where none does: a seed that asks too much of the bars is one that does not fit.
    """
    try:
        return bars_for(diameters, bars, what)
    except StockError as missing:
        raise GrowthError(str(missing)) from None


def piped_stock(diameters: Floats, pipes: Sequence[Pipe], what: str) -> tuple[Floats, Floats]:
    """Return outside diameters (M,) and walls (M,) mm of the smallest pipes that hold each diameter (M,) mm.

    Raises GrowthError where none does.
    """
    table = np.array(sorted((pipe.outside, pipe.wall) for pipe in pipes), dtype=np.float64)
    at = np.searchsorted(table[:, 0], diameters - 1e-6)
    if (at == len(table)).any():
        needed = float(np.max(diameters))
        raise GrowthError(
            f"steel.pipes: the pipe rule asks {needed:.1f} mm for the {what}, the largest pipe on hand is"
            f" {table[-1, 0]:.1f} mm outside: add a larger one or raise growth.pipe_exponent"
        )
    return table[at, 0], table[at, 1]


def bars_for(diameters: ArrayLike, bars: Sequence[float], what: str = "bars") -> NDArray[np.float64]:
    """Return the thinnest bar on hand that is no thinner than each diameter, mm, same shape as `diameters`.

    what: whom the bars are for, in words. Raises StockError when one needs more than the thickest bar.

    >>> bars_for([6.0, 6.35, 7.0], [6.35, 9.525]).tolist()
    [6.35, 6.35, 9.525]
    """
    wanted, on_hand = np.asarray(diameters, dtype=np.float64), np.sort(np.asarray(bars, dtype=np.float64))
    # A diameter that sums to a hair over a bar is that bar: 1e-6 mm is far below any mill tolerance.
    row = np.searchsorted(on_hand, wanted - 1e-6)
    if np.any(row >= len(on_hand)):
        most = float(np.max(wanted))
        raise StockError(
            f"steel.bars: {most:.1f} mm is asked for the {what}, the largest bar on hand is"
            f" {exact_length(float(on_hand[-1]))}: add a larger bar or a pipe, raise growth.pipe_exponent, use thinner"
            " twigs or fewer"
        )
    return np.asarray(on_hand[row])
