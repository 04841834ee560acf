"""A sheet of shop paper: type that reads at arm's length, lengths with real fractions, dials, tick boxes, QR codes.

All places and sizes are mm from the top left corner; type sizes are points. The same calls give the same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from functools import lru_cache

from fpdf import FPDF
from fpdf.fonts import CoreFont, TTFFont

from armature.edge import FileError, System, format_length
from armature.papers.press import add_face, printed
from armature.papers.ready import INK, POINT, Colour, Point, dial, qr_path, shade_of, shading
from armature.typefaces import BOLD, HAND, OTHERS, PLAIN, font_file, signs_of, thinned

PAGES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}

_ALIGNED = {"L": 0.0, "C": 0.5, "R": 1.0}
# Nothing on shop paper is set smaller, points.
_LEAST = 9.0
_FRACTION = re.compile(r"(?P<top>\d+)/(?P<bottom>\d+)")
# A line is broken at spaces, but not before the fraction of a number: 3 3/4 is one length.
_BREAK = re.compile(r"(?<!\d) | (?!\d+/\d)")
# Any date would do; a clock would change the bytes.
_DATE = datetime(2000, 1, 1, tzinfo=UTC)


class Sheet(FPDF):
    """A PDF in mm with the shop's type; `texts` are all words in other scripts that it will have to draw."""

    def __init__(self, page: str, title: str, texts: Iterable[str] = (), landscape: bool = False) -> None:
        super().__init__(orientation="landscape" if landscape else "portrait", unit="mm", format=PAGES[page])
        self.page_size = PAGES[page]
        self.set_auto_page_break(False)
        self.set_margin(0.0)
        self.c_margin = 0.0
        self.set_creation_date(_DATE)
        self.set_title(title)
        self.set_creator("armature")
        # What is drawn on each page: joined once, at the end.
        self._strokes: dict[int, list[str]] = {}
        self._signs: frozenset[str] = frozenset()
        self._widths: dict[tuple[str, bool], float] = {}
        self._encoded: dict[tuple[str, bool], str] = {}
        self._told: dict[tuple[str, float, bool], tuple[float, str | None]] = {}
        self._typed: set[tuple[int, bool]] = set()
        self._add_type([title, *texts])

    def _add_type(self, texts: Iterable[str]) -> None:
        plain = font_file(*PLAIN[1:])
        regular = font_file(HAND, "files/*-Regular.ttf") or plain
        bold = font_file(HAND, "files/*-Bold.ttf") or font_file(*BOLD[1:])
        if plain is None or regular is None or bold is None:
            raise FileError(PLAIN[2], "font not found; install matplotlib, which brings it")
        add_face(self, "hand", "", regular)
        add_face(self, "hand", "B", bold)
        self._signs = signs_of(regular)
        left = {sign for text in texts for sign in text if not sign.isspace()} - self._signs
        fallbacks = []
        for family, package, pattern in (PLAIN, *OTHERS):
            file = font_file(package, pattern) if left else None
            if file is not None and left & signs_of(file):
                add_face(self, family, "", thinned(file, left))
                if family == PLAIN[0]:
                    # The others have one weight, which the library takes for bold words as well.
                    add_face(self, family, "B", font_file(*BOLD[1:]) or file)
                fallbacks.append(family)
                left -= signs_of(file)
        if fallbacks:
            self.set_fallback_fonts(fallbacks, exact_match=False)
        self.set_font("hand", "", 10)

    def printed(self) -> bytes:
        """Return the bytes of the PDF; nothing more can be drawn after."""
        for page, drawn in self._strokes.items():
            self.pages[page].contents = bytearray("\n".join([*drawn, ""]), "latin-1")
        return printed(self)

    def _out(self, s: str | bytes) -> None:
        # The library encodes and copies each stroke by itself, which takes longer than drawing it.
        self._strokes.setdefault(self.page, []).append(s if isinstance(s, str) else s.decode("latin-1"))

    def ink(self, colour: Colour, line: float | None = None) -> None:
        """Set the colour of type, lines and fills, and the width of lines in mm."""
        shade = shade_of(colour)
        # One shade is one object: most calls change nothing, and comparing objects costs nothing.
        if self.text_color is not shade:
            self.text_color = shade
        if self.draw_color is not shade or self.fill_color is not shade:
            self.draw_color = self.fill_color = shade
            if self.page:
                self._out(shading(colour))
        if line is not None and line != self.line_width:
            self.set_line_width(line)

    def words(self, x: float, y: float, text: str, size: float, bold: bool = False, align: str = "L") -> float:
        """Write one line with its baseline at y; align L, C or R about x. Return its width in mm."""
        if self._signs.issuperset(text.replace(" ", "")):
            width = self.width(text, size, bold)
            said = f"/F{self._type(bold).i} {size:.2f} Tf 0.00 Ts {self._code(text, bold)}" if text else ""
            self._line(x - _ALIGNED[align] * width, y, said, bold)
            return width
        # Other scripts need shaping and second fonts, which only a cell has; its baseline is 0.3 of the size below its
        # middle.
        self.set_font("hand", "B" if bold else "", size)
        self.set_text_shaping(True)
        width = float(self.get_string_width(text))
        self.set_xy(x - {"L": 0.0, "C": width / 2.0, "R": width}[align], y - 0.8 * self.font_size)
        self.cell(width + 1.0, self.font_size, text)
        self.set_text_shaping(False)
        return width

    def fitted(
        self, x: float, y: float, text: str, size: float, width: float, bold: bool = False, align: str = "L"
    ) -> float:
        """Write a line as large as `size` allows within `width` mm from x on, not under 9 points; return its width."""
        needed = self.width(text, size, bold)
        at = x + _ALIGNED[align] * width
        least = min(_LEAST / size, 1.0)
        return self.words(at, y, text, size * min(1.0, max(width / max(needed, 1e-9), least)), bold, align)

    def length(
        self, x: float, y: float, mm: float, unit: System, size: float, bold: bool = False, align: str = "L"
    ) -> float:
        """Write a length in the shop's unit with its fraction set as one; return its width in mm."""
        return self.fraction(x, y, format_length(mm, unit), size, bold, align)

    def fraction(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        bold: bool = False,
        align: str = "L",
        room: float = float("inf"),
    ) -> float:
        """Write a line in which fractions such as 3/8 are set small, numerator raised; return its width.

        It is set smaller where it would be wider than `room` mm, not under 9 points.
        """
        total, said = self._put_together(text, size, bold)
        if total > room and size > _LEAST:
            # The small figures of a fraction do not shrink with the rest.
            return self.fraction(x, y, text, max(size * room / total * 0.999, _LEAST), bold, align, room)
        place = x - _ALIGNED[align] * total
        if said is not None:
            self._line(place, y, said, bold)
            return total
        parts = _in_parts(text, size)
        for (part, points, rise), width in zip(parts, self._widths_of(parts, size, bold), strict=True):
            if part:
                self.words(place, y - rise, part, points, bold)
            place += width
        return total

    def _put_together(self, text: str, size: float, bold: bool) -> tuple[float, str | None]:
        """Return the width of a line with its fractions set small, and what writes it; none in other signs."""
        # The same words and figures come back on every card.
        key = (text, size, bold)
        if (known := self._told.get(key)) is None:
            parts = _in_parts(text, size)
            widths = self._widths_of(parts, size, bold)
            said = self._said(parts, widths, bold) if self._signs.issuperset(text.replace(" ", "")) else None
            known = self._told[key] = sum(widths), said
        return known

    def _widths_of(self, parts: Sequence[tuple[str, float, float]], size: float, bold: bool) -> list[float]:
        gap = 0.03 * size * POINT if len(parts) > 1 else 0.0
        # The space before a fraction takes no room on paper; it is there for whoever copies the text.
        return [
            self.width(_before_fraction(part, n, parts), points, bold) + (gap if part else 0.0)
            for n, (part, points, _) in enumerate(parts)
        ]

    def _line(self, x: float, y: float, said: str, bold: bool) -> None:
        """Write what was put together in signs of the shop's type, as one text object."""
        if (self.page, bold) not in self._typed:
            self._set_font_for_page(self._type(bold), 10.0)
            self._typed.add((self.page, bold))
        # What is set here, the library does not know of.
        self.current_font_is_set_on_page = False
        told = f"BT {x * self.k:.2f} {(self.h - y) * self.k:.2f} Td {said} ET"
        if self.text_color is not None and self.text_color is not self.fill_color:
            told = f"q {self.text_color.serialize().lower()} {told} Q"
        self._out(told)

    def _said(self, parts: Sequence[tuple[str, float, float]], widths: Sequence[float], bold: bool) -> str:
        """Return parts (text, size, rise) one after the other, in signs of the shop's type, wherever they begin."""
        shift, told = 0.0, []
        for (text, size, rise), width in zip(parts, widths, strict=True):
            if text:
                move = f"{shift * self.k:.2f} 0 Td " if shift else ""
                code = self._code(text, bold)
                told.append(f"{move}/F{self._type(bold).i} {size:.2f} Tf {rise * self.k:.2f} Ts {code}")
                shift = 0.0
            shift += width
        return " ".join([*told, "0 Ts"]) if len(parts) > 1 else " ".join(told)

    def _type(self, bold: bool) -> CoreFont | TTFFont:
        return self.fonts["handB" if bold else "hand"]

    def _code(self, text: str, bold: bool) -> str:
        """Return the operator that writes a text in signs of the shop's type."""
        key = (text, bold)
        if (encoded := self._encoded.get(key)) is None:
            encoded = self._encoded[key] = self._type(bold).encode_text(text)
        return encoded

    def width(self, text: str, size: float, bold: bool = False) -> float:
        """Return the width of a text, mm."""
        # Measuring takes as long as writing, and the same words come back on every card.
        key = (text, bold)
        if key not in self._widths:
            self._widths[key] = self._measured(text, bold)
        return self._widths[key] * size / 10.0

    def _measured(self, text: str, bold: bool) -> float:
        """The width of a text at 10 points, mm."""
        if self._signs.issuperset(text.replace(" ", "")):
            # Letters of the shop's type stand side by side as they are: asked of the font itself it is much sooner.
            return float(self._type(bold).get_text_width(text, 10.0, None)[1]) / self.k
        self.set_font("hand", "B" if bold else "", 10.0)
        return float(self.get_string_width(text))

    def wrapped(self, text: str, size: float, width: float, indent: str = "") -> list[str]:
        """Return a text in lines of at most `width` mm, all but the first with an indent."""
        lines = [""]
        for word in _BREAK.split(text):
            longer = f"{lines[-1]} {word}" if lines[-1].strip() else f"{lines[-1]}{word}"
            if lines[-1].strip() and self.width(longer, size) > width:
                lines.append(f"{indent}{word}")
            else:
                lines[-1] = longer
        return lines

    def tick(self, x: float, y: float, side: float, line: float = 0.5) -> None:
        """Draw an empty box to tick."""
        self.ink(INK, line)
        self.rect(x, y, side, side)

    def qr(self, x: float, y: float, side: float, text: str) -> None:
        """Draw a QR code of a text, without its quiet zone: leave a white border of four of its squares."""
        squares, path = qr_path(text)
        unit = side / squares * self.k
        self.set_fill_color(shade_of(INK))
        self._out(f"q {unit:.4f} 0 0 {-unit:.4f} {x * self.k:.2f} {(self.h - y) * self.k:.2f} cm {path} f Q")

    def dial(self, x: float, y: float, radius: float, angle: float, plain: bool = False) -> None:
        """Draw a clock seen along the bar toward its tip: 0 is at 12 o'clock, positive goes clockwise."""
        self.stamp(x, y, dial(round(radius, 3), None if plain else round(angle, 1)))

    def stamp(self, x: float, y: float, drawing: str) -> None:
        """Set a drawing made of `strokes` with its origin at a place."""
        self._out(f"q 1 0 0 1 {x * self.k:.2f} {(self.h - y) * self.k:.2f} cm {drawing} Q")

    def path(self, points: Sequence[Point], width: float, colour: Colour = INK) -> None:
        """Draw a line through points."""
        self.ink(colour, width)
        k, high = self.k, self.h
        self._out(
            " l ".join([f"{x * k:.2f} {(high - y) * k:.2f}" for x, y in points]).replace(" l ", " m ", 1) + " l S"
        )

    def rule(self, x: float, y: float, width: float, line: float = 0.3, colour: Colour = INK) -> None:
        """Draw a level line."""
        self.ink(colour, line)
        self.line(x, y, x + width, y)


