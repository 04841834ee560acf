"""Fewest kinds of plate, the order against heat, and what holds leaves while they are cut."""

from functools import cache

import numpy as np
import pytest
import shapely

from armature.leaves.nesting.cuts import plate_cuts
from armature.leaves.nesting.filling import filled
from armature.leaves.nesting.heat import cooled_order, warm_steps
from armature.leaves.nesting.kinds import MORE_SHEET, fewest_kinds, kinds_of, sheet_used
from armature.leaves.nesting.plates import Plate, Rules, counts_on, placed_shapes
from armature.leaves.nesting.tabs import part, pins, tabbed
from armature.leaves.outline.arcs import flattened, path_length
from tests.leaves.designs import family, square

DESIGNS = family(4)
RULES = Rules(seconds=0.0)
SQUARES = [square(40.0, 1), square(20.0, 2)]


@cache
def full() -> Plate:
    """A plate with as many of eight leaves of each design as it takes."""
    return filled(DESIGNS, np.array([8] * 4), [(304.8, 304.8)], [], RULES)[0][0]


def row(numbers: list[int]) -> Plate:
    """Squares side by side, 50 mm apart, on a plate of their own."""
    shifts = np.array([[40.0 + 50.0 * k, 30.0] for k in range(len(numbers))])
    return Plate(50.0 * len(numbers) + 30.0, 60.0, np.array(numbers), np.zeros(len(numbers)), shifts)


def never(wanted: np.ndarray, length: float, height: float) -> Plate:
    return Plate(length, height, np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros((0, 2)))


def test_three_kinds_become_one_where_one_serves_all() -> None:
    """By hand: 6 and 6 wanted. Free: 2 of (1 1 2 2), 1 of (1 1 1 1), 1 of (2 2 2 2): three drawings, four sheets of
    eight leaves and four; 3 of the first give 6 and 6 from three sheets."""
    both, ones, twos = row([1, 1, 2, 2]), row([1, 1, 1, 1]), row([2, 2, 2, 2])
    found = fewest_kinds([both, both, ones, twos], SQUARES, np.array([6, 6]), 0, never)
    assert [(p is both, n) for p, n in kinds_of(found)] == [(True, 3)]


def test_fewer_drawings_never_cost_more_than_a_hundredth_of_sheet_nor_lose_a_leaf() -> None:
    designs = family(5)
    counts = np.array([16, 15, 14, 18, 15])
    plates, _ = filled(designs, counts, [(304.8, 304.8)], [], RULES)
    assert (sum(counts_on(p, designs) for p in plates) >= counts).all()
    assert len(kinds_of(plates)) <= 4
    assert sum(n * sheet_used(p, designs) for p, n in kinds_of(plates)) <= len(plates) * 304.8**2 * (1 + MORE_SHEET)


def test_off_cuts_are_used_once_and_first() -> None:
    offcut = row([1])
    both = row([1, 1, 2, 2])
    found = fewest_kinds([offcut, both, row([1, 2, 2, 2])], SQUARES, np.array([4, 5]), 1, never)
    assert found[0] is offcut
    assert found.count(offcut) == 1


def test_no_leaf_is_cut_beside_the_one_before() -> None:
    """A row of ten squares 10 mm apart: each lies within reach of its neighbours alone, so that an order exists."""
    shapes = [shapely.box(50.0 * k, 0.0, 50.0 * k + 40.0, 40.0) for k in range(10)]
    assert warm_steps(list(range(10)), shapes) == 9
    order = cooled_order(list(range(10)), shapes)
    assert sorted(order) == list(range(10))
    assert warm_steps(order, shapes) == 0


def test_a_full_plate_is_cut_against_heat() -> None:
    plate = full()
    order = [c.row for c in plate_cuts(plate, DESIGNS, 0.0, 2.0)]
    shapes = placed_shapes(plate, DESIGNS, 0.05)
    assert warm_steps(order, shapes) <= 1, "at most the last leaf has no cool one left"


@pytest.mark.parametrize("count", [1, 2, 5])
def test_tabs_leave_their_width_and_no_more(count: int) -> None:
    """What is cut and what stands make the outline: its length less count gaps of tab and kerf."""
    outline = DESIGNS[0].outline
    pieces = tabbed(outline, count, 0.5, 1.2)
    assert len(pieces) == count
    assert not any(p.closed for p in pieces)
    assert sum(path_length(p) for p in pieces) == pytest.approx(path_length(outline) - count * 1.7, abs=1e-6)
    ends = [np.hypot(*(pieces[k].points[-1] - pieces[(k + 1) % count].points[0])) for k in range(count)]
    assert all(gap <= 1.7 + 1e-6 for gap in ends), "a gap is no longer than the way along the outline"
    rim = shapely.LinearRing(flattened(outline, 0.001))
    for piece in pieces:
        assert max(rim.distance(shapely.Point(p)) for p in flattened(piece, 0.01)) < 0.002


def test_an_outline_too_short_for_tabs_is_cut_whole() -> None:
    outline = square(1.0, eye=0.2).outline
    assert tabbed(outline, 4, 2.0, 2.0)[0] is outline


def test_a_part_of_an_outline_has_the_length_asked() -> None:
    outline = DESIGNS[1].outline
    for start, length in ((0.0, 10.0), (33.3, 100.0), (path_length(outline) - 3.0, 7.0)):
        assert path_length(part(outline, start, length)) == pytest.approx(length, abs=1e-6)


def test_pins_keep_off_leaves_edge_and_each_other() -> None:
    plate = full()
    shapes = placed_shapes(plate, DESIGNS, 0.05)
    spots = pins(plate, shapes)
    assert len(spots) >= 2
    holes = [shapely.Point(p).buffer(2.0) for p in spots]
    assert min(h.distance(s) for h in holes for s in shapes) >= 3.9
    assert shapely.box(4, 4, plate.width - 4, plate.height - 4).buffer(0.01).contains(shapely.union_all(holes))
    assert min(np.hypot(*(a - b)) for k, a in enumerate(spots) for b in spots[k + 1 :]) >= 120.0
