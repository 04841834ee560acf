"""What is counted for the crew's hours, against figures by hand."""

import numpy as np
import pytest

from armature.metals import least_fillets
from armature.shop.counting import _stitches
from armature.shop.stocklist import Sawing
from tests.trees import post


@pytest.mark.parametrize(
    ("rods", "diameter", "runs"),
    [
        # Three rods of 12 mm, 1000 mm long: two seams over a quarter of the length. A leg of 4.76 mm holds 11.3 mm2,
        # less than the 18 mm2 that one run lays down: one run.
        (3, 12.0, 2.0 * 0.25 * 1000.0),
        # Seven of 25.4 mm: six seams, a leg of 7.94 mm holds 31.5 mm2: 1.75 runs.
        (7, 25.4, 6.0 * 0.25 * 1000.0 * 7.9375**2 / 2.0 / 18.0),
        (1, 25.4, 0.0),
    ],
)
def test_rods_of_a_bundle_are_stitched_over_a_quarter_of_their_length(rods: int, diameter: float, runs: float) -> None:
    """Shares and runs: common practice, no source; legs: AISC 360-16 table J2.4, from memory."""
    assert least_fillets([12.0, 25.4]).tolist() == [4.7625, 7.9375]
    one, number = np.ones(1), np.array([rods])
    sawn = Sawing(np.array(["T"]), one * diameter, 0.0 * one, number, np.ones(1, dtype=np.int64), one * 1000.0)
    assert _stitches(post(1000.0), sawn)[0] == pytest.approx(runs)
