from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from armature.edge import CommissionError
from armature.pictures.solar import sky_at, sun_direction


def _height(direction: np.ndarray) -> float:
    return float(np.degrees(np.arcsin(direction[2])))


@pytest.mark.parametrize("latitude", [-35.0, 0.0, 40.0, 52.0])
@pytest.mark.parametrize(
    ("day", "tilt"),
    [
        # Obliquity of the ecliptic 23.44 deg at the solstices, 0 at the equinoxes (Meeus, Astronomical Algorithms,
        # ch. 22 and 27), and the declination of example 25.a, 13 October 1992: -7.785 deg (values from memory).
        (date(2026, 6, 21), 23.44),
        (date(2026, 12, 21), -23.44),
        (date(2026, 3, 20), 0.0),
        (date(1992, 10, 13), -7.785),
    ],
)
def test_the_noon_sun_stands_at_ninety_less_latitude_plus_declination(latitude: float, day: date, tilt: float) -> None:
    # One formula for all years is within half a degree of declination near an equinox, where it moves 0.4 deg a day.
    height = _height(sun_direction(day, 12.0, latitude))
    assert height == pytest.approx(90.0 - abs(latitude - tilt), abs=0.5)


def test_the_sun_rises_in_the_east_and_sets_in_the_west() -> None:
    morning, evening = (sun_direction(date(2026, 3, 20), hour, 48.0) for hour in (6.2, 17.8))
    assert morning[0] > 0.99
    assert evening[0] < -0.99
    np.testing.assert_allclose(morning * [-1.0, 1.0, 1.0], evening, atol=1e-12)


def test_a_low_sun_is_warmer_and_weaker_than_a_high_one() -> None:
    low, high = (sky_at(date(2026, 6, 21), hour, 50.0).sun_colour for hour in (5.0, 12.0))
    assert (low < high).all()
    assert low[0] / low[2] > 1.5 * high[0] / high[2]


@pytest.mark.parametrize(("hour", "latitude"), [(12.0, 95.0), (25.0, 50.0)])
def test_an_hour_or_a_place_off_the_globe_is_refused_in_one_line(hour: float, latitude: float) -> None:
    with pytest.raises(CommissionError, match=r"pictures\.(hour|latitude)"):
        sky_at(date(2026, 12, 21), hour, latitude)


def test_the_sky_darkens_from_sunset_to_night_and_never_jumps() -> None:
    """Minute by minute through an evening: no step of light larger than a thirtieth of the day's."""
    skies = [sky_at(date(2026, 6, 21), 19.0 + minute / 60.0, 50.0) for minute in range(300)]
    zenith = np.array([sky.zenith.sum() for sky in skies])
    assert (np.diff(zenith) < 1e-9).all()
    assert zenith[-1] < 0.1 * zenith[0]
    assert np.abs(np.diff(zenith)).max() < zenith[0] / 30.0
    assert skies[0].sun_colour.sum() > 0.5
    assert skies[-1].sun_colour.sum() == 0.0
