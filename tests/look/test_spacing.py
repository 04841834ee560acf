import math

import numpy as np
import pytest

from armature.look import spacing
from armature.look.skeleton import Skeleton

from .sticks import sticks


def cloud(points: np.ndarray) -> Skeleton:
    lines = [[[0.0, 0.0, -500.0], [0.0, 0.0, -400.0]]]
    lines += [[(point * 0.97).tolist(), point.tolist()] for point in points]
    return sticks(lines, [-1] + [0] * len(points), [0.0] + [50.0] * len(points), 0.1)


def test_the_constant_is_that_of_clark_and_evans_in_three_dimensions() -> None:
    # Gamma(4/3) (4 pi / 3)^(-1/3), after Clark and Evans, Ecology 35 (1954).
    assert pytest.approx(math.gamma(4 / 3) * (4 * math.pi / 3) ** (-1 / 3), rel=1e-9) == spacing._RANDOM


def ball(rng: np.random.Generator, count: int) -> np.ndarray:
    way = rng.normal(size=(count, 3))
    inside = way / np.linalg.norm(way, axis=1)[:, None] * rng.random((count, 1)) ** (1 / 3)
    return np.asarray(inside)


@pytest.mark.parametrize("count", [20, 60, 500])
def test_random_points_in_a_ball_have_index_one(count: int) -> None:
    rng = np.random.default_rng(7)
    skin = ball(rng, 4000)
    walls = spacing.crown_hull(skin / np.linalg.norm(skin, axis=1)[:, None])
    found = [spacing.neighbour_index(ball(rng, count), walls) for _ in range(120)]
    # A ball's curved wall costs a little more than the flat one allowed for: under 4 % at 20 points.
    assert np.mean(found) == pytest.approx(1.0, abs=0.04 if count < 60 else 0.02)


def test_few_random_points_seem_spread_in_their_own_hull_which_is_smaller_than_their_room() -> None:
    rng = np.random.default_rng(7)
    few, many = (
        np.mean([spacing.neighbour_index(one, spacing.crown_hull(one)) for one in (ball(rng, n) for _ in range(60))])
        for n in (60, 1000)
    )
    assert 1.0 < many < 1.08 < few < 1.3


def test_a_lattice_nears_the_closed_form_as_its_walls_recede() -> None:
    # Nearest neighbour 1 at density 1: 1 / 0.55396 = 1.8051845.
    gaps = []
    for side in (8, 16, 32):
        grid = np.stack(np.meshgrid(*[np.arange(side, dtype=float)] * 3), axis=-1).reshape(-1, 3)
        # The cells of the outer points stick out of the hull by half: compare at the hull's own density.
        index = spacing.neighbour_index(grid, spacing.crown_hull(grid))
        gaps.append(abs(index - 1.8051845))
    assert gaps[0] > gaps[1] > gaps[2]
    assert gaps[2] == pytest.approx(gaps[1] / 2.0, rel=0.25)  # first order in 1 / side


def test_clumped_points_have_a_low_index() -> None:
    rng = np.random.default_rng(1)
    points = (rng.random((40, 1, 3)) + 0.02 * rng.normal(size=(40, 12, 3))).reshape(-1, 3)
    assert spacing.neighbour_index(points, spacing.crown_hull(points)) < 0.6


def test_the_emptied_ball_is_found_where_it_is_and_as_large() -> None:
    rng = np.random.default_rng(2)
    points = rng.uniform(-1000.0, 1000.0, (6000, 3))
    centre = np.array([250.0, -150.0, 100.0])
    tree = cloud(points[np.linalg.norm(points - centre, axis=1) > 500.0])
    hull = spacing.crown_hull(tree.tips)
    assert hull is not None
    found = spacing.empty_ball(tree, hull)
    crown = (3 * hull.volume / 4 / np.pi) ** (1 / 3)
    assert found.value * crown == pytest.approx(500.0, rel=0.12)
    assert np.linalg.norm(found.high_places[0] - centre) < 100.0


def test_a_clump_is_found_where_it_is() -> None:
    rng = np.random.default_rng(4)
    points = rng.uniform(-1000.0, 1000.0, (400, 3))
    spot = np.array([500.0, 500.0, 0.0])
    points = np.concatenate([points, spot + rng.normal(0.0, 60.0, (40, 3))])
    even, clumped = cloud(points[:400]), cloud(points)
    before = spacing.crowding(even, spacing.crown_hull(even.tips))
    after = spacing.crowding(clumped, spacing.crown_hull(clumped.tips))
    assert after.value > 1.8 * before.value
    assert np.linalg.norm(after.high_places[0] - spot) < 150.0


def test_an_opening_in_the_skin_is_found_by_its_direction() -> None:
    rng = np.random.default_rng(5)
    way = rng.normal(size=(3000, 3))
    way /= np.linalg.norm(way, axis=1)[:, None]
    toward = np.array([1.0, 0.0, 0.3]) / np.hypot(1.0, 0.3)
    kept = way[np.degrees(np.arccos(way @ toward)) > 30.0]
    found = spacing.skin_hole(cloud(kept * 1000.0))
    # The crown's middle is that of its tips, which the opening itself moves away: it looks 4 to 5 deg narrower.
    assert found.value == pytest.approx(30.0, abs=6.0)
    assert found.value > 2.5 * spacing.skin_hole(cloud(way * 1000.0)).value
    assert found.azimuth == pytest.approx(0.0, abs=8.0) or found.azimuth == pytest.approx(360.0, abs=8.0)
    thin = spacing.thin_spot(cloud(kept * 1000.0))
    assert thin.value > 1.5 * spacing.thin_spot(cloud(way * 1000.0)).value


def test_too_few_or_flat_points_have_no_hull() -> None:
    assert spacing.crown_hull(np.zeros((4, 3))) is None
    flat = np.random.default_rng(0).random((30, 3)) * [1.0, 1.0, 0.0]
    assert spacing.crown_hull(flat) is None
    assert np.isnan(spacing.neighbour_index(flat, None))
