"""Where things stand in an SVG: lengths with units, transforms and view boxes (SVG 2, chapter 8)."""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

PX = 25.4 / 96  # CSS reference pixel in mm, CSS Values and Units 3, section 5.2
_UNITS = {"": PX, "px": PX, "mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "q": 0.25}
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z]*|%)\s*")
_MOST = 200
Matrix = NDArray[np.float64]


def length(text: str | None, full: float, key: str) -> float:
    """Return a length in user units, which are px; `full` is what 100 % are.

    Raises ValueError for what is no length. Relative units such as em depend on a font, and are refused.
    """
    if not text or text == "auto":
        return 0.0
    match = _LENGTH.fullmatch(text)
    if match is None:
        raise ValueError(f"{key} must be a length")
    if match[2] == "%":
        return float(match[1]) / 100.0 * full
    if match[2].lower() not in _UNITS:
        raise ValueError(f"{key} must be in px, mm, cm, in, pt, pc or q")
    return float(match[1]) * _UNITS[match[2].lower()] / PX


def transform(text: str) -> Matrix:
    """Return the matrix of a list of transforms; raises ValueError for one that is none."""
    whole = np.eye(3)
    parts = text.split(")")
    if parts[-1].strip(" ,\t\r\n") or len(parts) > _MOST:
        raise ValueError("unknown transform")
    for part in parts[:-1]:
        name, sign, inside = part.partition("(")
        values = inside.replace(",", " ").split()
        if not sign or not all(re.fullmatch(_NUMBER, value) for value in values):
            raise ValueError("unknown transform")
        whole = whole @ _one(name.strip(" ,\t\r\n"), [float(value) for value in values])
    return whole


def _one(name: str, v: list[float]) -> Matrix:
    if name == "matrix" and len(v) == 6:
        return np.array([[v[0], v[2], v[4]], [v[1], v[3], v[5]], [0, 0, 1]])
    if name == "translate" and len(v) in (1, 2):
        return np.array([[1, 0, v[0]], [0, 1, v[1] if len(v) > 1 else 0], [0, 0, 1.0]])
    if name == "scale" and len(v) in (1, 2):
        return np.diag([v[0], v[-1], 1.0])
    if name == "rotate" and len(v) in (1, 3):
        c, s = np.cos(np.deg2rad(v[0])), np.sin(np.deg2rad(v[0]))
        x, y = (v[1], v[2]) if len(v) == 3 else (0.0, 0.0)
        return np.array([[c, -s, x - c * x + s * y], [s, c, y - s * x - c * y], [0, 0, 1]])
    if name in {"skewX", "skewY"} and len(v) == 1:
        across = np.array([[1, np.tan(np.deg2rad(v[0])), 0], [0, 1, 0], [0, 0, 1.0]])
        return across if name == "skewX" else across.T
    raise ValueError("unknown transform")


def view(box: list[float], wide: float, high: float, fit: str) -> Matrix:
    """Return the matrix that lays a view box (x, y, width, height) into a viewport from its corner (SVG 2, 8.6).

    >>> view([0, 0, 10, 10], 20, 40, "").tolist()
    [[2.0, 0.0, 0.0], [0.0, 2.0, 10.0], [0.0, 0.0, 1.0]]
    """
    x, y = wide / box[2], high / box[3]
    if "none" not in fit:
        x = y = max(x, y) if "slice" in fit else min(x, y)
    shares = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    at = re.search(r"x(Min|Mid|Max)Y(Min|Mid|Max)", fit)
    left = (shares[at[1]] if at else 0.5) * (wide - box[2] * x)
    down = (shares[at[2]] if at else 0.5) * (high - box[3] * y)
    return np.array([[x, 0.0, left - box[0] * x], [0.0, y, down - box[1] * y], [0.0, 0.0, 1.0]])
