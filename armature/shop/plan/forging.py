"""What the anvil needs: bends, lengths and marks as they are printed, and what rounding and hands make of them."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from armature.shop.anvil import Strays
from armature.shop.bending import chalk_clocks, methods
from armature.shop.card_numbers import Written, written
from armature.shop.chalk import Floor, on_floor
from armature.shop.gauging import bend_gauges, calipers
from armature.shop.looping import Loops, loops
from armature.shop.measuring import CheckDimensions, check_dimensions
from armature.shop.plan.outset import Outset
from armature.shop.touching import Clash, clashes
from armature.shop.truth import Truth, simulated
from armature.tree import BendList, Floats, Ints, bend_list


class Forging(Outset):
    """The plan of the anvil."""

    @cached_property
    def bends(self) -> BendList:
        """All bends, exact."""
        return bend_list(self.tree.chains)

    @cached_property
    def clocks(self) -> Floats:
        """Where each bend goes, from the chalk line: (B,) deg."""
        return chalk_clocks(self.bends)

    @cached_property
    def methods(self) -> Ints:
        """How each bend is made: (B,) index into METHODS."""
        return methods(self.tree, self.bends, self.forge)

    @cached_property
    def written(self) -> Written:
        """What the cards print: whole steps, rounded so that errors cancel."""
        return written(self.tree, self.joints, self.bends, self.clocks, self.paper, self.exists)

    @cached_property
    def heel_marks(self) -> Floats:
        """How far behind START the steel reaches, as it is printed: (M,) mm, up to the next step."""
        return np.asarray(np.ceil(self.heels / self.paper.length_mm - 0.05) * self.paper.length_mm)

    @cached_property
    def draw_to(self) -> Floats:
        """What lies on the anvil when a bar is drawn, heel and all: (M,) mm."""
        return self.written.lengths + self.heel_marks

    @cached_property
    def bend_gauges(self) -> tuple[Floats, Floats, Floats]:
        """Of each bend, (B,) mm: inside radius, clock as a length round the skin, what one degree moves the tip."""
        return bend_gauges(self.tree, self.bends, self.written)

    def calipers(self, row: int) -> list[tuple[float, float]]:
        """Return stations from START and what the caliper reads there, mm; one where a bar has no taper."""
        if row not in self._calipers:
            self._calipers[row] = calipers(self.tree, row, self.paper.length_mm)
        return self._calipers[row]

    def bend_rows(self, row: int) -> Ints:
        """Return the places of a row in the bend list, in order."""
        first, last = np.searchsorted(self.bends.members, [row, row + 1])
        return np.arange(first, last)

    @cached_property
    def floor(self) -> Floor:
        """All members as they lie on the floor."""
        return on_floor(self.tree.chains)

    @cached_property
    def loops(self) -> Loops:
        """The loops of the leaves."""
        leaf = self.commission.leaves
        return loops(self.tree, self.joints, leaf.wire, leaf.loop, leaf.hang.isolation)

    @cached_property
    def checks(self) -> CheckDimensions:
        """What to measure before a joint is welded out."""
        return check_dimensions(self.tree)

    @cached_property
    def truth(self) -> Truth:
        """How far rounding and a real anvil move the tips."""
        return self._simulated[0]

    @cached_property
    def clashes(self) -> tuple[Clash, ...]:
        """Members that may touch when the tree is built by a real shop."""
        fitted = self._simulated[1]
        if fitted is None:
            return ()
        sway = None if self.asked is None else self.asked.sways
        return tuple(clashes(self.tree, fitted, sway, self.commission.seed))

    @cached_property
    def _calipers(self) -> dict[int, list[tuple[float, float]]]:
        return {}

    @cached_property
    def _simulated(self) -> tuple[Truth, Strays | None]:
        return simulated(self.tree, self.commission.shop.anvil, self.commission.seed, self.written.strays)
