import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from armature.leaves.stamp_areas import clear_zone, largest_rectangle, panel_shape, stamp_panel
from tests.leaves.designs import family, square

DESIGNS = family(9, 120.0)


@pytest.mark.parametrize("design", DESIGNS, ids=[d.name for d in DESIGNS])
def test_panel_is_clear_of_veins_eye_and_edge(design) -> None:  # type: ignore[no-untyped-def]  # parametrized
    panel = stamp_panel(design)
    assert panel is not None
    zone = clear_zone(design, min(2.5, 0.03 * design.length), min(0.8, 0.01 * design.length))
    assert zone.buffer(1e-6).contains(panel_shape(panel))
    assert panel.width >= panel.height > 4.0


def test_panel_of_a_square_is_all_that_the_eye_leaves() -> None:
    """Square of 60 mm, eye of 4 mm 10 mm below its upper side: clear below the eye are 54.0 by 42.5 mm and more."""
    design = square(60.0)
    panel = stamp_panel(design)
    assert panel is not None
    edge = min(2.5, 0.03 * design.length)
    wide, high = 60.0 - 2 * edge, 50.0 - 2.0 - 2 * edge
    assert panel.width * panel.height == pytest.approx(wide * high, rel=0.04)


def brute(free: np.ndarray) -> int:
    rows, columns = free.shape
    return max(
        (
            (b - a) * (d - c)
            for a in range(rows)
            for b in range(a + 1, rows + 1)
            for c in range(columns)
            for d in range(c + 1, columns + 1)
            if free[a:b, c:d].all()
        ),
        default=0,
    )


@given(st.integers(0, 2**30 - 1), st.integers(1, 6))
def test_largest_rectangle_is_that_of_trying_all(bits: int, columns: int) -> None:
    free = np.array([bits >> k & 1 for k in range(30)], dtype=bool)[: 30 // columns * columns].reshape(-1, columns)
    left, low, wide, high = largest_rectangle(free)
    assert wide * high == brute(free)
    assert free[low : low + high, left : left + wide].all()
