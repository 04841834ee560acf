"""Directions on the ground as a compass says them: degrees clockwise from north, and the word for it.

x goes east and y north; where site north differs, the setting-out sheet says so.
"""

from __future__ import annotations

from math import atan2, degrees

WORDS = ("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW")


def bearing(x: float, y: float) -> float:
    """Return the bearing of a direction, deg from 0 to under 360, clockwise from north.

    >>> bearing(1.0, 0.0), bearing(0.0, -1.0), bearing(-1.0, 1.0)
    (90.0, 180.0, 315.0)
    """
    return degrees(atan2(x, y)) % 360.0


def compass_word(degrees_from_north: float) -> str:
    """Return the nearest of sixteen compass words.

    >>> compass_word(244.0), compass_word(359.0)
    ('WSW', 'N')
    """
    return WORDS[round(degrees_from_north / 22.5) % 16]


def bearing_text(degrees_from_north: float) -> str:
    """Return a bearing in three figures with its word.

    >>> bearing_text(244.4), bearing_text(359.7)
    ('244° WSW', '000° N')
    """
    whole = round(degrees_from_north) % 360
    return f"{whole:03d}° {compass_word(whole)}"
