"""What a PDF prints, read from its pages as they are stored: every line of type, its size and its place.

Read straight from the page, because a general reader takes a second for ten cards and leaves out the blank between a
whole number and its fraction.
"""

from __future__ import annotations

import io
import re
from dataclasses import dataclass
from functools import cached_property
from math import atan2, degrees

from pypdf import PdfReader
from pypdf.generic import DictionaryObject, StreamObject

_TOKEN = re.compile(
    rb"/F(?P<font>\d+) (?P<size>[\d.]+) Tf|(?P<x>-?[\d.]+) (?P<y>-?[\d.]+) Td|\((?P<text>(?:\\.|[^\\)])*)\) ?Tj"
    rb"|\[(?P<row>(?:\((?:\\.|[^\\)])*\)|[^\]])*)\] ?TJ|(?P<end>\bET\b)",
    re.DOTALL,
)
# The hand of a dial: one line from its middle.
_HAND = re.compile(rb"\b0\.00 0\.00 m (?P<x>-?[\d.]+) (?P<y>-?[\d.]+) l S")
_STRING = re.compile(rb"\(((?:\\.|[^\\)])*)\)", re.DOTALL)
_ESCAPE = re.compile(rb"\\(.)", re.DOTALL)
_CONTROLS = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}
_PAIR = re.compile(rb"<([0-9A-Fa-f]{4})> <([0-9A-Fa-f]+)>\n")


@dataclass(frozen=True)
class Line:
    """A line of type: its parts (text, points), and where it begins, points from the lower left corner."""

    parts: tuple[tuple[str, float], ...]
    x: float
    y: float

    @cached_property
    def text(self) -> str:
        """All of it."""
        return "".join(text for text, _ in self.parts)


def printed(data: bytes) -> list[list[Line]]:
    """Return the lines of each page in the order in which they were written."""
    signs: dict[int, dict[int, str]] = {}
    pages = []
    for page in PdfReader(io.BytesIO(data)).pages:
        fonts = page["/Resources"]["/Font"]  # type: ignore[index]
        own = {}
        for name in fonts:
            number = fonts.raw_get(name).idnum
            if number not in signs:
                signs[number] = _signs(fonts[name])
            own[int(name.removeprefix("/F"))] = signs[number]
        contents = page.get_contents()
        pages.append(_lines(b"" if contents is None else contents.get_data(), own))
    return pages


def texts(data: bytes) -> list[str]:
    """Return the text of each page: lines that stand level with the one before them follow after a blank."""
    return [_joined(lines) for lines in printed(data)]


def dials(data: bytes) -> list[tuple[float, str]]:
    """Return where the hand of each dial points, deg clockwise from the top, and the words written after it."""
    found = []
    for page in PdfReader(io.BytesIO(data)).pages:
        fonts = page["/Resources"]["/Font"]  # type: ignore[index]
        own = {int(name.removeprefix("/F")): _signs(fonts[name]) for name in fonts}
        contents = page.get_contents()
        stream = b"" if contents is None else contents.get_data()
        for hand in _HAND.finditer(stream):
            end = stream.find(b"ET", hand.end()) + 2
            words = _lines(stream[hand.end() : end], own)
            angle = degrees(atan2(float(hand["x"]), float(hand["y"])))
            found.append((angle, words[0].text if words else ""))
    return found


def _joined(lines: list[Line]) -> str:
    told, level = "", None
    for line in lines:
        if line.text:
            told += line.text if level is None else f"{' ' if abs(line.y - level) < 0.5 else chr(10)}{line.text}"
            level = line.y
    return told


def _signs(font: DictionaryObject) -> dict[int, str]:
    stream = font["/ToUnicode"].get_object()
    assert isinstance(stream, StreamObject)
    table = stream.get_data()
    return {int(code, 16): bytes.fromhex(sign.decode()).decode("utf-16-be") for code, sign in _PAIR.findall(table)}


def _lines(stream: bytes, fonts: dict[int, dict[int, str]]) -> list[Line]:
    lines: list[Line] = []
    # The same words come back on every card.
    told: dict[tuple[int, bytes], str] = {}
    parts: list[tuple[str, float]] = []
    font, size, place = 0, 0.0, None
    for token in _TOKEN.finditer(stream):
        if token["font"]:
            font, size = int(token["font"]), float(token["size"])
        elif token["x"]:
            # Later moves within a line go from part to part.
            place = place or (float(token["x"]), float(token["y"]))
        elif token["end"]:
            if parts and place is not None:
                lines.append(Line(tuple(parts), *place))
            parts, place = [], None
        else:
            raw = b"".join(_STRING.findall(token["row"])) if token["row"] is not None else token["text"]
            if (font, raw) not in told:
                told[font, raw] = _read(raw, fonts[font])
            parts.append((told[font, raw], size))
    return lines


def _read(raw: bytes, signs: dict[int, str]) -> str:
    codes = _ESCAPE.sub(lambda found: _CONTROLS.get(found[1], found[1]), raw) if b"\\" in raw else raw
    pairs = (int.from_bytes(codes[at : at + 2], "big") for at in range(0, len(codes), 2))
    return "".join(signs.get(code, "\N{REPLACEMENT CHARACTER}") for code in pairs)
