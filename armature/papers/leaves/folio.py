"""Pages of words and tables for the leaf maker: headings, paragraphs, rows that run on with their head."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from armature.edge import System
from armature.papers import GREY, INK, PAGES, PALE, Sheet

EDGE = 14.0
_FOOT = 14.0
# At spaces, but not before the fraction of a number: 3 3/4 is one length.
_BREAK = re.compile(r"(?<!\d)\s+|\s+(?!\d+/\d)")


class Folio(Sheet):
    """Pages under one title; `down` is where the next line goes, mm from the top."""

    def __init__(self, title: str, head: str, units: System, texts: Iterable[str] = ()) -> None:
        self.heading_words = head
        self.size = "Letter" if units == "inch" else "A4"
        super().__init__(self.size, f"{title}: {head}", [title, head, *texts])
        self.job = title
        self.down = 0.0
        self.next_page()

    @property
    def room(self) -> float:
        """Width between the edges, mm."""
        return PAGES[self.size][0] - 2.0 * EDGE

    @property
    def low(self) -> float:
        """Lowest place for a line, mm from the top."""
        return PAGES[self.size][1] - _FOOT

    def next_page(self, head: str | None = None) -> None:
        """Begin a page."""
        self.heading_words = head or self.heading_words
        self.add_page()
        self.ink(INK)
        self.fitted(EDGE, 17.0, self.heading_words, 16, self.room * 0.62, bold=True)
        self.ink(GREY)
        self.fitted(EDGE + self.room * 0.64, 17.0, self.job, 10, self.room * 0.36 - 9.0)
        self.words(EDGE + self.room, 17.0, str(self.page), 10, align="R")
        self.rule(EDGE, 20.0, self.room, 0.4)
        self.down = 27.0

    def need(self, height: float) -> None:
        """Begin a page where less than so many mm are left."""
        if self.down + height > self.low:
            self.next_page()

    def heading(self, text: str) -> None:
        """Write a heading."""
        self.need(18.0)
        self.down += 3.0
        self.ink(INK)
        self.fitted(EDGE, self.down + 2.0, text, 13, self.room, bold=True)
        self.down += 8.5

    def say(self, text: str, size: float = 10.5, indent: float = 0.0, mark: str = "", grey: bool = False) -> None:
        """Write a paragraph, broken at spaces; mark: a sign before its first line."""
        for number, line in enumerate(self.broken(text, size, self.room - indent)):
            self.need(size * 0.47)
            self.ink(GREY if grey else INK)
            if mark and number == 0:
                self.words(EDGE + indent - 5.0, self.down, mark, size, bold=True)
            self.words(EDGE + indent, self.down, line, size)
            self.down += size * 0.47
        self.down += 1.2

    def steps(self, texts: Sequence[str], size: float = 10.5) -> None:
        """Write numbered steps."""
        for number, text in enumerate(texts, 1):
            self.say(text, size, 6.0, f"{number}")

    def broken(self, text: str, size: float, width: float) -> list[str]:
        """Return a text's lines of at most `width` mm."""
        lines: list[str] = []
        for word in _BREAK.split(text.strip()):
            if lines and self.width(f"{lines[-1]} {word}", size) <= width:
                lines[-1] += f" {word}"
            else:
                lines.append(word)
        return lines

    def grid(
        self, heads: Sequence[str], widths: Sequence[float], rows: Iterable[Sequence[str]], size: float = 9.5,
        right: Sequence[int] = (), high: float = 0.0,
    ) -> None:  # fmt: skip
        """Write rows of cells; widths are shares of the page. right: columns set to the right. high: of a row, mm.

        A cell that is `[ ]` is a box to tick.
        """
        edges = [EDGE + self.room * sum(widths[:k]) / sum(widths) for k in range(len(widths) + 1)]
        step = high or size * 0.56
        self.need(3 * step + 4.0)
        self._heads(heads, edges, right)
        for row in rows:
            lines = [self._lines(cell, edges[k + 1] - edges[k] - 2.0, size) for k, cell in enumerate(row)]
            tall = step + (max(len(each) for each in lines) - 1) * size * 0.42
            if self.down + tall > self.low:
                self.next_page()
                self._heads(heads, edges, right)
            for k, each in enumerate(lines):
                self._cell(each, edges[k], edges[k + 1] - edges[k] - 2.0, size, k in right)
            self.down += tall
            self.rule(EDGE, self.down - step * 0.64, self.room, 0.1, PALE)
        self.down += 3.0

    def _lines(self, cell: str, room: float, size: float) -> list[str]:
        """A cell's lines: one where it fits with a little less size, not under 9 points, else broken at spaces."""
        least = min(max(size / 1.12, 9.0), size)
        return [cell] if self.width(cell, least) <= room else self.broken(cell, size, room)

    def _cell(self, lines: Sequence[str], x: float, room: float, size: float, right: bool) -> None:
        self.ink(INK)
        if lines[:1] == ["[ ]"]:
            self.tick(x, self.down - 3.0, 3.6, 0.3)
            return
        for number, line in enumerate(lines):
            if line:
                at = self.down + number * size * 0.42
                self.fraction(x + (room if right else 0.0), at, line, size, align="R" if right else "L", room=room)

    def _heads(self, heads: Sequence[str], edges: Sequence[float], right: Sequence[int]) -> None:
        self.ink(GREY)
        for k, head in enumerate(heads):
            self.fitted(edges[k], self.down, head, 9.0, edges[k + 1] - edges[k] - 2.0, align="R" if k in right else "L")
        self.rule(EDGE, self.down + 1.6, self.room, 0.3)
        self.down += 6.4

    def saved(self, file: Path) -> None:
        """Write the pages to a file; one that stands there is replaced and never written through."""
        file.unlink(missing_ok=True)
        file.write_bytes(self.printed())
