import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from armature.leaves.outline.arcs import (
    Path,
    arc_through,
    circle,
    flattened,
    line,
    moved,
    path_area,
    path_centroid,
    path_length,
    polygon,
    reversed_path,
)


def half_disc(radius: float) -> Path:
    return Path(np.array([[radius, 0.0], [-radius, 0.0]]), np.array([1.0, 0.0]))


def test_circle_has_area_and_length_of_the_formula() -> None:
    assert path_area(circle(3.0, -2.0, 10.0)) == pytest.approx(np.pi * 25.0, rel=1e-12)
    assert path_length(circle(3.0, -2.0, 10.0)) == pytest.approx(np.pi * 10.0, rel=1e-12)


def test_centroid_of_a_half_disc_is_four_thirds_of_r_over_pi_above_its_chord() -> None:
    assert path_centroid(half_disc(6.0)) == pytest.approx([0.0, 4 * 6.0 / (3 * np.pi)], abs=1e-12)


def test_an_arc_bulging_inward_takes_area_away() -> None:
    ring = np.array([[0.0, 0], [10, 0], [10, 10], [0, 10]])
    notched = Path(ring, np.array([-1.0, 0, 0, 0]))
    assert path_area(notched) == pytest.approx(100.0 - np.pi * 25.0 / 2, rel=1e-12)


@given(
    st.lists(st.floats(-0.4, 0.4), min_size=5, max_size=5),
    st.floats(-180, 180),
    st.floats(-500, 500),
)
def test_area_length_and_centroid_agree_with_shapely(bulges: list[float], turn: float, shift: float) -> None:
    a = 2 * np.pi * np.arange(5) / 5
    path = moved(Path(30 * np.stack([np.cos(a), np.sin(a)], 1), np.array(bulges)), turn, (shift, -shift))
    shape = shapely.Polygon(flattened(path, 1e-5))
    # Chords within 1e-5 mm of the arcs leave at most that much on a length of some 250 mm.
    assert path_area(path) == pytest.approx(shape.area, abs=5e-3)
    assert path_length(path) == pytest.approx(shape.length, abs=5e-3)
    assert path_centroid(path) == pytest.approx(np.array(shape.centroid.coords[0]), abs=1e-4)


def test_flattened_stays_within_the_chord_error() -> None:
    for error in (0.5, 0.05, 0.005):
        points = np.asarray(polygon(circle(0, 0, 80.0), error).exterior.coords)
        middles = (points[1:] + points[:-1]) / 2
        assert np.max(40.0 - np.hypot(*middles.T)) <= error


def test_reversing_keeps_the_curve_and_turns_the_area_about() -> None:
    path = Path(np.array([[0.0, 0], [10, 1], [4, 9]]), np.array([0.3, -0.2, 0.1]))
    back = reversed_path(path)
    assert path_area(back) == pytest.approx(-path_area(path))
    assert polygon(back, 1e-4).symmetric_difference(polygon(path, 1e-4)).area < 1e-6


def test_arc_through_passes_its_middle_point() -> None:
    arc = line(arc_through((0, 0), (5, -3), (10, 0)), 1e-4)
    assert arc.distance(shapely.Point(5, -3)) < 1e-3
