"""A TrueType font cut down to the glyphs that a paper sets, in the order that the paper gives them.

Written here: a library that can do all that is done to fonts takes twenty times as long, and a job prints eighty fonts.
Table and field names are those of the OpenType specification 1.9, "Font file", "glyf", "loca", "hmtx", "head", "maxp".
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from functools import cache
from pathlib import Path

# What a font inside a PDF needs (ISO 32000-1, 9.9): outlines, their places and widths, and the programs of its hints.
_AS_THEY_ARE = ("cvt ", "fpgm", "prep")
_WORDS, _SCALE, _MORE, _TWO_SCALES, _MATRIX = 0x1, 0x8, 0x20, 0x40, 0x80
_WHOLE = 0xB1B0AFBA


class Type:
    """A font's tables by name, and where each glyph's outline begins."""

    def __init__(self, raw: bytes) -> None:
        (count,) = struct.unpack_from(">H", raw, 4)
        self.tables: dict[str, bytes] = {}
        for at in range(12, 12 + 16 * count, 16):
            tag, _, offset, length = struct.unpack_from(">4sLLL", raw, at)
            self.tables[tag.decode("latin-1")] = raw[offset : offset + length]
        (self.glyphs,) = struct.unpack_from(">H", self.tables["maxp"], 4)
        (long,) = struct.unpack_from(">h", self.tables["head"], 50)
        places = struct.unpack_from(f">{self.glyphs + 1}{'L' if long else 'H'}", self.tables["loca"])
        self.places = places if long else tuple(2 * place for place in places)
        (self.wide,) = struct.unpack_from(">H", self.tables["hhea"], 34)

    def outline(self, glyph: int) -> bytes:
        """Return the outline of a glyph, nothing for an empty one."""
        return self.tables["glyf"][self.places[glyph] : self.places[glyph + 1]]

    def measures(self, glyph: int) -> bytes:
        """Return the advance and the left side bearing of a glyph as they stand in the font."""
        widths = self.tables["hmtx"]
        if glyph < self.wide:
            return widths[4 * glyph : 4 * glyph + 4]
        # Behind the last width stand bearings alone: all these glyphs are as wide as the last.
        bearing = 4 * self.wide + 2 * (glyph - self.wide)
        return widths[4 * self.wide - 4 : 4 * self.wide - 2] + widths[bearing : bearing + 2]


@cache
def type_of(file: Path) -> Type:
    """Return a TrueType font's tables."""
    return Type(file.read_bytes())


def is_true_type(file: Path) -> bool:
    """Return whether a font file is one TrueType font, which alone can be cut here."""
    with file.open("rb") as font:
        return font.read(4) in (b"\x00\x01\x00\x00", b"true")


def cut(font: Type, glyphs: Sequence[int]) -> bytes:
    """Return a font file that holds the given glyphs in their order, from place 0, and behind them their parts."""
    places = {glyph: place for place, glyph in reversed([*enumerate(glyphs)])}
    order, outlines = list(glyphs), list[bytes]()
    # Parts that are met on the way are put last and gone through in their turn.
    for glyph in order:
        outline = bytearray(font.outline(glyph))
        for at in _parts(outline):
            (part,) = struct.unpack_from(">H", outline, at)
            if part not in places:
                places[part] = len(order)
                order.append(part)
            struct.pack_into(">H", outline, at, places[part])
        outlines.append(bytes(outline) + bytes(-len(outline) % 4))
    ends = [0]
    for each in outlines:
        ends.append(ends[-1] + len(each))
    return _file(
        {
            **{name: font.tables[name] for name in _AS_THEY_ARE if name in font.tables},
            "glyf": b"".join(outlines),
            "head": _with(font.tables["head"], (8, ">L", 0), (50, ">h", 1)),
            "hhea": _with(font.tables["hhea"], (34, ">H", len(order))),
            "hmtx": b"".join(font.measures(glyph) for glyph in order),
            "loca": struct.pack(f">{len(ends)}L", *ends),
            "maxp": _with(font.tables["maxp"], (4, ">H", len(order))),
        }
    )


def _parts(outline: bytes | bytearray) -> list[int]:
    """Return where in the outline of a glyph that is put together from others their numbers stand."""
    if len(outline) < 10 or struct.unpack_from(">h", outline)[0] >= 0:
        return []
    at, more, found = 10, True, []
    while more:
        (flags,) = struct.unpack_from(">H", outline, at)
        found.append(at + 2)
        at += 8 if flags & _WORDS else 6
        at += 2 if flags & _SCALE else 4 if flags & _TWO_SCALES else 8 if flags & _MATRIX else 0
        more = bool(flags & _MORE)
    return found


def _with(table: bytes, *changes: tuple[int, str, int]) -> bytes:
    changed = bytearray(table)
    for at, form, value in changes:
        struct.pack_into(form, changed, at, value)
    return bytes(changed)


def _file(tables: dict[str, bytes]) -> bytes:
    """Return tables as a font file, with its sums."""
    count = len(tables)
    power = count.bit_length() - 1
    head = struct.pack(">LHHHH", 0x00010000, count, 16 << power, power, 16 * count - (16 << power))
    at = len(head) + 16 * count
    rows, bodies = [head], list[bytes]()
    for name, table in sorted(tables.items()):
        rows.append(struct.pack(">4sLLL", name.encode("latin-1"), _sum(table), at, len(table)))
        bodies.append(table + bytes(-len(table) % 4))
        at += len(bodies[-1])
    whole = bytearray(b"".join([*rows, *bodies]))
    first = 12 + 16 * sorted(tables).index("head")
    (place,) = struct.unpack_from(">L", whole, first + 8)
    struct.pack_into(">L", whole, place + 8, (_WHOLE - _sum(bytes(whole))) & 0xFFFFFFFF)
    return bytes(whole)


def _sum(table: bytes) -> int:
    padded = table + bytes(-len(table) % 4)
    return int(sum(struct.unpack(f">{len(padded) // 4}L", padded))) & 0xFFFFFFFF
