"""The quick plate: leaves laid too close, pressed apart, gaps filled; the fullest of a few tries is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from armature.leaves.nesting.plates import Plate, Rules, counts_on, taken
from armature.leaves.nesting.raster import FAR, Masks, raster_plate
from armature.leaves.nesting.settling import settled
from armature.leaves.outline import Design

Ints = NDArray[np.int64]
# Tries: the share of the web at which leaves are laid before they are pressed apart, how far sides weigh, and the step
# of turns in degrees. What is best differs from plate to plate; plates of few leaves are quick and need finer turns.
_STEP = 45.0
_TRIES = ((0.0, FAR, _STEP), (0.125, FAR, _STEP), (0.25, FAR, _STEP))
_FINER = ((0.0, FAR, 22.5), (0.0, FAR, 15.0), (0.25, FAR, 15.0))
_FEW = 24
_ROUNDS = 3
# Cells across a leaf of middling size, the widest in mm where a plate has few of them, and the most on a plate.
_ACROSS, _WIDEST, _MOST = 45.0, 1.0, 2.5e6


class Press:
    """Lays plates of a job's designs, by its rules."""

    def __init__(self, designs: Sequence[Design], rules: Rules) -> None:
        self.designs, self.rules = designs, rules
        self.areas = np.array([d.area for d in designs])
        self._masks = cache(lambda thin, cell, step: Masks(designs, thin, cell, step))

    def plate(self, wanted: Ints, length: float, height: float) -> Plate:
        """Return the fullest plate found, length along x, from the leaves wanted of each design.

        Where all of them fit with ease they lie to the left, so that an off-cut is left.
        """
        cell = self.cell(wanted, length, height)
        loose = raster_plate(
            self.designs, wanted, length, height, self.rules, cell, masks=self._masks(self.rules, cell, _STEP)
        )
        if len(loose) == wanted.sum():
            return loose
        tries = _TRIES + (_FINER if len(loose) <= _FEW else ())
        bare = taken(loose, np.zeros(len(loose), dtype=bool))
        plates = [loose, *(self._pressed(wanted, bare, cell, *one) for one in tries)]
        return max(plates, key=self.area)

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
