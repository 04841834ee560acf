"""How a name stands on a leaf: on which of its panels, in which letters."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.leaves.naming.letters import Setting, setting
from armature.leaves.naming.stamp_areas import Panel


@dataclass(frozen=True)
class Stamping:
    """A name's letters, and the panel that they stand on."""

    setting: Setting
    panel: Panel

    @property
    def height(self) -> float:
        """Height of the letters, mm."""
        return self.setting.height

    @property
    def lines(self) -> tuple[str, ...]:
        """The name as it breaks."""
        return self.setting.lines

    @property
    def method(self) -> str:
        """How it is struck: stamp, stamp and accent, or chase."""
        return self.setting.method


def stamping(name: str, panels: Sequence[Panel], heights: NDArray[np.float64], lines: int) -> Stamping | None:
    """Return how a name is stamped on the panel that gives it the largest letters, the first of equals; None where it
    fits none."""
    settings = [
        Stamping(each, panel)
        for panel in panels
        if (each := setting(name, (panel.width, panel.height), heights, lines)) is not None
    ]
    return max(settings, key=lambda stamp: stamp.height, default=None)
