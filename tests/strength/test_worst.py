"""Which case is the worst, where several are as good as equal."""

from __future__ import annotations

import numpy as np

from armature.strength import first_worst


def test_the_first_of_those_that_differ_in_last_digits_alone_is_taken() -> None:
    asked = np.array([[0.3, 0.7, 0.7 * (1.0 + 1e-15)], [0.2, 0.1, 0.0], [0.5, 0.5, 0.500001], [0.0, 0.0, 0.0]])
    assert first_worst(asked).tolist() == [1, 0, 2, 0]
