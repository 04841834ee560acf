"""What a person reads, and the sheet that all papers are printed on: type, real fractions, dials, codes, fonts."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from armature.papers.book import book, rows_of
from armature.papers.summary import summary_md

if TYPE_CHECKING:
    from armature.papers.fonts import add_fonts, drawable, fitted_size, text_width, write_at
    from armature.papers.press import printed
    from armature.papers.ready import ACCENT, GREY, INK, PALE, Colour, Point, strokes
    from armature.papers.sheet import PAGES, Sheet

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
    "printed",
    "rows_of",
    "strokes",
    "summary_md",
    "text_width",
    "write_at",
]


def __getattr__(name: str) -> Any:
    """Return what draws on paper: the library under it takes a third of a second to load, and many ask for text."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from armature.papers import fonts, press, ready, sheet

    for module in (fonts, press, ready, sheet):
        globals().update({each: getattr(module, each) for each in __all__ if hasattr(module, each)})
    return globals()[name]
