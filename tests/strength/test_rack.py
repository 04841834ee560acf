"""What is on hand, and what is taken of it."""

import numpy as np

from armature.strength.sizing import _Rack

RACK = _Rack(np.array([10.0, 20.0, 30.0]), np.array([42.0, 60.0, 76.0]), np.array([3.0, 4.0, 5.0]))


def test_the_least_size_that_holds_is_taken_bar_for_bar_and_pipe_for_pipe() -> None:
    wanted, walls = np.array([9.0, 10.0, 10.1, 30.0, 42.0, 42.1, 60.1, 76.0]), np.array([0.0] * 4 + [3.0] * 4)
    sizes, thick = RACK.fitting(wanted, walls)
    assert sizes.tolist() == [10.0, 10.0, 20.0, 30.0, 42.0, 60.0, 76.0, 76.0]
    assert thick.tolist() == [0.0, 0.0, 0.0, 0.0, 3.0, 4.0, 5.0, 5.0]


def test_where_nothing_on_hand_holds_the_thickest_is_taken() -> None:
    sizes, thick = RACK.fitting(np.array([31.0, 77.0]), np.array([0.0, 3.0]))
    assert sizes.tolist() == RACK.most(np.array([0.0, 3.0])).tolist() == [30.0, 76.0]
    assert thick.tolist() == [0.0, 5.0]


def test_a_rack_without_pipes_leaves_walls_as_they_are() -> None:
    bars = _Rack(RACK.bars, np.zeros(0), np.zeros(0))
    sizes, thick = bars.fitting(np.array([15.0, 99.0]), np.array([0.0, 3.0]))
    assert (sizes.tolist(), thick.tolist()) == ([20.0, 30.0], [0.0, 3.0])
    assert bars.most(np.array([3.0, 0.0])).tolist() == [0.0, 30.0]
