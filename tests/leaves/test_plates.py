import json
import subprocess
import sys

import numpy as np
import pytest
import shapely

from armature.edge import CommissionError
from armature.leaves.nesting.filling import mixed, upright
from armature.leaves.nesting.laying import lay_plates
from armature.leaves.nesting.packing import available
from armature.leaves.nesting.plates import (
    Layout,
    Plate,
    Rules,
    density,
    layout_text,
    placed_shapes,
    plate_faults,
    stored_layout,
)
from armature.leaves.outline.arcs import Path
from armature.leaves.outline.outlines import Design
from tests.leaves.designs import family, square

QUICK = Rules(seconds=0.0)


def sound(layout: Layout, designs: tuple, rules: Rules) -> None:  # type: ignore[type-arg]  # any designs
    """Assert web and margin with shapely alone, apart from the program's own check."""
    for plate in layout.plates:
        shapes = placed_shapes(plate, designs, 0.005)
        inner = shapely.box(rules.margin, rules.margin, plate.width - rules.margin, plate.height - rules.margin)
        assert all(inner.buffer(0.02).contains(s) for s in shapes)
        for k, one in enumerate(shapes):
            assert all(one.distance(two) >= rules.web for two in shapes[k + 1 :])


@pytest.mark.parametrize("rotation", ["free", "quarter", "grain"])
def test_quick_layout_keeps_web_and_margin_and_lays_every_leaf(rotation: str) -> None:
    designs = family(4)
    rules = Rules(seconds=0.0, rotation=rotation)
    layout = lay_plates(designs, [5, 3, 4, 2], [(304.8, 304.8)], rules)
    laid = np.concatenate([p.designs for p in layout.plates])
    assert np.bincount(laid, minlength=5)[1:].tolist() == [5, 3, 4, 2]
    sound(layout, designs, rules)


def test_quick_layout_is_the_same_on_every_run() -> None:
    designs = family(5)
    one = lay_plates(designs, [3] * 5, [(304.8, 304.8)], QUICK)
    two = lay_plates(designs, [3] * 5, [(304.8, 304.8)], QUICK)
    assert layout_text(one) == layout_text(two)


@pytest.mark.skipif(not available(), reason="the packing library has no wheel here")
def test_tight_layout_keeps_web_and_margin_and_lays_every_leaf() -> None:
    designs = family(4)
    rules = Rules(seconds=2.0)
    layout = lay_plates(designs, [4] * 4, [(304.8, 304.8)], rules)
    assert layout.engine == "spyrrow"
    assert sum(len(p) for p in layout.plates) == 16
    sound(layout, designs, rules)


def test_kept_layout_is_used_again_and_only_for_the_same_job() -> None:
    designs = family(3)
    first = lay_plates(designs, [4, 4, 4], [(304.8, 304.8)], QUICK)
    text = layout_text(first)
    again = lay_plates(designs, [4, 4, 4], [(304.8, 304.8)], QUICK, stored=text)
    assert layout_text(again) == text
    assert stored_layout(text, first.key) is not None
    other = lay_plates(designs, [4, 4, 5], [(304.8, 304.8)], QUICK, stored=text)
    assert other.key != first.key
    assert sum(len(p) for p in other.plates) == 13


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"version": 1, "key": "k", "engine": "x", "plates": [{}]}'])
def test_damaged_layout_is_not_used(text: str) -> None:
    assert stored_layout(text, "k") is None


def test_checks_find_a_web_too_thin_and_a_leaf_over_the_margin() -> None:
    design = square(50.0)
    near = Plate(300.0, 300.0, np.array([1, 1, 1]), np.zeros(3), np.array([[60.0, 100], [112, 100], [200, 294]]))
    faults = plate_faults(near, [design], Rules(web=3.0, margin=5.0))
    assert [(f.rule, f.leaves) for f in faults] == [("margin", (2,)), ("web", (0, 1))]
    assert faults[1].value == pytest.approx(2.0)


def test_density_of_squares_is_arithmetic() -> None:
    plate = Plate(200.0, 100.0, np.array([1, 1]), np.zeros(2), np.array([[50.0, 60], [150, 60]]))
    assert density([plate], [square(50.0)]) == pytest.approx(2 * 2500 / 20000)


def test_offcuts_are_used_first_and_once() -> None:
    designs = family(2)
    layout = lay_plates(designs, [6, 6], [(304.8, 304.8)], QUICK, offcuts=[(150.0, 400.0)])
    assert (layout.plates[0].width, layout.plates[0].height) == (150.0, 400.0)
    assert all((p.width, p.height) == (304.8, 304.8) for p in layout.plates[1:])
    sound(layout, designs, QUICK)


