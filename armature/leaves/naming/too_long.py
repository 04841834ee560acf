"""Names that no leaf takes, and what would fit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from armature.leaves.naming.letters import line_lengths, most_letters

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class TooLong:
    """A name that no leaf takes, and what would fit on the leaf with the most room; undrawn: signs without a font."""

    name: str
    letters: int
    lines: int
    advice: str
    undrawn: str = ""


def too_long(name: str, panels: Floats, heights: Floats, lines: int, fits: bool) -> TooLong:
    """Return what to say of a name without a leaf.

    panels: (D, P, 2) mm of the designs. heights: letter stamps on hand, mm, smallest first. fits: whether it would fit
    a leaf that bears another name.
    """
    length = line_lengths([name], lines)[0]
    if fits:
        return TooLong(name, round(float(length[0])), lines, "every leaf with room for it bears another name already")
    best = max(
        (most_letters((float(w), float(h)), float(heights[0]), lines) for w, h in panels.reshape(-1, 2)),
        key=lambda rl: min(rl[0] * rl[1], length[0]),
    )
    rows, letters = best
    advice = f"at most {letters} letters a line on {rows} line{'s' if rows != 1 else ''} of {heights[0]:.1f} mm letters"
    return TooLong(name, round(float(length[0])), rows, advice + _shorter(name, rows, letters))


def without_font(name: str, lines: int, signs: str) -> TooLong:
    """Return what to say of a name whose signs no font on hand draws: it could neither be set out nor read back.

    >>> without_font("Ada \U0001f333", 3, "\U0001f333").advice
    'no font on hand draws \U0001f333: add one, or write the name in other letters'
    """
    advice = f"no font on hand draws {' '.join(signs)}: add one, or write the name in other letters"
    return TooLong(name, round(float(line_lengths([name], lines)[0][0])), lines, advice, signs)


def _shorter(name: str, rows: int, letters: int) -> str:
    """A form with initials that would fit, where there is one; more than four words are no person's name."""
    words = name.split()
    if len(words) > 4:
        return ""
    for keep in range(len(words) - 1):
        short = " ".join([w[0] + "." for w in words[: keep + 1]] + words[keep + 1 :])
        if rows and line_lengths([short], rows)[0][-1] <= letters:
            return f"; {short!r} would fit"
    return ""
