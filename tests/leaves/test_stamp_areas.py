import json

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import affinity

from armature.commission import Commission
from armature.leaves.naming.stamp_areas import (
    clear_zone,
    largest_rectangle,
    longest_rectangle,
    panel_shape,
    stamp_panels,
)
from armature.leaves.plan import name_panels
from armature.leaves.stored_panels import panels_text, stored_panels
from tests.leaves.designs import family, square

DESIGNS = family(9, 120.0)


@pytest.mark.parametrize("design", DESIGNS, ids=[d.name for d in DESIGNS])
def test_panel_is_clear_of_veins_eye_and_edge(design) -> None:  # type: ignore[no-untyped-def]  # parametrized
    panels = stamp_panels(design, (2.4, 6.2))
    zone = clear_zone(design, min(2.5, 0.03 * design.length), min(0.8, 0.01 * design.length))
    assert all(zone.buffer(1e-6).contains(panel_shape(panel)) for panel in panels)
    assert panels[0].width >= panels[0].height > 4.0
    assert max(p.width * p.height for p in panels) == panels[0].width * panels[0].height


@pytest.mark.parametrize("design", DESIGNS[::2], ids=[d.name for d in DESIGNS[::2]])
def test_long_names_find_a_longer_line_than_the_largest_panel_has(design) -> None:  # type: ignore[no-untyped-def]
    """The longest panel of one line against shapely: turned by what it says, a strip so long and deep fits the zone,
    and in none of the directions a quarter longer one, tried at every place of a millimetre's grid."""
    longest = max(stamp_panels(design, (2.5,)), key=lambda panel: panel.width)
    zone = clear_zone(design, min(2.5, 0.03 * design.length), min(0.8, 0.01 * design.length))
    assert longest.height >= 2.5
    assert zone.buffer(1e-6).contains(panel_shape(longest))
    for turn in range(-90, 90, 5):
        level = affinity.rotate(zone, -turn, origin=(0, 0))
        x0, y0, x1, y1 = level.bounds
        x, y = (v.ravel() for v in np.meshgrid(np.arange(x0, x1), np.arange(y0, y1)))
        shapely.prepare(level)
        assert not shapely.contains_properly(level, shapely.box(x, y, x + 1.25 * longest.width, y + 2.5)).any()


def test_panel_of_a_square_is_all_that_the_eye_leaves() -> None:
    """Square of 60 mm, eye of 4 mm 10 mm below its upper side: clear below the eye are 54.0 by 42.5 mm and more."""
    design = square(60.0)
    (panel,) = stamp_panels(design)
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


@given(st.integers(0, 2**30 - 1), st.integers(1, 6), st.integers(1, 4))
def test_longest_rectangle_is_that_of_trying_all(bits: int, columns: int, rows: int) -> None:
    free = np.array([bits >> k & 1 for k in range(30)], dtype=bool)[: 30 // columns * columns].reshape(-1, columns)
    left, low, wide, high = longest_rectangle(free, rows)
    most = max(
        (
            d - c
            for a in range(len(free) - rows + 1)
            for c in range(columns)
            for d in range(c + 1, columns + 1)
            if free[a : a + rows, c:d].all()
        ),
        default=0,
    )
    assert wide == most
    assert high == (rows if wide else 0)
    assert free[low : low + high, left : left + wide].all()


LETTERS = {
    "title": "Elm",
    "canopy": {"height": "3 m"},
    "growth": {"limbs": 2, "branches": 4, "twigs": 10},
}


def test_kept_panels_serve_the_outlines_and_letters_they_were_found_for() -> None:
    designs = family(1, 40.0)
    commission = Commission.model_validate({**LETTERS, "leaves": {"count": 10}})
    found = tuple(name_panels(commission, design) for design in designs)
    text = panels_text(found, designs, commission)
    assert stored_panels(text, designs, commission) == found
    # What was touched, or is of other letters, is found anew: a panel moved off its leaf is not believed.
    moved = json.loads(text)
    moved["panels"][0][0][0] += 1000.0
    for other in (json.dumps(moved), "[]", text[:-40]):
        assert stored_panels(other, designs, commission) == found
    larger = Commission.model_validate({**LETTERS, "leaves": {"count": 10, "lettering": {"least": "6 mm"}}})
    assert stored_panels(text, designs, larger) == tuple(name_panels(larger, design) for design in designs)
