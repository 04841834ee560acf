import numpy as np
import pytest

from armature.look import side_pictures
from armature.look.strokes import painted

from .sticks import sticks


def koch(rounds: int) -> np.ndarray:
    points = np.array([0.0 + 0.0j, 1.0 + 0.0j])
    for _ in range(rounds):
        a, b = points[:-1], points[1:]
        third = (b - a) / 3.0
        peak = a + third + third * np.exp(1j * np.pi / 3.0)
        points = np.append(np.stack([a, a + third, peak, a + 2.0 * third], axis=1).ravel(), points[-1])
    return np.stack([points.real, points.imag], axis=1)


def test_box_dimension_of_the_koch_curve() -> None:
    # log 4 / log 3 = 1.2619 (textbook). One placing on the boxes strays by 0.03, so 40 turns and shifts; with the
    # largest box a sixth of the curve the mean stays 0.03 low.
    rng, found = np.random.default_rng(0), []
    for _ in range(40):
        angle = rng.uniform(0.0, 2.0 * np.pi)
        turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        line = (koch(7) - [0.5, 0.15]) @ turn * 800.0 + 512.0 + rng.uniform(-60.0, 60.0, 2)
        pixels = np.flatnonzero(painted(line, np.zeros(len(line)), np.arange(len(line) - 1), 1024))
        found.append(side_pictures.box_dimension(side_pictures.boxes_of(pixels, 1024)))
    assert np.mean(found) == pytest.approx(np.log(4) / np.log(3), abs=0.04)


def test_box_dimension_of_the_sierpinski_triangle() -> None:
    # log 3 / log 2 = 1.5850; row and column without a common binary digit are Sierpinski's triangle exactly.
    row, column = np.mgrid[0:1024, 0:1024]
    pixels = np.flatnonzero((row & column) == 0)
    assert side_pictures.box_dimension(side_pictures.boxes_of(pixels, 1024)) == pytest.approx(
        np.log(3) / np.log(2), abs=1e-9
    )


def test_box_dimension_of_a_line_and_of_a_full_square() -> None:
    line = np.array([[10.0, 20.0], [1000.0, 900.0]])
    pixels = np.flatnonzero(painted(line, np.zeros(2), np.array([0]), 1024))
    assert side_pictures.box_dimension(side_pictures.boxes_of(pixels, 1024)) == pytest.approx(1.0, abs=0.06)
    assert side_pictures.box_dimension(np.ones((256, 256), dtype=bool)) == pytest.approx(2.0)


def test_a_bar_is_painted_as_wide_and_long_as_it_is() -> None:
    flat = np.array([[100.0, 200.0], [500.0, 500.0]])
    area = np.count_nonzero(painted(flat, np.array([12.0, 12.0]), np.array([0]), 1024))
    assert area == pytest.approx(500.0 * 24.0, rel=0.03)


def test_box_sums_are_sums_over_boxes() -> None:
    picture = np.random.default_rng(0).integers(0, 9, (20, 30)).astype(np.int32)
    sums = side_pictures.box_sums(picture, 4)
    assert sums.shape == (17, 27)
    assert sums[3, 5] == picture[3:7, 5:9].sum()


def lattice(gap: float, thick: float) -> side_pictures.SideView:
    """Return the side view of a square grid of upright rods over 8000 mm."""
    lines = [[[0.0, y, 0.0], [0.0, y, 8000.0]] for y in np.arange(-4000.0, 4001.0, gap)]
    lines += [[[0.0, -4000.0, 0.0], [0.0, -4000.0, 1.0]], [[0.0, 4000.0, 8000.0], [0.0, 4000.0, 0.0]]]
    tree = sticks(lines, [-1] + [0] * (len(lines) - 1), [0.0] * len(lines), thick)
    return side_pictures.side_views(tree, np.array([0.0]))[0]


def test_lacunarity_of_fine_even_rods_is_one_and_of_two_lumps_two() -> None:
    # Gliding boxes that all hold the same have lacunarity 1; where half hold nothing and half the same, 2
    # (Allain and Cloitre, Phys. Rev. A 44, 1991).
    even = lattice(25.0, 6.0)
    assert side_pictures._lacunarity(even) == pytest.approx(1.0, abs=0.02)
    wood = even.wood[(even.wood % 1024) < 512]
    half = side_pictures.SideView(0.0, wood, even.thin, even.outline, even.origin, even.scale)
    assert side_pictures._lacunarity(half) == pytest.approx(2.0, abs=0.12)


def test_sky_gap_is_the_share_left_open() -> None:
    view = lattice(400.0, 50.0)
    # 20 rods of 100 mm in 8000 mm, the two at the rims half outside.
    assert side_pictures._gap(view) == pytest.approx(1.0 - 20 * 100.0 / 8000.0, abs=0.02)


def test_a_hole_of_sky_is_placed_in_the_view_that_shows_it() -> None:
    rng = np.random.default_rng(1)
    ends = rng.uniform(-2000.0, 2000.0, (2500, 3)) + [0.0, 0.0, 2500.0]
    hole = np.array([0.0, 700.0, 3000.0])
    ends = ends[np.hypot(ends[:, 1] - hole[1], ends[:, 2] - hole[2]) > 600.0]
    lines = [[[0.0, 0.0, 0.0], [0.0, 0.0, 600.0]]] + [[(e - [0.0, 0.0, 60.0]).tolist(), e.tolist()] for e in ends]
    tree = sticks(lines, [-1] + [0] * len(ends), [0.0] + [500.0] * len(ends), 12.0)
    found = side_pictures.sky_hole(tree, side_pictures.side_views(tree, np.array([0.0, 60.0, 120.0])))
    assert found.azimuth == 0.0
    assert found.high_places[0][1:] == pytest.approx(hole[1:], abs=150.0)
