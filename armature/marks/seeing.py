"""Photographs of a marked sheet: read, its markers found, and the sheet laid flat."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armature.edge import FileError, read_bytes
from armature.marks.markers import MarkedSheet

Floats = NDArray[np.float64]
Picture = NDArray[np.uint8]
# Markers of six that must be seen, and how far from their places their corners may come to lie, mm.
LEAST, CLOSE = 4, 1.5
_LARGEST = 80_000_000
# A good camera has 50 million.
_MOST_PIXELS = 150_000_000
_UNREADABLE = "is no photograph that can be read: JPEG or PNG, at most 150 megapixels"


@dataclass(frozen=True, eq=False)
class Flat:
    """The sheet seen from straight above: picture (H, W, 3), pixels a mm; error: mm, by which markers miss their places
    at most."""

    picture: Picture
    scale: float
    error: float

    def mm(self, pixels: Floats) -> Floats:
        """Return places on the sheet, mm, of places in the picture, (N, 2) x and y from the middle of pixel 0, 0."""
        return np.asarray((pixels + 0.5) / self.scale)


def _vision(path: Path) -> Any:
    try:
        import cv2
    except ImportError:
        raise FileError(path, "needs the extra `measure` to be looked at: pip install 'armature[measure]'") from None
    return cv2


def read_photo(path: Path) -> Picture:
    """Return a photograph as (H, W, 3), blue first; raises FileError where it is none."""
    cv2 = _vision(path)
    content = read_bytes(path, _LARGEST, "photograph")
    wide, high = _size(path, content)
    if wide * high > _MOST_PIXELS:
        raise FileError(path, f"is larger than {_MOST_PIXELS // 1_000_000} megapixels: {wide} x {high}")
    picture: Any = cv2.imdecode(np.frombuffer(content, dtype=np.uint8), cv2.IMREAD_COLOR)
    if picture is None:
        raise FileError(path, _UNREADABLE)
    return np.asarray(picture)


def _size(path: Path, content: bytes) -> tuple[int, int]:
    """Return the width and height that a photograph's head tells: a small file may unfold to more than memory holds."""
    from PIL import Image

    try:
        with warnings.catch_warnings(action="ignore"), Image.open(BytesIO(content), formats=["JPEG", "PNG"]) as head:
            return head.size
    except Exception:
        # The reader has errors of its own for a picture that is too large, too.
        raise FileError(path, _UNREADABLE) from None


def photo_bytes(picture: Picture) -> bytes:
    """Return a picture as PNG."""
    import cv2

    return bytes(cv2.imencode(".png", picture)[1].tobytes())


def grey(picture: Picture) -> Picture:
    """Return a picture in shades of grey, (H, W)."""
    import cv2

    return np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY))


def found_markers(picture: Picture) -> dict[int, Floats]:
    """Return the corners (4, 2) in pixels of each marker that is seen, clockwise from its upper left, by its id."""
    import cv2

    rules = cv2.aruco.DetectorParameters()
    rules.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), rules)
    corners, ids, _ = detector.detectMarkers(grey(picture))
    markers: dict[int, Floats] = {}
    numbers = np.ravel(ids).tolist() if len(corners) else []
    for number, four in zip(numbers, corners, strict=True):
        markers.setdefault(int(number), np.asarray(four, dtype=np.float64).reshape(4, 2))
    return markers


def flattened(picture: Picture, sheet: MarkedSheet, path: Path, scale: float = 6.0) -> Flat:
    """Return the sheet laid flat at `scale` pixels a mm.

    At least four of its six markers must be seen; from their corners comes the one perspective that fits them best
    (Hartley and Zisserman, Multiple View Geometry, 2004, section 4.1, from memory). Raises FileError where too few are
    seen, or where they do not lie in one plane.
    """
    cv2 = _vision(path)
    seen = found_markers(picture)
    mine = [k for k, number in enumerate(sheet.ids) if number in seen]
    if len(mine) < LEAST:
        rule = f"shows {len(mine)} of the six markers of the {sheet.name} sheet, at least {LEAST} are needed"
        raise FileError(path, rule)
    places = sheet.corners[mine].reshape(-1, 2)
    pixels = np.concatenate([seen[sheet.ids[k]] for k in mine])
    turn, _ = cv2.findHomography(pixels, places * scale - 0.5, 0)
    back = cv2.perspectiveTransform(pixels[None], turn)[0] if turn is not None else None
    error = float(np.max(np.hypot(*((back + 0.5) / scale - places).T))) if back is not None else np.inf
    if error > CLOSE:
        raise FileError(
            path, f"shows markers up to {error:.1f} mm off their places: lay the sheet flat, use no wide lens"
        )
    size = round(sheet.width * scale), round(sheet.height * scale)
    flat = cv2.warpPerspective(picture, turn, size, flags=cv2.INTER_AREA, borderValue=(255, 255, 255))
    return Flat(np.asarray(flat), scale, error)
