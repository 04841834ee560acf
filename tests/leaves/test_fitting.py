import numpy as np
import pytest
import shapely

from armature.leaves.outline.arcs import path_area, polygon
from armature.leaves.outline.fitting import fitted


def ellipse(count: int = 800) -> np.ndarray:
    a = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.stack([50 * np.cos(a), 20 * np.sin(a)], axis=1)


@pytest.mark.parametrize("error", [0.2, 0.05, 0.01])
def test_fit_stays_within_the_stated_chord_error(error: float) -> None:
    ring = ellipse()
    fit = polygon(fitted(ring, error), error / 50).exterior
    # The drawn chords themselves lie 0.001 mm off the ellipse.
    assert fit.hausdorff_distance(shapely.LinearRing(ring)) <= error * 1.02 + 0.002


def test_a_smooth_curve_needs_few_arcs() -> None:
    assert len(fitted(ellipse(), 0.05).points) <= 24


def test_area_of_the_ellipse_is_found_again() -> None:
    assert path_area(fitted(ellipse(), 0.005)) == pytest.approx(np.pi * 1000.0, rel=2e-4)


def test_corners_stay_sharp_and_straights_straight() -> None:
    ring = np.array([[0.0, 0], [30, 0], [30, 20], [15, 28], [0, 20]])
    path = fitted(ring)
    assert len(path.points) == 5
    assert np.abs(path.bulges).max() == 0.0


def test_pieces_meet_without_a_kink_where_the_curve_is_smooth() -> None:
    path = fitted(ellipse(), 0.05)
    chord = np.roll(path.points, -1, axis=0) - path.points
    heading = np.arctan2(chord[:, 1], chord[:, 0])
    kink = heading - 2 * np.arctan(path.bulges) - np.roll(heading + 2 * np.arctan(path.bulges), 1)
    kink = (kink + np.pi) % (2 * np.pi) - np.pi
    # Tangents come from drawn points half a millimetre apart: a third of a degree is within them.
    assert np.rad2deg(np.abs(kink)).max() < 0.35


def test_points_all_but_on_each_other_leave_no_speck_for_the_table() -> None:
    ring = ellipse()
    close = np.insert(ring, 100, ring[100] + [0.004, 0.0], axis=0)
    path = fitted(close, 0.05)
    pieces = np.hypot(*(np.roll(path.points, -1, axis=0) - path.points).T)
    assert pieces.min() > 0.5
    assert polygon(path, 0.001).exterior.hausdorff_distance(shapely.LinearRing(ring)) <= 0.05 * 1.02 + 0.002