@lru_cache(maxsize=65_536)
def _in_parts(text: str, size: float) -> tuple[tuple[str, float, float], ...]:
    """Return the parts (text, size, rise) of a line with its fractions set small."""
    parts: list[tuple[str, float, float]] = []
    # What stands in a fraction has to be read too.
    at, small = 0, min(max(size * 0.68, _LEAST), size)
    for fraction_match in _FRACTION.finditer(text):
        before = text[at : fraction_match.start()]
        parts += [
            (before, size, 0.0),
            (fraction_match["top"], small, 0.28 * size * POINT),
            ("\N{FRACTION SLASH}", max(size * 0.9, small), 0.0),
            (fraction_match["bottom"], small, 0.0),
        ]
        at = fraction_match.end()
    rest = text[at:]
    if rest.endswith(" mm"):
        # The number is what is read; its unit need not shout.
        parts += [(rest.removesuffix("mm").rstrip(), size, 0.0), (" mm", min(max(size * 0.55, _LEAST), size), 0.0)]
    else:
        parts.append((rest, size, 0.0))
    return tuple(parts)


def _before_fraction(part: str, number: int, parts: Sequence[tuple[str, float, float]]) -> str:
    """Return what of a part takes room: a number just before a raised numerator stands close to it."""
    raised = number + 1 < len(parts) and parts[number + 1][2] > 0.0
    return part.rstrip() if raised and part.rstrip()[-1:].isdigit() else part