def test_an_offcut_too_small_for_any_leaf_is_left_aside() -> None:
    layout = lay_plates(family(2), [2, 2], [(304.8, 304.8)], QUICK, offcuts=[(40.0, 40.0)])
    assert all(p.width == 304.8 for p in layout.plates)


def test_leaf_larger_than_every_plate_is_refused_in_one_line() -> None:
    with pytest.raises(CommissionError, match="must fit a plate") as caught:
        lay_plates([square(400.0)], [1], [(304.8, 304.8)], QUICK)
    assert "\n" not in str(caught.value)


def test_a_larger_plate_is_taken_where_the_preferred_one_is_too_small() -> None:
    layout = lay_plates([square(200.0)], [2], [(150.0, 150.0), (500.0, 500.0)], QUICK)
    assert {p.width for p in layout.plates} == {500.0}


def test_grain_lays_every_leaf_along_the_long_side() -> None:
    rules = Rules(seconds=0.0, rotation="grain")
    wide = lay_plates(family(2), [3, 3], [(600.0, 300.0)], rules)
    tall = lay_plates(family(2), [3, 3], [(300.0, 600.0)], rules)
    assert set((wide.plates[0].turns % 180.0).tolist()) == {90.0}
    assert set((tall.plates[0].turns % 180.0).tolist()) == {0.0}
    sound(tall, family(2), rules)


def test_turning_a_plate_upright_keeps_every_distance() -> None:
    designs = family(3)
    layout = lay_plates(designs, [2, 2, 2], [(400.0, 200.0)], QUICK)
    turned = upright(layout.plates[0])
    assert (turned.width, turned.height) == (200.0, 400.0)
    assert not plate_faults(turned, designs, QUICK)


def test_mix_draws_in_proportion_and_never_more_than_there_are() -> None:
    left = np.array([1, 50, 49])
    for count in range(1, 101):
        for number in (0, 3):
            found = mixed(left, count, number)
            assert found.sum() == count
            assert (found <= left).all()


def test_no_leaves_need_no_plates() -> None:
    assert lay_plates(family(2), [0, 0], [(304.8, 304.8)], QUICK).plates == ()


def test_a_leaf_that_fills_its_plate_is_laid_alone() -> None:
    """50 mm squares on a plate that leaves 0.1 mm to spare: less than a cell of the quick way."""
    layout = lay_plates([square(50.0)], [2], [(60.1, 60.1)], QUICK)
    assert [len(p) for p in layout.plates] == [1, 1]
    sound(layout, (square(50.0),), QUICK)


def test_each_design_gets_the_first_plate_that_takes_it() -> None:
    """A long strip of a leaf fits only the long plate, whatever its diagonal says of the square one."""
    ring = np.array([[-5.0, -290.0], [5.0, -290.0], [5.0, 10.0], [-5.0, 10.0]])
    strip = Design(1, "strip", Path(ring, np.zeros(4)), 3.0, (), (300.0, 10.0))
    rules = Rules(seconds=0.0, rotation="quarter")
    layout = lay_plates([strip], [3], [(290.0, 290.0), (330.0, 60.0)], rules)
    assert {(p.width, p.height) for p in layout.plates} == {(330.0, 60.0)}
    sound(layout, (strip,), rules)


def test_without_the_packing_library_the_quick_way_serves() -> None:
    """In a process of its own, in which the library cannot be imported: same plates as without a search."""
    code = """
import sys
sys.modules["spyrrow"] = None
from armature.leaves.nesting.laying import lay_plates
from armature.leaves.nesting.plates import Rules, layout_text
from tests.leaves.designs import family
layout = lay_plates(family(3), [4, 4, 4], [(304.8, 304.8)], Rules(seconds=30.0))
print(layout.engine)
print(layout_text(layout), end="")
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    engine, text = done.stdout.split("\n", 1)
    assert engine == "pressing"
    here = lay_plates(family(3), [4, 4, 4], [(304.8, 304.8)], QUICK)
    assert json.loads(text)["plates"] == json.loads(layout_text(here))["plates"]


def test_search_gives_no_fuller_a_plate_up() -> None:
    """The quick plate stands where a search of a second finds less."""
    designs = family(6)
    counts = [3] * 6
    quick = lay_plates(designs, counts, [(304.8, 304.8)], QUICK)
    searched = lay_plates(designs, counts, [(304.8, 304.8)], Rules(seconds=1.0))
    assert density(searched.plates[:1], designs) >= density(quick.plates[:1], designs) - 1e-9
