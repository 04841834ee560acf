"""Fonts in a PDF, taken into it only where a name needs them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from armature.edge import FileError
from armature.papers.press import add_face
from armature.typefaces import BOLD, OTHERS, PLAIN, font_file, signs_of, thinned

if TYPE_CHECKING:
    from fpdf import FPDF

BOX = "\u25af"
# Below this stand the Latin letters whole, accents and all: they need neither shaping nor a second font.
_SHAPED = "\u0250"


def add_fonts(pdf: FPDF, texts: Iterable[str]) -> list[str]:
    """Add the fonts that the texts need to a PDF, the plain one set; return the signs that no font on hand can draw.

    Raises FileError where even the plain font is missing.
    """
    plain = font_file(*PLAIN[1:])
    if plain is None:
        raise FileError(PLAIN[2], "font not found; install matplotlib, which brings it")
    add_face(pdf, "plain", "", plain)
    add_face(pdf, "plain", "B", font_file(*BOLD[1:]) or plain)
    left = {sign for text in texts for sign in text if not sign.isspace()} - signs_of(plain)
    taken = []
    for family, package, pattern in OTHERS:
        file = font_file(package, pattern) if left else None
        if file is not None and left & signs_of(file):
            add_face(pdf, family, "", thinned(file, left))
            taken.append(family)
            left -= signs_of(file)
    pdf.set_font("plain", size=10)
    if taken:
        pdf.set_fallback_fonts(taken, exact_match=False)
    pdf.set_text_shaping(True)
    return sorted(left)


def write_at(pdf: FPDF, x: float, y: float, text: str) -> None:
    """Write text from x mm with its baseline at y mm, each sign in the first font that has it."""
    if _unshaped(text):
        pdf.set_text_shaping(False)
        pdf.text(x, y, text)
        pdf.set_text_shaping(True)
        return
    # `text` of the library knows no second fonts; a cell does, and sets its baseline 0.3 of the size under its middle.
    pdf.c_margin = 0.0
    pdf.set_xy(x, y - 0.8 * pdf.font_size)
    pdf.cell(pdf.get_string_width(text) + 1.0, pdf.font_size, text)


def text_width(pdf: FPDF, text: str) -> float:
    """Return how wide `write_at` sets a text, mm: letters that need no shaping are measured without it, much sooner."""
    if not _unshaped(text):
        return float(pdf.get_string_width(text))
    font = pdf.current_font
    assert font is not None
    return float(font.get_text_width(text, pdf.font_size_pt, None)[1]) / pdf.k


def _unshaped(text: str) -> bool:
    return text.isprintable() and all(sign < _SHAPED for sign in text)


def drawable(text: str, missing: Sequence[str]) -> str:
    """Return the text with a box for each sign that no font draws, so that its want is seen.

    >>> drawable("Ada", ["d"])
    'A▯a'
    """
    return "".join(BOX if sign in missing else sign for sign in text) if missing else text


def fitted_size(pdf: FPDF, text: str, room: float) -> None:
    """Set the font smaller where the text would be longer than the room, mm."""
    wide = text_width(pdf, text)
    if wide > room:
        pdf.set_font_size(pdf.font_size_pt * room / wide)
