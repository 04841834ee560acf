"""The quick plate: leaves laid too close, pressed apart, gaps filled; the fullest of a few tries is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from armature.leaves.nesting.grid import FAR, Masks, raster_plate
from armature.leaves.nesting.plates import Plate, Rules, counts_on
from armature.leaves.nesting.settling import settled
from armature.leaves.outline import Design

Ints = NDArray[np.int64]
# Tries: the share of the web at which leaves are laid before they are pressed apart, how far sides weigh, the step of
# turns in degrees, and the size of cells. What is best differs from plate to plate, the first most often. The more
# often a plate is run the more tries pay; plates of few leaves are quick, gain most by luck, and need finer turns.
_STEP = 45.0
_TRIES = ((0.0, FAR, _STEP, 1.0), (0.125, FAR, _STEP, 1.0))
_SOME_LEAVES = ((0.0, FAR, _STEP, 0.77), (0.0, FAR, 22.5, 1.0))
_FEW_LEAVES = ((0.0, FAR, 15.0, 1.0), (0.25, FAR, 15.0, 1.0))
_SOME, _FEW, _OFTEN = 60, 24, 8
_ROUNDS = 3
# Cells across a leaf of middling size, the widest in mm where a plate has few of them, and the most on a plate.
_ACROSS, _WIDEST, _MOST = 36.0, 1.3, 2.5e6
# Leaves that cover more of a plate than this do not fit with ease: laying without pressing reaches some 0.62.
_EASE = 0.65
# Share of a plate that is covered at best.
_FULL = 0.7


class Press:
    """Lays plates of a job's designs, by its rules."""

    def __init__(self, designs: Sequence[Design], rules: Rules) -> None:
        self.designs, self.rules = designs, rules
        self.areas = np.array([d.area for d in designs])
        self._masks = cache(lambda thin, cell, step: Masks(designs, thin, cell, step))

    def plate(self, wanted: Ints, length: float, height: float, runs: int = _OFTEN) -> Plate:
        """Return the fullest plate found, length along x, from the leaves wanted of each design.

        Where all of them fit with ease they lie to the left, so that an off-cut is left. runs: how often the plate
        will be run, by which more or fewer tries are made.
        """
        cell = self.cell(wanted, length, height)
        bare = Plate(length, height, np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros((0, 2)))
        best = bare
        if float(wanted @ self.areas) <= _EASE * length * height:
            masks = self._masks(self.rules, cell, _STEP)
            best = raster_plate(self.designs, wanted, length, height, self.rules, cell, masks=masks)
        mean = float(wanted @ self.areas) / max(int(wanted.sum()), 1)
        for share, far, step, finer in _tries(mean, length * height, runs):
            if len(best) == wanted.sum():
                break
            pressed = self._pressed(wanted, bare, round(cell * finer, 2), share, far, step)
            best = max(best, pressed, key=self.area)
        return best

    def filled(self, plate: Plate, wanted: Ints, share: float = 0.0, step: float = _STEP) -> Plate:
        """Return the plate with as many more of the leaves wanted as can be pressed in; never with less leaf."""
        cell = self.cell(wanted, plate.width, plate.height)
        best = plate
        for _ in range(_ROUNDS):
            rest = wanted - counts_on(plate, self.designs)
            closer = self._close(rest, plate, cell, share, step)
            if len(closer) == len(plate):
                break
            plate = settled(closer, self.designs, self.rules)
            best = max(best, plate, key=self.area)
        return best

    def area(self, plate: Plate) -> float:
        """Return the area of a plate's leaves, mm2."""
        return float(np.dot(counts_on(plate, self.designs), self.areas))

    def cell(self, wanted: Ints, length: float, height: float) -> float:
        """Return the grid that suits the leaves wanted, mm."""
        mean = float(np.dot(wanted, self.areas) / max(int(wanted.sum()), 1))
        return round(float(max(min(np.sqrt(mean) / _ACROSS, _WIDEST), np.sqrt(length * height / _MOST))), 2)

    def _pressed(self, wanted: Ints, bare: Plate, cell: float, share: float, far: float, step: float) -> Plate:
        close = self._close(wanted, bare, cell, share, step, far)
        return self.filled(settled(close, self.designs, self.rules), wanted, share, step)

    def _close(self, wanted: Ints, kept: Plate, cell: float, share: float, step: float, far: float = FAR) -> Plate:
        """The plate with leaves set at a share of the web beside those that are kept."""
        web = share * self.rules.web
        thin = replace(self.rules, web=web, margin=max(self.rules.margin - (self.rules.web - web) / 2, 0.0))
        masks, (length, height) = self._masks(thin, cell, step), (kept.width, kept.height)
        return raster_plate(self.designs, wanted, length, height, thin, cell, kept if len(kept) else None, masks, far)


def _tries(leaf: float, sheet: float, runs: int) -> list[tuple[float, float, float, float]]:
    """The tries that pay for a plate of that area and leaves of that mean area, mm2."""
    leaves = _FULL * sheet / leaf if leaf else 0.0
    tries = list(_TRIES[: 1 if runs < 2 else None])
    if leaves <= _SOME and runs >= _OFTEN:
        tries += _SOME_LEAVES
    return tries + (list(_FEW_LEAVES) if leaves <= _FEW else [])
