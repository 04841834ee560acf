"""Quantities in words against figures worked out by hand."""

from __future__ import annotations

import pytest

from armature.edge import (
    format_force,
    format_heat,
    format_length,
    format_mass,
    format_moment,
    format_run,
    format_side,
    format_stress,
    format_thin,
    format_wind,
)


@pytest.mark.parametrize(
    ("mm", "fine", "told"),
    [
        (25.4, False, '1"'),
        (19.05, False, '3/4"'),
        (1.5875, False, '1/16"'),
        (0.79375, True, '1/32"'),
        # 300 mm are 11.811 in: 13/16 is 11.8125, 3/4 and 7/8 lie further off.
        (300.0, False, '11 13/16"'),
        # Half a sixteenth goes up.
        (25.4 / 32.0, False, '1/16"'),
        (-38.1, False, '-1 1/2"'),
        (304.8, False, '12"'),
    ],
)
def test_inches_are_told_to_the_nearest_step(mm: float, fine: bool, told: str) -> None:
    assert format_length(mm, "inch", fine=fine) == told


def test_feet_carry_inches_and_none_are_lost_at_the_turn() -> None:
    # 3657.6 mm are 12 ft; a hair less than half a sixteenth under it still reads 12' 0".
    assert format_length(3657.6, "inch", feet=True) == "12' 0\""
    assert format_length(3657.6 - 0.78, "inch", feet=True) == "12' 0\""
    assert format_length(3657.6 - 0.80, "inch", feet=True) == "11' 11 15/16\""


def test_masses_forces_and_stresses_are_those_of_the_tables() -> None:
    # 1 kg = 2.2046 lb, 1 kN = 224.8 lbf, 1 kN m = 737.6 ft-lbf, 1 ksi = 6.895 MPa (any handbook).
    assert (format_mass(10.0, "inch"), format_mass(10.0, "mm")) == ("22 lb", "10.0 kg")
    assert (format_mass(0.2, "inch"), format_mass(0.2, "mm")) == ("7.1 oz", "200 g")
    assert format_mass(736.0, "inch") == "1623 lb"
    assert format_force(10.0, "inch") == "2248 lbf (10.00 kN)"
    assert format_moment(1.0, "inch") == "738 ft-lbf (1.00 kN m)"
    assert format_stress(248.2, "inch") == "36.0 ksi (248 MPa)"
    assert format_stress(0.5, "inch") == "73 psi (0.5 MPa)"
    assert (format_heat(65.0, "inch"), format_heat(0.0, "inch")) == ("149 °F (65 °C)", "32 °F (0 °C)")


def test_what_is_borne_is_rounded_down_and_what_takes_room_up() -> None:
    # 20 m/s are 44.74 mph; 2001 mm are 78.78 in.
    assert (format_wind(20.0, "inch"), format_wind(20.9, "mm")) == ("44 mph", "20 m/s")
    assert (format_side(2001.0, "inch"), format_side(2001.0, "mm")) == ("6' 7\"", "2.01 m")
    assert (format_run(30_480.0, "inch"), format_run(30_480.0, "mm")) == ("100.0 ft", "30.5 m")
    assert (format_thin(2.54, "inch"), format_thin(2.54, "mm")) == ('0.100" (2.54 mm)', "2.54 mm")
