"""Fonts cut down for a paper draw what the whole font draws: read back by fontTools, as the reference."""

from __future__ import annotations

import io

import pytest
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.ttLib import TTFont

from armature.papers.cut_type import cut, is_true_type, type_of
from armature.typefaces import BOLD, HAND, OTHERS, PLAIN, font_file

FILES = [(HAND, "files/*-Regular.ttf"), PLAIN[1:], BOLD[1:], OTHERS[0][1:], OTHERS[1][1:]]
# Letters with accents are put together from parts, one of them from parts of parts.
SIGNS = "Ae\u00e9 \u01da\u0916\u0940\u0e01\u0e33"


def drawn(font: TTFont, name: str) -> list[object]:
    glyphs = font.getGlyphSet()
    pen = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(pen)
    return list(pen.value)


@pytest.mark.parametrize("asked", FILES, ids=lambda each: each[1])
def test_each_glyph_is_drawn_and_measured_as_in_the_whole_font(asked: tuple[str, str]) -> None:
    file = font_file(*asked)
    assert file is not None
    with TTFont(file, lazy=True) as whole:
        names = [whole.getBestCmap()[ord(sign)] for sign in SIGNS if ord(sign) in whole.getBestCmap()]
        glyphs = [0, *(whole.getGlyphID(name) for name in names)]
        # The sums of a file's tables are checked on reading.
        with TTFont(io.BytesIO(cut(type_of(file), glyphs)), checkChecksums=2) as own:
            order = own.getGlyphOrder()
            assert len(order) >= len(glyphs) == 1 + len(names) > 3
            for place, name in enumerate([".notdef", *names]):
                assert drawn(own, order[place]) == drawn(whole, name)
                assert own["hmtx"][order[place]] == whole["hmtx"][name]


def test_a_font_of_other_outlines_is_told_apart() -> None:
    han, plain = font_file(*OTHERS[-1][1:]), font_file(*PLAIN[1:])
    assert han is not None
    assert plain is not None
    assert is_true_type(plain)
    assert not is_true_type(han)
