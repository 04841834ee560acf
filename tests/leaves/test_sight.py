"""Sight and reach against plain loops over viewers and leaves."""

import math

import numpy as np
import pytest

from armature.leaves.naming.sight import EYE_HEIGHT, VIEWS, sight, worth


def ring(count: int = 24, radius: float = 2000.0, height: float = 2500.0) -> np.ndarray:
    a = 2 * np.pi * (np.arange(count) + 0.5) / count
    return np.stack([radius * np.cos(a), radius * np.sin(a), np.full(count, height)], axis=1)


def test_leaves_with_nothing_before_them_are_legible_from_all_of_their_side() -> None:
    """Four leaves far apart hide no other: in front in every view."""
    found = sight(ring(4), 75.0)
    assert found.seen == pytest.approx(1.0)
    assert found.legible == pytest.approx(1.0)


def test_a_leaf_inside_a_close_ring_is_legible_from_nowhere() -> None:
    """Leaves 5 mm apart hide one another by turns, and all that is behind them."""
    points = np.concatenate([ring(1250, 1000.0), [[100.0, 0.0, 2500.0]]])
    points[:, 2] = EYE_HEIGHT + 37.5
    found = sight(points, 75.0)
    assert found.legible[-1] == 0.0
    assert found.legible[:-1].max() > 0.0


def test_a_leaf_behind_another_loses_the_views_that_the_other_hides() -> None:
    """Two leaves in one line of sight from view 0: of the sixteen views the one behind is hidden in that one alone."""
    front, behind = np.array([1500.0, 0.0, EYE_HEIGHT]), np.array([1200.0, 0.0, EYE_HEIGHT])
    others = np.array([[-1500.0, 0.0, 3000.0], [-1200.0, 0.0, 3500.0], [0, 1400.0, 4000.0], [0, -1400.0, 4000.0]])
    points = np.concatenate([[front, behind], others]) + [0.0, 0.0, 37.5]
    assert points[:, :2].mean(axis=0) == pytest.approx(0.0), "viewers stand around the middle: view 0 lies on +x"
    found = sight(points, 75.0)
    assert found.seen[:2] == pytest.approx(1.0 - 1.0 / VIEWS), "each is behind the other from one side"
    assert found.legible[0] == 1.0, "the view that it loses is one of its back"
    # The lost view is the one that its face looks straight at, so that it costs more of what can be read.
    assert found.legible[1] < found.seen[1] - 0.05


def test_legible_agrees_with_loops_over_viewers_and_pairs_of_leaves() -> None:
    """Written out anew pair by pair."""
    rng = np.random.default_rng(3)
    points = rng.uniform([-700, -700, 2000], [700, 700, 3400], size=(1500, 3))
    length = 75.0
    centre = points[:, :2].mean(axis=0)
    reach = max(math.dist(p[:2], centre) for p in points)
    away = reach + max(1.6 * reach, 1500.0)
    got, able = np.zeros(1500), np.zeros(1500)
    for k in range(VIEWS):
        a = 2 * math.pi * k / VIEWS
        eye = np.array([centre[0] + away * math.cos(a), centre[1] + away * math.sin(a), EYE_HEIGHT])
        rays = points - [0, 0, length / 2] - eye
        far = np.linalg.norm(rays, axis=1)
        for n, p in enumerate(points):
            out, toward = p[:2] - centre, eye[:2] - p[:2]
            square = max(float(out @ toward) / float(np.linalg.norm(out) * np.linalg.norm(toward)), 0.0)
            able[n] += square
            beside = np.arccos(np.clip(rays @ rays[n] / (far * far[n]), -1.0, 1.0))
            got[n] += square * (not bool(((beside < length / 3.0 / away) & (far < far[n])).any()))
    expected, found = got / able, sight(points, length).legible
    assert 0.3 < expected.mean() < 0.9, "leaves hide each other here, or the check would say nothing"
    assert found == pytest.approx(expected, abs=1e-9)


def test_low_legible_and_outward_places_are_worth_more() -> None:
    points = np.concatenate([ring(8), [[0.0, 0.0, 2500.0]]])
    points[1, 2] = 4000.0
    legible = np.ones(9)
    legible[3] = 0.2
    found = worth(points, legible, 2600.0)
    assert found[0] == pytest.approx(2.5)
    assert found[1] == pytest.approx(2.5 - 1.0), "the top of the tree is out of reach"
    assert found[3] == pytest.approx(2.5 - 0.8), "hidden in four of five views that it faces"
    assert found[8] == pytest.approx(2.5 - 0.5), "deep in the crown"


def test_within_reach_height_does_not_matter() -> None:
    points = ring(4)
    points[:, 2] = [1500.0, 2000.0, 2400.0, 5000.0]
    found = worth(points, np.ones(4), 2400.0)
    assert found[0] == found[1] == found[2] > found[3]
