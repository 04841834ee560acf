"""Words on pictures, in the fonts of the papers: each in the first that draws it, shaped, right to left where so."""

from __future__ import annotations

from functools import cache

from PIL import Image, ImageDraw, ImageFont

from armature.typefaces import faces, signs_of

INK, PALE, PAPER = "#2c2a27", "#7d776d", "#f6f3ec"
Run = tuple[str, int]


@cache
def _face(number: int, height: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(faces()[number], height, layout_engine=ImageFont.Layout.RAQM)


@cache
def _runs(text: str) -> tuple[Run, ...]:
    """Return a text in runs (words, number of the font): one where one font draws it all, which keeps order."""
    signs = [signs_of(file) for file in faces()]
    wanted = {sign for sign in text if not sign.isspace()}
    whole = next((number for number, own in enumerate(signs) if wanted <= own), None)
    if whole is not None:
        return ((text, whole),)
    runs: list[Run] = []
    for sign in text:
        number = next((n for n, own in enumerate(signs) if sign in own), runs[-1][1] if runs else 0)
        if runs and (sign.isspace() or runs[-1][1] == number):
            runs[-1] = (runs[-1][0] + sign, runs[-1][1])
        else:
            runs.append((sign, number))
    return tuple(runs)


def lettered(
    sheet: Image.Image, place: tuple[float, float], text: str, height: int, colour: str = INK, anchor: str = "la"
) -> float:
    """Return the width in px of the text that was written on the sheet at a place."""
    draw = ImageDraw.Draw(sheet)
    # All fonts stand on the base line of the first, so that a line of two scripts is level.
    along, high = {"l": 0.0, "m": 0.5, "r": 1.0}[anchor[0]], anchor[1]
    ascent, descent = _face(0, height).getmetrics()
    base = {"a": ascent, "m": (ascent - descent) / 2.0, "s": 0.0, "d": -descent}[high]
    wide = width_of(text, height)
    x = place[0] - along * wide
    for words, number in _runs(text):
        draw.text((x, place[1] + base), words, fill=colour, font=_face(number, height), anchor="ls")
        x += _face(number, height).getlength(words)
    return wide


def width_of(text: str, height: int) -> float:
    """Return the width of a text, px."""
    return float(sum(_face(number, height).getlength(words) for words, number in _runs(text)))


def broken(text: str, height: int, width: float) -> list[str]:
    """Return the text in lines no wider than `width` px, broken between words where there are any."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and width_of(longer, height) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines
