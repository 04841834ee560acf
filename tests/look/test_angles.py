import numpy as np
import pytest

from armature.look import angles

from .sticks import ladder, sticks


def test_insertion_angle_is_the_lean_of_a_straight_rung() -> None:
    tree = ladder([400, 700, 1100, 1500], [0, 90, 200, 310], [30, 45, 60, 90])
    assert angles.insertion_angles(tree)[1:] == pytest.approx([30, 45, 60, 90])
    assert np.isnan(angles.insertion_angles(tree)[0])


def test_mean_and_spread_are_those_of_the_angles_and_name_who_spoils_them() -> None:
    leans = [40.0, 50.0, 60.0, 90.0]
    tree = ladder([400, 700, 1100, 1500], [0, 90, 200, 310], leans)
    found = angles.insertion_angles(tree)
    assert angles.angle_mean(tree, found, 1).value == pytest.approx(60.0)
    spread = angles.angle_spread(tree, found, 1)
    assert spread.value == pytest.approx(np.std(leans, ddof=1))
    assert spread.high_rows[0] == 4  # the one at 90 deg lies farthest from the mean
    assert spread.low_rows[0] == 3  # the one at 60 deg lies on it


def test_divergence_is_the_turn_from_rung_to_rung_whatever_their_lean() -> None:
    tree = ladder([400, 700, 1100, 1500], [0, 90, 230, 30], [30, 70, 45, 80])
    rows, turns = angles.divergences(tree)
    assert rows.tolist() == [2, 3, 4]
    assert turns == pytest.approx([90.0, 140.0, 160.0])
    assert angles.divergence_median(tree, (rows, turns)).value == pytest.approx(140.0)


def test_even_rungs_have_no_spread_of_gaps_and_random_ones_about_one() -> None:
    even = ladder(list(np.linspace(200, 1800, 9)), [0.0] * 9, [60.0] * 9)
    assert angles.spacing_evenness(even).value == pytest.approx(0.0, abs=1e-9)
    # Gaps between points thrown at random are exponential: spread over mean 1 (Cox and Lewis 1966).
    rng = np.random.default_rng(3)
    found = []
    for _ in range(200):
        stations = np.sort(rng.uniform(0.0, 2000.0, 40))
        found.append(angles.spacing_evenness(ladder(list(stations), [0.0] * 40, [60.0] * 40)).value)
    assert np.mean(found) == pytest.approx(1.0, abs=0.03)  # 200 trees: the mean is good to about 0.01


def test_path_over_chord_of_a_half_square_is_root_two() -> None:
    corner = [[0.0, 0.0, 500.0], [400.0, 0.0, 500.0], [400.0, 400.0, 500.0]]
    tree = sticks([[[0, 0, 0], [0, 0, 1000]], corner, corner, corner], [-1, 0, 0, 0], [0, 500, 500, 500])
    assert angles.path_over_chord(tree, 1).value == pytest.approx(np.sqrt(2.0))
    assert angles.path_over_chord(tree, 0).value == pytest.approx(1.0)


def test_a_kink_is_found_where_it_is_and_a_bow_is_none() -> None:
    bow = [[500 * np.sin(t), 0, 800 - 500 * np.cos(t)] for t in np.linspace(0.0, np.pi / 2, 40)]
    bent = [[0, 0, 600], [300, 0, 600], [300 + 300 * np.cos(1.4), 300 * np.sin(1.4), 600]]
    tree = sticks([[[0, 0, 0], [0, 0, 1000]], bow, bent], [-1, 0, 0], [0, 300, 600])
    rows, places = angles.kinks(tree)
    assert rows.tolist() == [2]
    assert places[0] == pytest.approx([300, 0, 600])
    assert angles.kink_count(tree, (rows, places)).value == 1.0


def test_members_against_their_parents_growth_are_counted() -> None:
    tree = ladder([400, 700, 1100, 1500], [0, 90, 200, 310], [30, 120, 60, 104])
    assert angles.backward(angles.insertion_angles(tree)).value == pytest.approx(25.0)
