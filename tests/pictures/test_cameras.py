from __future__ import annotations

import numpy as np
import pytest

from armature.pictures.cameras import aimed, fitted, projected, toward


@pytest.mark.parametrize("azimuth", [-90.0, -30.0, 10.0, 135.0])
@pytest.mark.parametrize("elevation", [-5.0, 0.0, 40.0, 90.0])
@pytest.mark.parametrize("size", [(400, 300), (200, 500)])
def test_all_points_lie_inside_the_margin_and_the_tightest_side_touches_it(
    azimuth: float, elevation: float, size: tuple[int, int]
) -> None:
    points = np.random.default_rng(3).uniform(-1.0, 1.0, (60, 3)) * [1500.0, 900.0, 2500.0] + [200.0, 0.0, 2500.0]
    seen = projected(fitted(points, toward(azimuth, elevation), size, margin=0.1), points, size) / size
    assert seen.min() >= 0.1 - 1e-9
    assert seen.max() <= 0.9 + 1e-9
    wide, high = np.ptp(seen, axis=0)
    assert max(wide, high) == pytest.approx(0.8, abs=1e-9)


def test_a_camera_that_stands_still_turns_until_it_shows_every_point() -> None:
    points = np.random.default_rng(4).uniform(-1.0, 1.0, (60, 3)) * 1000.0 + [0.0, 0.0, 3000.0]
    seen = projected(aimed(points, np.array([0.0, -4000.0, 1600.0]), (300, 400)), points, (300, 400))
    assert (seen >= 0.0).all()
    assert (seen <= [300.0, 400.0]).all()


def test_the_field_of_view_runs_from_the_lower_to_the_upper_edge() -> None:
    camera = fitted(np.array([[-1.0, 0.0, -1.0], [1.0, 0.0, 1.0]]), toward(-90.0, 0.0), (300, 300), field=30.0)
    half = np.tan(np.radians(15.0)) * np.linalg.norm(camera.target - camera.eye)
    edge = projected(camera, camera.target + np.array([[0.0, 0.0, half], [0.0, 0.0, -half]]), (300, 300))
    np.testing.assert_allclose(edge[:, 1], [0.0, 300.0], atol=1e-9)
