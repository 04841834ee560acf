import numpy as np
import pytest
import shapely

from armature.leaves.nesting.cuts import cut_path, plate_cuts, travel_order
from armature.leaves.nesting.laying import lay_plates
from armature.leaves.nesting.plates import Plate, Rules, placed_shapes
from armature.leaves.outline.arcs import path_area, path_length, polygon
from tests.leaves.designs import family, square

DESIGNS = family(4)
PLATE = lay_plates(DESIGNS, [4] * 4, [(304.8, 304.8)], Rules(seconds=0.0)).plates[0]


def test_lead_ins_stay_in_the_waste() -> None:
    shapes = placed_shapes(PLATE, DESIGNS, 0.01)
    inside = shapely.box(0, 0, PLATE.width, PLATE.height)
    for cut in plate_cuts(PLATE, DESIGNS, 0.0, 2.0):
        lead = shapely.LineString(cut.lead)
        assert inside.contains(lead)
        assert all(s.buffer(-0.02).disjoint(lead) for s in shapes)


def test_eye_is_pierced_inside_itself() -> None:
    for cut in plate_cuts(PLATE, DESIGNS, 0.0, 2.0):
        hole = polygon(cut.eye, 0.01)
        assert hole.contains(shapely.Point(cut.eye_lead[0]))
        assert cut.eye_lead[1] == pytest.approx(cut.eye.points[0])


def test_outline_begins_where_its_lead_in_ends_and_is_the_same_curve() -> None:
    for cut in plate_cuts(PLATE, DESIGNS, 0.0, 2.0):
        assert cut.outline.points[0] == pytest.approx(cut.lead[1])
        design = DESIGNS[int(PLATE.designs[cut.row]) - 1]
        assert path_area(cut.outline) == pytest.approx(path_area(design.outline))


def test_cut_length_is_outline_eye_and_leads() -> None:
    cut = plate_cuts(PLATE, DESIGNS, 0.0, 2.0)[0]
    leads = sum(float(np.hypot(*(a[1] - a[0]))) for a in (cut.lead, cut.eye_lead))
    assert cut.length == pytest.approx(path_length(cut.outline) + path_length(cut.eye) + leads)


def test_compensated_path_lies_half_a_kerf_outside() -> None:
    """Steiner's formula for a convex figure: area grows by length times offset, and a circle of it."""
    design = square(50.0)
    grown = cut_path(design.outline, 0.75)
    # Off by no more than the chord error along the whole edge.
    assert path_area(grown) == pytest.approx(2500 + 200 * 0.75 + np.pi * 0.75**2, abs=0.05 * 205)


def test_compensated_eye_is_a_kerf_smaller() -> None:
    plate = Plate(200.0, 200.0, np.array([1]), np.zeros(1), np.array([[100.0, 100.0]]))
    cut = plate_cuts(plate, [square(50.0, eye=4.0)], 0.6, 2.0)[0]
    assert path_length(cut.eye) == pytest.approx(np.pi * (4.0 - 1.2))


def test_travel_takes_every_leaf_once() -> None:
    assert sorted(travel_order(PLATE, DESIGNS)) == list(range(len(PLATE)))
