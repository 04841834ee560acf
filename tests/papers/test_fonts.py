"""Large fonts are thinned to the signs that a paper needs, and draw them alike."""

from __future__ import annotations

import io
from typing import Any

from fontTools.pens.recordingPen import RecordingPen
from fontTools.ttLib import TTFont
from pypdf import PdfReader

from armature.papers import Sheet
from armature.typefaces import OTHERS, font_file, signs_of, thinned

NAMES = "森田花子"
HAN = font_file(*OTHERS[-1][1:])


def drawn(font: TTFont, sign: str) -> list[object]:
    pen = RecordingPen()
    font.getGlyphSet()[font.getBestCmap()[ord(sign)]].draw(pen)
    return list(pen.value)


def test_a_thin_font_draws_its_signs_as_the_whole_one_does() -> None:
    assert HAN is not None
    thin = thinned(HAN, NAMES)
    assert signs_of(thin) == {*NAMES, " "}
    assert thin.stat().st_size < HAN.stat().st_size / 1000
    with TTFont(HAN, lazy=True) as whole, TTFont(thin) as own:
        for sign in NAMES:
            assert drawn(own, sign) == drawn(whole, sign) != []


def test_a_small_font_is_taken_as_it_is() -> None:
    thai = font_file(*OTHERS[1][1:])
    assert thai is not None
    assert thinned(thai, "กิ") == thai


def test_a_paper_holds_each_font_once_and_the_same_bytes_each_time() -> None:
    made = []
    for _ in range(2):
        sheet = Sheet("A4", "Names", [NAMES])
        sheet.add_page()
        for at, bold in enumerate((False, True)):
            sheet.words(20.0, 50.0 + 20.0 * at, NAMES, 12.0, bold)
        made.append(sheet.printed())
    assert made[0] == made[1]
    page = PdfReader(io.BytesIO(made[0])).pages[0]
    # The reader gives both bytes of a sign of such a font as signs; the first is none.
    assert page.extract_text().replace("\0", "").split() == [NAMES, NAMES]
    resources: Any = page["/Resources"]
    fonts = [font.get_object()["/BaseFont"] for font in resources["/Font"].values()]
    assert len(fonts) == len(set(fonts)) == 3
