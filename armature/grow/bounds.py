"""What no crown can hold, told before any is grown: bounds that hold whatever the luck."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from armature.edge import GrowthError
from armature.grow.canopy import envelope
from armature.grow.envelope import SLACK
from armature.grow.sizes import piped
from armature.tree import Floats

if TYPE_CHECKING:
    from armature.commission import Commission

# No twig runs more than so many times across the whole crown, and leaves hang on this share of it.
_LONGEST, _LEAFY = 2.0, 0.65


def check_bounds(commission: Commission) -> None:
    """Raise GrowthError where the crown has no room for what is asked, however it is grown.

    Tips of twigs keep the clearance from each other, so that balls about them do not overlap and lie in the crown's
    box; a twig holds no more loops than fit along the longest line in that box; a trunk stands inside its crown.
    """
    box = _box(commission)
    _check_tips(commission, box)
    _check_leaves(commission, box)
    growth, spread = commission.growth, min(commission.canopy.spread)
    trunk = float(piped(np.array([growth.twigs]), min(commission.steel.bars), growth.pipe_exponent)[0])
    if trunk > spread:
        raise GrowthError(
            f"growth.pipe_exponent: the trunk that carries {growth.twigs} twigs is {trunk:.0f} mm thick, more than the"
            f" crown of {spread:.0f} mm is wide: raise it, use thinner twigs or fewer, or a larger spread"
        )


def _box(commission: Commission) -> Floats:
    """Return the sides of the box that a crown stays in: (3,) mm."""
    canopy = envelope(commission)
    width, depth = 2.0 * (1.0 + SLACK) * canopy.half_spread
    # Hanging shoots may come down to the ground.
    return np.array([width, depth, max(canopy.top, commission.canopy.height) * (1.0 + SLACK)])


def _check_tips(commission: Commission, box: Floats) -> None:
    # A twig is drawn out to half its bar.
    apart = 0.5 * min(commission.steel.bars) + commission.growth.clearance
    most = float(np.prod(box + apart)) / (np.pi / 6.0 * apart**3)
    if commission.growth.twigs > most:
        raise GrowthError(
            f"growth.twigs: a crown of this size holds at most {most:.0f} tips {apart:.0f} mm apart,"
            f" {commission.growth.twigs} asked: fewer twigs, less growth.clearance or a larger canopy would help"
        )


def _check_leaves(commission: Commission, box: Floats) -> None:
    leaves = commission.leaves
    each = int(_LONGEST * _LEAFY * float(np.sqrt((box * box).sum())) / leaves.spacing) + 1
    if leaves.count > each * commission.growth.twigs:
        raise GrowthError(
            f"leaves.count: {commission.growth.twigs} twigs in a crown of this size hold at most"
            f" {each * commission.growth.twigs} leaves {leaves.spacing:.0f} mm apart, {leaves.count} asked: more twigs,"
            " a larger canopy or fewer leaves would help"
        )
