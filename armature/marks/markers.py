"""The marked sheet itself: where its markers stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.edge import CommissionError

Floats = NDArray[np.float64]
_PAGES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
# Side of a marker and its distance from the paper's edge, mm: large enough for a telephone at two metres, inside what
# printers reach.
SIDE, EDGE = 26.0, 9.0
# Squares across a marker, its black border counted.
SQUARES = 6


@dataclass(frozen=True, eq=False)
class MarkedSheet:
    """A sheet of paper: width and height mm, x to the right and y down from its upper left corner; ids (K,) of its
    markers; corners (K, 4, 2) mm of each, clockwise from its upper left."""

    name: str
    width: float
    height: float
    ids: tuple[int, ...]
    corners: Floats

    @property
    def inside(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom, mm, of the room between the markers."""
        gap = EDGE + SIDE + 4.0
        return gap, EDGE, self.width - gap, self.height - EDGE


def marked_sheet(name: str = "A4") -> MarkedSheet:
    """Return the sheet on A4 or Letter paper: three markers down each long side; other ids for each kind of paper.

    Raises CommissionError for another paper.

    >>> marked_sheet("A4").ids, marked_sheet("A4").corners.shape
    ((0, 1, 2, 3, 4, 5), (6, 4, 2))
    """
    if name not in _PAGES:
        raise CommissionError("--paper", f"must be {' or '.join(_PAGES)}", name)
    width, height = _PAGES[name]
    first = 0 if name == "A4" else 6
    tops, lefts = (EDGE, (height - SIDE) / 2, height - EDGE - SIDE), (EDGE, width - EDGE - SIDE)
    corners = [
        [[left, top], [left + SIDE, top], [left + SIDE, top + SIDE], [left, top + SIDE]]
        for top in tops
        for left in lefts
    ]
    return MarkedSheet(name, width, height, tuple(range(first, first + 6)), np.array(corners))


def marker_squares(number: int) -> NDArray[np.bool_]:
    """Return which of the 6 by 6 squares of a marker are black; of the 4 by 4 dictionary with fifty markers."""
    import cv2

    table = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)
    picture = cv2.aruco.generateImageMarker(table, number, SQUARES * 8)
    return np.asarray(picture[4::8, 4::8] < 128)
