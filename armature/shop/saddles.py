"""The saddle ground on a child's end so that it sits on its parent's round skin.

Two cylinders: the child's axis leaves the parent's axis at the lean. The wrap is the child's surface unrolled:
`around` is the distance round the child, 0 at the heel side (the acute corner), `cut` how far back from the longest
point the metal is ground away there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.tree import Floats

_LEAST_LEAN_DEG = 5.0


@dataclass(frozen=True, eq=False)
class Saddle:
    """The unrolled wrap of one child's end: around and cut (K,) mm; `cut` is 0 at the longest point."""

    around: Floats
    cut: Floats


def saddle(child_d: float, parent_d: float, lean_deg: float, count: int = 72) -> Saddle:
    """Return the wrap of a child of diameter `child_d` on a parent of `parent_d`, mm, at a lean in degrees.

    A generator at an angle f from the heel lies r cos f off the child's axis in the plane of both axes and r sin f
    across it; it meets the skin where it is R from the parent's axis, (sqrt(R^2 - (r sin f)^2) + r cos f cos a) / sin a
    along the child's axis. Both ends of the wrap are the heel. A child thicker than its parent is cut as if as thick;
    one in line with its parent (lean under 5 degrees) is cut square.

    >>> round(float(saddle(20.0, 20.0, 90.0).cut.max()), 2)
    10.0
    """
    angles = np.linspace(0.0, 2.0 * np.pi, count + 1)
    if min(lean_deg, 180.0 - lean_deg) < _LEAST_LEAN_DEG:
        return Saddle(child_d / 2.0 * angles, np.zeros(count + 1))
    lean, small = np.radians(lean_deg), min(child_d, parent_d) / 2.0
    across = np.sqrt(np.maximum((parent_d / 2.0) ** 2 - (small * np.sin(angles)) ** 2, 0.0))
    reach = (across + small * np.cos(angles) * np.cos(lean)) / np.sin(lean)
    return Saddle(child_d / 2.0 * angles, reach - reach.min())


def chalk_place(child_d: float, roll_deg: float) -> float:
    """Return where the chalk line of a child crosses its wrap, mm from the wrap's left edge.

    The wrap lies on the bar with its print outside and its curve at the foot: looking at the bar with its foot up, what
    lies right of the chalk line is L of it, looking toward the tip. At roll 0 the chalk line is on the root side, half
    way round from the edges, which lie on the tip side.

    >>> round(chalk_place(20.0, 0.0) / (20.0 * np.pi), 6), round(chalk_place(20.0, 90.0) / (20.0 * np.pi), 6)
    (0.5, 0.25)
    """
    return float(child_d / 2.0 * np.radians((180.0 - roll_deg) % 360.0))
