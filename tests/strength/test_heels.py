"""What is left of a bar that is welded through from its toe, its heel open."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from armature.strength.heels import heel_left
from armature.tree import HEEL_LOSS


@pytest.mark.parametrize("diameter", [12.0, 26.3, 60.0])
def test_the_modulus_left_is_that_of_a_round_less_a_slice(diameter: float) -> None:
    """Against strips of a polygon cut by shapely; 4,000 strips hold a second moment to a thousandth."""
    radius = diameter / 2.0
    left = shapely.Point(0.0, 0.0).buffer(radius, quad_segs=512) & shapely.box(
        -radius, -radius, radius, radius - HEEL_LOSS
    )
    heights = np.linspace(-radius, radius - HEEL_LOSS, 4001)
    middles, step = (heights[1:] + heights[:-1]) / 2.0, heights[1] - heights[0]
    widths = 2.0 * np.sqrt(radius**2 - middles**2)
    assert float((widths * step).sum()) == pytest.approx(left.area, rel=1e-3)
    middle = left.centroid.y
    about = float((widths * step * (middles - middle) ** 2).sum())
    modulus = min(about / (radius - HEEL_LOSS - middle), about / (radius + middle))
    assert float(heel_left(np.array([diameter]))[0]) == pytest.approx(modulus / (np.pi * diameter**3 / 32.0), rel=3e-3)


def test_nothing_is_left_of_a_bar_no_thicker_than_the_loss() -> None:
    assert heel_left(np.array([HEEL_LOSS, 3.0])).tolist() == [0.0, 0.0]
