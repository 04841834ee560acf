"""What a person reads, and the sheet that all papers are printed on: type, real fractions, dials, codes, fonts."""

from __future__ import annotations

from armature.papers.book import book, rows_of
from armature.papers.fonts import add_fonts, drawable, fitted_size, text_width, write_at
from armature.papers.sheet import PAGES, Sheet
from armature.papers.strokes import ACCENT, GREY, INK, PALE, Colour, Point, strokes
from armature.papers.summary import summary_md

__all__ = [
    "ACCENT",
    "GREY",
    "INK",
    "PAGES",
    "PALE",
    "Colour",
    "Point",
    "Sheet",
    "add_fonts",
    "book",
    "drawable",
    "fitted_size",
    "rows_of",
    "strokes",
    "summary_md",
    "text_width",
    "write_at",
]
