"""Words on pictures."""

from __future__ import annotations

from functools import cache

from PIL import Image, ImageDraw, ImageFont

INK, PALE, PAPER = "#2c2a27", "#7d776d", "#f6f3ec"


@cache
def face(height: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """Return the type of a height in px; it comes with the imaging library and needs no font of the machine."""
    return ImageFont.load_default(height)


def lettered(
    sheet: Image.Image, place: tuple[float, float], text: str, height: int, colour: str = INK, anchor: str = "la"
) -> float:
    """Return the width in px of the text that was written on the sheet at a place."""
    draw = ImageDraw.Draw(sheet)
    draw.text(place, text, fill=colour, font=face(height), anchor=anchor)
    return float(draw.textlength(text, font=face(height)))


def broken(text: str, height: int, width: float) -> list[str]:
    """Return the text in lines no wider than `width` px, broken between words where there are any."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if line and face(height).getlength(longer) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line] if line else lines
