"""Fonts put into PDFs and PDFs printed: a font file is opened once for all papers, and cut down for each.

The PDF library opens, measures and cuts every font anew for each paper, a tenth of a second each time; a job prints
twenty papers in four fonts. A font of other outlines than TrueType's, thinned for the whole job already, goes in whole.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

from fontTools.ttLib import TTFont
from fpdf import FPDF
from fpdf.enums import TextEmphasis
from fpdf.fonts import Glyph, SubsetMap, TTFFont
from fpdf.output import CIDSystemInfo, OutputProducer, PDFFont, PDFFontStream, PDFType3Font
from fpdf.syntax import Name, PDFArray, PDFContentStream, PDFString

from armature.papers.cut_type import cut, is_true_type, type_of


def add_face(pdf: FPDF, family: str, style: str, file: Path) -> None:
    """Add a font to a PDF under a family and a style, "" or "B"."""
    font, key = copy(_face(file)), f"{family}{style}"
    font.i, font.fontkey, font.emphasis = len(pdf.fonts) + 1, key, TextEmphasis.coerce(style)
    # All else is the same for every paper and never changed.
    font.desc, font.missing_glyphs, font.subset = copy(font.desc), [], SubsetMap(font)
    pdf.fonts[key] = font


def printed(pdf: FPDF) -> bytes:
    """Return the bytes of a PDF; nothing more can be drawn into it after."""
    return bytes(pdf.output(output_producer_class=_Press))


@cache
def _face(file: Path) -> TTFFont:
    """Return a font as the library measures it, belonging to no PDF."""
    pdf = FPDF()
    pdf.add_font("face", "", str(file))
    face = pdf.fonts["face"]
    assert isinstance(face, TTFFont)
    face.ttfont.close()
    # Held in memory: a file would stay open for as long as the program runs.
    face.ttfont = TTFont(BytesIO(file.read_bytes()), recalcTimestamp=False, lazy=True)
    return face


class _Press(OutputProducer):
    """The library's way of putting a PDF together, but for its fonts."""

    def _add_fonts(self, images: Any, states: Any, patterns: Any) -> dict[int, PDFFont | PDFType3Font]:
        fonts = self.fpdf.fonts
        faces = {key: font for key, font in fonts.items() if isinstance(font, TTFFont)}
        for key in faces:
            del fonts[key]
        made: dict[int, PDFFont | PDFType3Font] = super()._add_fonts(images, states, patterns)
        fonts.update(faces)
        return made | {font.i: self._added(font) for font in faces.values()}

    def _added(self, font: TTFFont) -> PDFFont:
        """Add a font with what its glyphs stand for (ISO 32000-1, 9.7: composite fonts)."""
        glyphs = {code: glyph for glyph, code in font.subset.items() if glyph is not None}
        face = (_true_type if is_true_type(Path(font.ttffile)) else _keyed)(font, glyphs)
        font.desc.font_name = face.inner.base_font
        texts = {code: glyph.unicode for code, glyph in glyphs.items() if isinstance(glyph.unicode, tuple)}
        whole = PDFFont("Type0", f"MPDFAA+{font.name}", "Identity-H")
        whole.descendant_fonts = PDFArray([face.inner])
        whole.to_unicode = PDFContentStream(_table("bfchar", {c: _utf16(each) for c, each in texts.items() if each}))
        face.inner.font_descriptor, face.inner.c_i_d_system_info = font.desc, face.system
        parts = [whole, face.inner, face.system, font.desc, face.file, whole.to_unicode]
        if face.encoding is not None:
            whole.__dict__["encoding"] = face.encoding
            parts.append(face.encoding)
        for each in parts:
            self._add_pdf_obj(each, "fonts")
        return whole


@dataclass(frozen=True, eq=False)
class _Face:
    """What a font of one kind of outlines is in a PDF: its glyphs' widths, its file, and how codes lead to glyphs."""

    inner: PDFFont
    system: CIDSystemInfo
    file: PDFFontStream
    encoding: PDFContentStream | None = None


def _true_type(font: TTFFont, glyphs: dict[int, Glyph]) -> _Face:
    """Return a TrueType font cut down: its glyphs stand where their codes say."""
    # A code that no glyph has, and the first, stand for the font's sign of a missing glyph, which is its first.
    known = {code: 0 if glyph.glyph_name == ".notdef" else glyph.glyph_id for code, glyph in glyphs.items()}
    order = [known.get(code, 0) for code in range(max(known, default=0) + 1)]
    inner = _inner("CIDFontType2", font, {code: glyph.glyph_width for code, glyph in glyphs.items()})
    file = PDFFontStream(cut(type_of(Path(font.ttffile)), order))
    # The library writes whatever a record holds, under the name that it has there.
    inner.__dict__["c_i_d_to_g_i_d_map"] = Name("Identity")
    font.desc.__dict__["font_file2"] = file
    return _Face(inner, CIDSystemInfo(), file)


def _keyed(font: TTFFont, glyphs: dict[int, Glyph]) -> _Face:
    """Return a font of Compact Font Format, thin already, as it is: a table leads from codes to its own numbers."""
    cids = {code: _cid(glyph) for code, glyph in glyphs.items()}
    inner = _inner("CIDFontType0", font, {cids[code]: glyph.glyph_width for code, glyph in glyphs.items()})
    reader = font.ttfont.reader
    assert reader is not None, "a font that was read"
    file = PDFFontStream(reader["CFF "])
    file.__dict__["subtype"] = Name("CIDFontType0C")
    font.desc.__dict__["font_file3"] = file
    encoding = PDFContentStream(_table("cidchar", {code: str(cid) for code, cid in cids.items()}))
    system = CIDSystemInfo()
    system.registry, system.ordering, system.supplement = PDFString("Adobe"), PDFString("Identity"), 0
    encoding.__dict__ |= {"type": Name("CMap"), "c_map_name": Name("Adobe-Identity-UCS"), "c_i_d_system_info": system}
    return _Face(inner, system, file, encoding)


def _cid(glyph: Glyph) -> int:
    """Return the number that a glyph of a thinned font keeps in its name: "cid00042"."""
    return int(glyph.glyph_name.removeprefix("cid")) if glyph.glyph_name != ".notdef" else 0


def _inner(kind: str, font: TTFFont, widths: dict[int, int]) -> PDFFont:
    told = " ".join(f"{number} [{width}]" for number, width in sorted(widths.items()))
    return PDFFont(kind, f"MPDFAA+{font.name}", d_w=font.desc.missing_width, w=f"[{told}]")


def _utf16(letters: tuple[int, ...]) -> str:
    return f"<{''.join(map(chr, letters)).encode('utf-16-be').hex().upper()}>"


def _table(kind: str, values: dict[int, str]) -> bytes:
    """Return a table from codes to letters, "bfchar", or to glyphs, "cidchar" (ISO 32000-1, 9.7.5 and 9.10.3)."""
    rows = [f"<{code:04X}> {value}\n" for code, value in sorted(values.items())]
    # A block holds a hundred rows at most.
    blocks = [rows[at : at + 100] for at in range(0, len(rows), 100)]
    told = "".join(f"{len(block)} begin{kind}\n{''.join(block)}end{kind}\n" for block in blocks)
    ordering = "UCS" if kind == "bfchar" else "Identity"
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        f"/CIDSystemInfo <</Registry (Adobe) /Ordering ({ordering}) /Supplement 0>> def\n"
        "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n"
        f"1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n{told}"
        "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend"
    ).encode("ascii")
