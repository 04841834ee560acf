"""Where the sun stands by date, hour and latitude, and the sky that goes with it.

Axes: x east, y north, z up. Series for the declination and the equation of time by Spencer, "Fourier series
representation of the position of the sun", Search 2 (1971) 172; good to about 0.05 degrees and half a minute.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np

from armature.edge import CommissionError
from armature.pictures.parts import linear
from armature.pictures.shade import Sky, studio_sky
from armature.tree import Floats

# Sun under which no shadow is seen any more, degrees over the horizon.
LOWEST = 2.0
# Degrees above it through which its light fades.
_HAZE = 3.0


def sun_direction(day: date, hour: float, latitude: float) -> Floats:
    """Return the unit direction (3,) toward the sun at an hour of solar time (12 is noon) and a latitude in degrees.

    >>> import numpy as np
    >>> bool(sun_direction(date(2026, 6, 21), 12.0, 50.0)[1] < 0)
    True
    """
    if not -90.0 <= latitude <= 90.0:
        raise CommissionError("pictures.latitude", "must be from -90 to 90 degrees", latitude)
    if not 0.0 <= hour <= 24.0:
        raise CommissionError("pictures.hour", "must be from 0 to 24", hour)
    turn, tilt, place = np.radians(15.0 * (hour - 12.0)), _declination(day), np.radians(latitude)
    east = -np.cos(tilt) * np.sin(turn)
    north = np.cos(place) * np.sin(tilt) - np.sin(place) * np.cos(tilt) * np.cos(turn)
    up = np.sin(place) * np.sin(tilt) + np.cos(place) * np.cos(tilt) * np.cos(turn)
    return np.array([east, north, up])


def sky_at(day: date, hour: float, latitude: float) -> Sky:
    """Return the sky at that hour: the lower the sun, the warmer and weaker; dusk and night where it is down."""
    sun = sun_direction(day, hour, latitude)
    height = float(np.degrees(np.arcsin(sun[2])))
    if height < LOWEST:
        return _dusk(height, sun)
    usual = studio_sky(sun)
    # Air in the way, relative to a sun overhead (Kasten and Young, Applied Optics 28, 1989, constants from memory).
    air = 1.0 / (sun[2] + 0.50572 * (height + 6.07995) ** -1.6364)
    left = np.exp(-np.array([0.055, 0.105, 0.21]) * (air - 1.4))
    dusk = float(np.clip((18.0 - height) / 16.0, 0.0, 1.0))
    return replace(
        usual,
        # A sun that sinks into the haze throws no shadow at the last.
        sun_colour=usual.sun_colour * left * min((height - LOWEST) / _HAZE, 1.0),
        horizon=usual.horizon * (1.0 - 0.35 * dusk) + dusk * linear("e0a67e") * 0.35,
        zenith=usual.zenith * (1.0 - 0.45 * dusk),
    )


def _dusk(height: float, sun: Floats) -> Sky:
    """The sky with the sun at a height in degrees below `LOWEST`: between colours chosen by eye at the ends of civil
    and of astronomical dusk (6 and 18 degrees below the horizon), as an eye sees them that is used to less light.
    """
    heights = [-18.0, -6.0, LOWEST]
    last = studio_sky(sun).horizon * 0.65 + linear("e0a67e") * 0.35
    zenith = np.stack([linear("0d1426") * 0.6, linear("33456b") * 0.7, studio_sky(sun).zenith * 0.55])
    horizon = np.stack([linear("232838") * 0.6, linear("958b95") * 0.6, last])
    exposure = float(np.interp(height, heights, [1.0, 0.95, 0.82]))
    # Light falls off by shares, not by steps.
    at = [np.exp([np.interp(height, heights, np.log(each[:, k])) for k in range(3)]) for each in (zenith, horizon)]
    return Sky(at[0], at[1], 0.35 * at[1], np.zeros(3), sun, exposure)


def _declination(day: date) -> float:
    """Return how far north of the equator the sun stands overhead, in radians."""
    g = 2.0 * np.pi * (day.timetuple().tm_yday - 1) / 365.0
    return float(
        0.006918
        - 0.399912 * np.cos(g)
        + 0.070257 * np.sin(g)
        - 0.006758 * np.cos(2 * g)
        + 0.000907 * np.sin(2 * g)
        - 0.002697 * np.cos(3 * g)
        + 0.001480 * np.sin(3 * g)
    )
