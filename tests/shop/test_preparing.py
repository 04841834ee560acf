"""Preparation of ends: a groove only where it can be made; heat by thickness."""

from __future__ import annotations

import numpy as np
import pytest

from armature.shop.preparing import BEVEL, FILLET, HEEL_OPEN, NO_REACH, POINT, TOE, preparations


@pytest.mark.parametrize(
    ("groove", "thick", "lean", "reached", "way"),
    [
        (False, 30.0, 60.0, 8, FILLET),
        (True, 6.0, 20.0, 3, POINT),
        (True, 30.0, 29.0, 8, HEEL_OPEN),
        (True, 30.0, 152.0, 8, HEEL_OPEN),
        (True, 30.0, 31.0, 5, NO_REACH),
        (True, 30.0, 31.0, 6, BEVEL),
    ],
)
def test_a_groove_is_made_where_strength_asks_and_lean_and_reach_allow(
    groove: bool, thick: float, lean: float, reached: int, way: int
) -> None:
    one = np.array([thick])
    found = preparations(np.array([groove]), one, np.array([lean]), np.array([reached]), one)
    assert found.ways.tolist() == [way]
    assert found.doubtful.tolist() == [way in (HEEL_OPEN, NO_REACH)]


def test_thick_parts_are_warmed_by_the_table() -> None:
    # AWS D1.1 table 3.3, category B (from memory): 0, 10, 65, 110 deg C to 3/4, 1 1/2, 2 1/2 in and over.
    thick = np.array([6.0, 19.0, 19.1, 38.0, 50.0, 65.0, 100.0])
    same = np.ones(len(thick))
    found = preparations(same > 2.0, thick, 90.0 * same, (8 * same).astype(np.int64), thick)
    assert found.preheats.tolist() == [0.0, 0.0, 10.0, 10.0, 65.0, 65.0, 110.0]


@pytest.mark.parametrize(
    ("use", "lean", "reached", "way"),
    [
        (0.9, 23.0, 7, TOE),
        (0.9, 157.0, 7, TOE),
        (1.1, 23.0, 7, HEEL_OPEN),
        (0.9, 14.0, 7, HEEL_OPEN),
        (0.9, 23.0, 5, NO_REACH),
        (0.9, 40.0, 7, BEVEL),
    ],
)
def test_an_acute_heel_is_left_open_where_the_rest_is_enough(use: float, lean: float, reached: int, way: int) -> None:
    # AWS D1.1, figure of T-, Y- and K-connections, detail D: 15 to 40 deg (from memory).
    one, places = np.array([30.0]), np.array([reached])
    found = preparations(np.array([True]), one, np.array([lean]), places, one, np.array([use]))
    assert found.ways.tolist() == [way]
