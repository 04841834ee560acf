"""Leaves pressed apart, checked with shapely alone."""

import importlib
import os
import subprocess
import sys

import numpy as np
import pytest
import shapely

from armature.leaves.nesting.grid import Masks, raster_plate
from armature.leaves.nesting.plates import Plate, Rules, placed_shapes, plate_faults
from armature.leaves.nesting.pressing import Press
from armature.leaves.nesting.settling import settled
from armature.leaves.nesting.softness import Heap, bodies
from armature.leaves.outline.arcs import polygon
from tests.leaves.designs import family, square

RULES = Rules(web=3.0, margin=5.0, seconds=0.0)


def two_squares(apart: float) -> Plate:
    """Return two upright 50 mm squares in the middle of a plate, so far apart."""
    return Plate(300.0, 200.0, np.array([1, 1]), np.zeros(2), np.array([[100.0, 120.0], [150.0 + apart, 120.0]]))


def test_two_leaves_too_close_move_apart_to_the_web_and_no_further() -> None:
    plate = settled(two_squares(1.0), [square()], RULES)
    one, two = placed_shapes(plate, [square()])
    # The web, what is kept beside it, and what the descent may overshoot.
    assert 3.0 - 0.02 <= one.distance(two) <= 3.6
    assert np.abs(plate.shifts - two_squares(1.0).shifts).max() < 2.0


def test_leaves_with_room_stay_where_they_are() -> None:
    plate = settled(two_squares(8.0), [square()], RULES)
    assert np.array_equal(plate.shifts, two_squares(8.0).shifts)
    assert np.array_equal(plate.turns, two_squares(8.0).turns)


def test_a_leaf_over_the_edge_is_pushed_in() -> None:
    over = Plate(300.0, 200.0, np.array([1]), np.zeros(1), np.array([[28.0, 120.0]]))
    (shape,) = placed_shapes(settled(over, [square()], RULES), [square()])
    assert shape.bounds[0] >= 5.0 - 0.02


def test_a_leaf_too_many_goes_and_the_others_keep_their_webs() -> None:
    """Three squares of 50 mm and their webs need 156 mm; 140 mm inside the margins holds two."""
    shifts = np.array([[32.0, 60.0], [75.0, 60.0], [118.0, 60.0]])
    plate = settled(Plate(150.0, 70.0, np.array([1, 1, 1]), np.zeros(3), shifts), [square()], RULES)
    assert len(plate) == 2
    assert not plate_faults(plate, [square()], RULES)


@pytest.mark.parametrize("rotation", ["quarter", "grain"])
def test_leaves_that_may_not_turn_freely_keep_their_turns(rotation: str) -> None:
    designs, rules = family(3), Rules(web=3.0, margin=5.0, rotation=rotation, seconds=0.0)
    plate = Press(designs, rules).plate(np.array([4, 4, 4]), 304.8, 304.8)
    allowed = {90.0, 270.0} if rotation == "grain" else {0.0, 90.0, 180.0, 270.0}
    assert set(plate.turns.tolist()) <= allowed
    assert not plate_faults(plate, designs, rules)


def test_pushes_are_equal_and_opposite() -> None:
    """Newton's third law: away from the edges all pushes add up to nothing, and so do their moments."""
    designs = family(4)
    soft = bodies(designs, np.array([1, 2, 3, 4]), 3.0, 3.0)
    rng = np.random.default_rng(5)
    x, y, a = rng.uniform(480, 520, 4), rng.uniform(480, 520, 4), rng.uniform(0, 6, 4)
    heap = Heap(x, y, np.cos(a), np.sin(a))
    push, energy, deepest = soft.pushes(heap, soft.near(heap, 4.0), (1000.0, 1000.0, 5.0))
    assert deepest > 1.0
    assert energy.min() > 0.0
    size = np.abs(push).max()
    assert np.abs(push[:2].sum(axis=1)).max() < 1e-9 * size
    moment = x * push[1] - y * push[0] + push[2] * soft.girths
    assert abs(moment.sum()) < 1e-9 * size * 1000


def test_field_is_the_distance_that_shapely_finds() -> None:
    design = family(1)[0]
    soft = bodies([design], np.array([1]), 3.0, 3.0)
    shape = shapely.transform(polygon(design.outline), lambda p: p - soft.centres[0])
    wide, high = soft.sides[:, 0]
    rng = np.random.default_rng(2)
    for a, b in zip(rng.integers(0, wide, 40), rng.integers(0, high, 40), strict=True):
        spot = shapely.Point(soft.corners[:, 0] + soft.cell * np.array([a, b]))
        far = shape.exterior.distance(spot) * (-1.0 if shape.contains(spot) else 1.0)
        assert soft.grid[a * high + b] == pytest.approx(far, abs=1e-4)


def test_cells_of_a_turned_leaf_cover_it_and_its_web() -> None:
    designs = family(2)
    masks = Masks(designs, RULES, 1.0)
    for turn in (0.0, 45.0, 90.0, 225.0, 270.0):
        own, web, x0, y0 = masks.of(1, turn)
        plate = Plate(500.0, 500.0, np.array([2]), np.array([turn]), np.zeros((1, 2)))
        (shape,) = placed_shapes(plate, designs)
        for cells, body in ((own, shape), (web, shape.buffer(3.0))):
            rows, columns = np.nonzero(cells)
            covered = shapely.union_all(shapely.box(x0 + columns, y0 + rows, x0 + columns + 1, y0 + rows + 1))
            assert body.difference(covered).area < 0.05


def test_quick_plate_holds_more_than_its_first_layout() -> None:
    designs = family(3)
    counts = np.full(3, 12)
    press = Press(designs, RULES)
    first = raster_plate(designs, counts, 304.8, 304.8, RULES, press.cell(counts, 304.8, 304.8))
    plate = press.plate(counts, 304.8, 304.8)
    assert press.area(plate) > press.area(first)
    assert not plate_faults(plate, designs, RULES)


def test_leaves_that_fit_with_ease_leave_an_off_cut() -> None:
    designs = family(3)
    plate = Press(designs, RULES).plate(np.array([1, 1, 1]), 600.0, 300.0)
    assert len(plate) == 3
    assert max(s.bounds[2] for s in placed_shapes(plate, designs)) < 200.0


def test_outlines_and_plates_are_the_same_on_a_plainer_processor() -> None:
    """Two processes: one with all that this processor can do, one with numpy held to its plainest loops."""
    code = """
from armature.leaves.outline.drawn_text import designs_text
from armature.leaves.nesting.laying import lay_plates
from armature.leaves.nesting.plates import Rules, layout_text
from tests.leaves.designs import family
designs = family(9)
print(designs_text(designs), layout_text(lay_plates(designs, [2] * 9, [(400.0, 300.0)], Rules(seconds=0.0))))
"""
    umath = importlib.import_module("numpy._core._multiarray_umath")
    extras = " ".join(name for name in umath.__cpu_dispatch__ if umath.__cpu_features__.get(name))
    told = [
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "NPY_DISABLE_CPU_FEATURES": disabled},
        ).stdout
        for seed, disabled in (("1", ""), ("2", extras))
    ]
    assert told[0] == told[1]
    assert len(told[0]) > 1000
