from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from armature.edge import (
    ArmatureError,
    Kind,
    System,
    UnitError,
    exact_length,
    exact_number,
    format_length,
    parse,
    parse_angle,
    parse_length,
    parse_speed,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1/4 in", 6.35),
        ("1/4in", 6.35),
        ("1 1/4 in", 31.75),
        ("1-1/4 in", 31.75),
        ("1 1 / 4 inches", 31.75),
        ("2 1/2 in", 63.5),
        ("5/4 in", 31.75),
        ("12 ft 6 in", 3810.0),
        ("12 ft 6 1/2 in", 3822.7),
        ("12' 6\"", 3810.0),
        ("12'6\"", 3810.0),
        ("12'-6 1/2\"", 3822.7),
        ("12ft6in", 3810.0),
        ("12′ 6″", 3810.0),  # noqa: RUF001 - typographic primes are what a phone keyboard makes
        ("12' 6''", 3810.0),
        ("¼ in", 6.35),
        ("1¼ in", 31.75),
        ("1 ¼ in", 31.75),
        ("1 yd", 914.4),
        ("1 yd 2 ft 3 in", 914.4 + 609.6 + 76.2),
        ("6 mm", 6.0),
        ("6MM", 6.0),
        ("3.5 m", 3500.0),
        (".5 m", 500.0),
        ("2.5 cm", 25.0),
        ("1 m 20 cm 5 mm", 1205.0),
        ("  3.5  m  ", 3500.0),
        ("3.5\u00a0m", 3500.0),
        ("0 mm", 0.0),
        ("-3 ft 6 in", -1066.8),
        ("−40 mm", -40.0),
        ("1 foot", 304.8),
        ("2 metres", 2000.0),
    ],
)
def test_lengths_are_read_as_people_write_them(text: str, mm: float) -> None:
    assert parse_length(text) == mm


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("6", "has no unit after '6'"),
        ("12 ft 6", "has no unit after '6'"),
        ("5'11", "has no unit after '11'"),
        ("1 1/4", "has no unit after '1 1/4'"),
        ("", "is empty"),
        ("   ", "is empty"),
        ("in", "cannot be read"),
        ("tall", "cannot be read"),
        ("six mm", "cannot be read"),
        ("2,5 cm", "comma"),
        ("1,250 mm", "comma"),
        ("1 5/4 in", "after a whole number"),
        ("1 4/4 in", "after a whole number"),
        ("1/0 in", "divides by zero"),
        ("1.5 1/4 in", "has no unit after '1.5'"),
        ("12 6 in", "has no unit after '12'"),
        ("12 ft 14 in", "that is one 'ft' or more"),
        ("12 ft 12 in", "that is one 'ft' or more"),
        ("6 in 12 ft", "larger unit first"),
        ("6 in 6 in", "larger unit first"),
        ("3 ft 20 mm", "both of one system"),
        ("1 m 1 in", "both of one system"),
        ("12.5 ft 6 in", "broken number"),
        ("1/2 ft 3 in", "broken number"),
        ("3 furlongs", "unknown unit 'furlongs'"),
        ("3 deg", "a unit of angle"),
        ("3 mph", "a unit of speed"),
        ("nan mm", "finite"),
        ("inf m", "finite"),
        ("-inf m", "finite"),
        ("1e3 mm", "unknown unit 'e'"),
        ("12' -6\"", "cannot be read"),
        ("12'-", "ends in a dash"),
        ("--6 mm", "cannot be read"),
        ("6 mm!", "cannot be read"),
        ("+6 mm", "cannot be read"),
        ("1/2/3 in", "cannot be read"),
        ("1" * 41 + " mm", "more than 40 digits"),
        ("9" * 5000 + "/7 in", "more than 40 digits"),
        ("٣ mm", "cannot be read"),
        ("6 mm\n7 in", "larger unit first"),
    ],
)
def test_a_length_with_no_or_two_readings_is_refused(text: str, says: str) -> None:
    with pytest.raises(UnitError, match=says):
        parse_length(text)


def test_a_refusal_is_one_line_and_shows_how_to_write_it() -> None:
    with pytest.raises(ArmatureError) as refusal:
        parse_length("16")
    assert "'12 ft 6 in'" in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_angles_are_degrees() -> None:
    assert parse_angle("50 deg") == parse_angle("50°") == parse_angle("50 degrees") == 50.0
    assert parse_angle("1 rad") == pytest.approx(np.degrees(1.0), rel=1e-15)  # one rounding of 180 over pi
    with pytest.raises(UnitError, match="a unit of length"):
        parse_angle("50 mm")


