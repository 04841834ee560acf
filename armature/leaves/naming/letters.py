"""Letter stamps: how large a name can be stamped on a panel, and how its lines break."""

from __future__ import annotations

import tomllib
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
_WIDE = 1.25
# Letters that are struck as a plain one and given their stroke by the chisel; they are no letter and mark to Unicode.
_STROKED = str.maketrans({"Ø": "O", "Ł": "L", "Đ": "D", "Ð": "D", "Ħ": "H", "Ŧ": "T"})


@dataclass(frozen=True)
class Setting:
    """How one name is stamped: letter height in mm, its lines, and the method: stamp, stamp and accent, or chase."""

    height: float
    lines: tuple[str, ...]
    method: str


def stamp_heights(least: float, most: float, stamps: str = "inch") -> Floats:
    """Return the heights in mm of the letter stamps from `least` to `most` mm, smallest first; stamps: "inch" or "mm".

    >>> stamp_heights(3.0, 6.5).round(2).tolist()
    [3.18, 3.97, 4.76, 6.35]
    """
    table = _table()
    heights = np.array(table["heights_in"]) * 25.4 if stamps == "inch" else np.array(table["heights_mm"])
    return np.asarray(heights[(heights >= least - 1e-6) & (heights <= most + 1e-6)])


def method(text: str) -> str:
    """Return how a name can be struck: `stamp`, `stamp and accent`, or `chase` where no letter stamps are sold for it.

    >>> [method(t) for t in ("Ada Love", "Zoë", "Søren", "王小明")]
    ['stamp', 'stamp and accent', 'stamp and accent', 'chase']
    """
    apart = unicodedata.normalize("NFD", text.upper())
    plain = apart.translate(_STROKED)
    accents = plain != apart
    for sign in plain:
        if unicodedata.combining(sign):
            accents = True
        elif not sign.isspace() and sign not in _table()["letters"]:
            return "chase"
    return "stamp and accent" if accents else "stamp"


def stamped_text(text: str) -> str:
    """Return the name as struck: capitals where letter stamps serve, as written where it is chased."""
    return text if method(text) == "chase" else text.upper()


def advance(text: str) -> float:
    """Return the length of a line in letter heights: one a letter, more for full-width signs, none for marks.

    >>> advance("ABC")
    3.0
    """
    if text.isascii():
        return float(len(text)) * float(_table()["advance"])
    total = 0.0
    for sign in text:
        if unicodedata.category(sign) not in {"Mn", "Me", "Cf"}:
            total += _WIDE if unicodedata.east_asian_width(sign) in "WF" else 1.0
    return total * float(_table()["advance"])


@lru_cache(maxsize=200_000)
def broken(text: str, lines: int) -> tuple[str, ...]:
    """Return the text on at most `lines` lines, the longest as short as can be; broken at spaces and after hyphens.

    >>> broken("Ada Byron Lovelace", 2)
    ('Ada Byron', 'Lovelace')
    """
    words = _words(text)
    best: dict[tuple[int, int], tuple[float, float, tuple[str, ...]]] = {}

    def rest(start: int, left: int) -> tuple[float, float, tuple[str, ...]]:
        """Longest line, sum of squares (for even lines), and lines of the words from `start` on."""
        if (start, left) not in best:
            options: list[tuple[float, float, tuple[str, ...]]] = []
            for end in range(start + 1, len(words) + 1) if left > 1 else [len(words)]:
                line = "".join(words[start:end]).strip()
                wide = advance(line)
                if end == len(words):
                    options.append((wide, wide**2, (line,)))
                else:
                    most, squares, more = rest(end, left - 1)
                    options.append((max(wide, most), wide**2 + squares, (line, *more)))
            best[start, left] = min(options, key=lambda o: (o[0], len(o[2]), o[1]))
        return best[start, left]

    return rest(0, lines)[2]


def _words(text: str) -> list[str]:
    """Words with the space or hyphen that follows them; a script without spaces may break at any sign."""
    if " " not in text and any(unicodedata.east_asian_width(s) == "W" for s in text):
        return list(text)
    words, word = [], ""
    for sign in text:
        word += sign
        if sign in " -" and word.strip(" -"):
            words.append(word)
            word = ""
    return [*words, word] if word else words


def line_lengths(texts: Sequence[str], lines: int) -> Floats:
    """Return the longest line in letter heights when each text stands on at most 1 .. `lines` lines: (N, lines)."""
    known: dict[str, list[float]] = {}
    rows = []
    for text in texts:
        struck = stamped_text(text)
        if struck not in known:
            known[struck] = [max(advance(line) for line in broken(struck, k)) for k in range(1, lines + 1)]
        rows.append(known[struck])
    return np.array(rows, dtype=np.float64).reshape(len(texts), lines)


def line_depths(lines: int) -> Floats:
    """Return the depth of 1 .. `lines` lines in letter heights: (lines,)."""
    pitch = float(_table()["line_pitch"])
    return np.asarray(1.0 + pitch * np.arange(lines), dtype=np.float64)


def letter_heights(lengths: Floats, panels: Floats, heights: Floats) -> Floats:
    """Return the largest stamp height in mm for each name on each panel: (N, D), zero where none fits.

    lengths: (N, K) as from `line_lengths`. panels: (D, P, 2) width and height in mm of the P panels of each design,
    zeros where there are fewer, or (D, 2) for one each. heights: stamps on hand, ascending.
    """
    depths = line_depths(lengths.shape[1])
    room = np.zeros((len(lengths), len(panels)))
    for panel in panels.reshape(len(panels), -1, 2).transpose(1, 2, 0):
        for k in range(lengths.shape[1]):
            room = np.maximum(room, np.minimum(panel[0] / lengths[:, k, None], panel[1] / depths[k]))
    steps: Floats = np.concatenate([np.zeros(1), heights])
    return np.asarray(steps[np.searchsorted(heights, room + 1e-9, side="right")])


def setting(text: str, panel: tuple[float, float], heights: Floats, lines: int) -> Setting | None:
    """Return how a name is stamped on a panel (width, height) mm: the largest letters, on the fewest lines for them."""
    struck = stamped_text(text)
    best: Setting | None = None
    for k in range(1, lines + 1):
        parts = broken(struck, k)
        room = min(panel[0] / max(advance(p) for p in parts), panel[1] / line_depths(k)[len(parts) - 1])
        fits = heights[heights <= room + 1e-9]
        if len(fits) and (best is None or fits[-1] > best.height + 1e-9):
            best = Setting(float(fits[-1]), parts, method(text))
    return best


def most_letters(panel: tuple[float, float], height: float, lines: int) -> tuple[int, int]:
    """Return how many lines of how many letters of a height a panel (width, height) mm takes.

    >>> most_letters((40.0, 10.0), 3.2, 3)
    (2, 12)
    """
    rows = int(np.searchsorted(line_depths(lines) * height, panel[1] + 1e-9, side="right"))
    return rows, int(panel[0] / (height * float(_table()["advance"])) + 1e-9)


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(files("armature.data").joinpath("leaf_letters.toml").read_text(encoding="utf-8"))