@pytest.mark.parametrize(
    ("text", "expected"),
    [("26 m/s", 26.0), ("90 km/h", 25.0), ("115 mph", 51.4096), ("100 kn", 1852 / 36), ("10 ft/s", 3.048)],
)
def test_speeds_are_metres_a_second(text: str, expected: float) -> None:
    # 1 mph = 0.44704 m/s exactly, 1 knot = 1852 m/h (NIST SP 811, appendix B.8).
    assert parse_speed(text) == pytest.approx(expected, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "kind", "expected", "rel"),
    [
        ("1 lb", "mass", 0.45359237, 1e-15),
        ("1 lb 8 oz", "mass", 0.680388555, 1e-15),
        ("2 t", "mass", 2000.0, 1e-15),
        ("1 lbf", "force", 4.4482216152605, 1e-15),
        ("1 kip", "force", 4448.2216152605, 1e-15),
        ("24.5 kN", "force", 24500.0, 1e-15),
        ("36 ksi", "stress", 248.21126, 1e-7),  # NIST SP 811 prints 1 ksi = 6.894757 MPa, seven figures
        ("1 psf", "stress", 47.88026e-6, 1e-7),  # NIST SP 811 prints 47.88026 Pa
        ("355 N/mm2", "stress", 355.0, 1e-15),
        ("2.5 %", "share", 0.025, 1e-15),
    ],
)
def test_other_quantities_agree_with_published_factors(text: str, kind: Kind, expected: float, rel: float) -> None:
    assert parse(text, kind) == pytest.approx(expected, rel=rel)


@given(st.integers(0, 400), st.integers(0, 11), st.integers(0, 63))
def test_feet_inches_and_fractions_add_up_exactly(feet: int, inches: int, part: int) -> None:
    text = f"{feet} ft {inches} {part}/64 in"
    assert parse_length(text) == float((feet * 12 + inches + Fraction(part, 64)) * Fraction(254, 10))


@given(st.floats(-1e9, 1e9), st.sampled_from(["inch", "mm"]))
def test_an_exact_length_reads_back_as_the_same_float(mm: float, system: System) -> None:
    text = exact_length(mm, system)
    if len(text) < 16:  # the reader refuses more than 40 digits
        assert parse_length(text) == mm


@given(st.integers(0, 64 * 12 * 100))
def test_every_sixty_fourth_of_an_inch_is_written_in_inches(part: int) -> None:
    mm = float(Fraction(part, 64) * Fraction(254, 10))
    text = exact_length(mm, "inch")
    assert not text.endswith("mm")
    assert parse_length(text) == mm


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_an_exact_number_reads_back_as_the_same_float(value: float) -> None:
    assert float(exact_number(value)) == value
    assert "e" not in exact_number(value)


@pytest.mark.parametrize(
    ("mm", "system", "fine", "feet", "text"),
    [
        (312.7, "inch", False, False, '12 5/16"'),
        (6.35, "inch", False, False, '1/4"'),
        (25.4, "inch", False, False, '1"'),
        (0.0, "inch", False, False, '0"'),
        (7.14375, "inch", True, False, '9/32"'),
        (7.14375, "inch", False, False, '5/16"'),  # 4.5 sixteenths: halves round up
        (3810.0, "inch", False, True, "12' 6\""),
        (3810.0, "inch", False, False, '150"'),
        (3657.6, "inch", False, True, "12' 0\""),
        (304.7, "inch", False, True, "1' 0\""),  # rounds up to a foot before it is split
        (312.7, "mm", False, False, "313 mm"),
        (312.7, "mm", True, False, "312.5 mm"),
        (312.2, "mm", True, False, "312 mm"),
        (-25.4, "inch", False, False, '-1"'),
        (-0.4, "mm", False, False, "0 mm"),
    ],
)
def test_lengths_are_printed_in_shop_steps(mm: float, system: System, fine: bool, feet: bool, text: str) -> None:
    assert format_length(mm, system, fine=fine, feet=feet) == text


@given(st.floats(0, 1e6), st.sampled_from(["inch", "mm"]), st.booleans(), st.booleans())
def test_what_is_printed_reads_back_within_half_a_step(mm: float, system: System, fine: bool, feet: bool) -> None:
    step = (25.4 / 16 if system == "inch" else 1.0) / (2 if fine else 1)
    read_back = parse_length(format_length(mm, system, fine=fine, feet=feet))
    assert abs(read_back - mm) <= step / 2 * (1 + 1e-9)  # the slack is float rounding near the half
    # A printed length is a whole number of the shop's steps.
    assert read_back / step == pytest.approx(round(read_back / step), abs=1e-6)
