"""A workbook of lists, each a sheet of its own: text stays text as it was typed, numbers are numbers.

A CSV cannot say that a cell is text: there `=1+1` needs an apostrophe before it, which shows. Here it needs none.
Office Open XML (ECMA-376, part 1): cells of type inlineStr (18.18.11), and a style with quotePrefix (18.8.45), so that
a text that looks like a formula stays text when its cell is edited. Clauses from memory.
"""

from __future__ import annotations

import csv
import zipfile
from collections.abc import Mapping, Sequence
from io import BytesIO, StringIO
from xml.sax.saxutils import escape, quoteattr

Cell = str | float
_OFFICE = "http://schemas.openxmlformats.org"
_MAIN = f'xmlns="{_OFFICE}/spreadsheetml/2006/main"'
_PARTS = f"{_OFFICE}/officeDocument/2006/relationships"
_TYPES = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_XML = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
_UNITS = ("_mm", "_deg", "_kg", "_h", "_n", "_kn")
_WIDE = 16


def book(sheets: Mapping[str, Sequence[Sequence[Cell]]], widths: Sequence[int] = ()) -> bytes:
    """Return an .xlsx workbook: a sheet a name, its first row a head that stays in view.

    The same cells give the same bytes.

    widths: of the columns of every sheet, in characters, as far as they are given.
    """
    buffer = BytesIO()
    parts = {f"xl/worksheets/sheet{n}.xml": _sheet(rows, widths) for n, rows in enumerate(sheets.values(), 1)}
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in {**_fixed(list(sheets)), **parts}.items():
            # The earliest day that an archive can hold: the same lists give the same bytes.
            part = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            part.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(part, _XML + text)
    return buffer.getvalue()


def rows_of(text: str) -> list[list[Cell]]:
    """Return the cells of a CSV of this house: numbers in columns named by a unit, the guard taken off text.

    >>> rows_of("tag,feed_mm\\n'=A,12.5\\n")
    [['tag', 'feed_mm'], ['=A', 12.5]]
    """
    head, *rows = list(csv.reader(StringIO(text)))
    numbers = [name.endswith(_UNITS) for name in head]
    return [list(head), *([_cell(cell, number) for cell, number in zip(row, numbers, strict=True)] for row in rows)]


def _cell(text: str, number: bool) -> Cell:
    if number:
        try:
            return float(text)
        except ValueError:
            return text
    return text[1:] if text.startswith("'") else text


def _sheet(rows: Sequence[Sequence[Cell]], widths: Sequence[int]) -> str:
    count = max((len(row) for row in rows), default=1)
    wide = [*widths, *[_WIDE] * count][:count]
    columns = "".join(f'<col min="{k}" max="{k}" width="{w}" customWidth="1"/>' for k, w in enumerate(wide, 1))
    body = "".join(_row(number, row) for number, row in enumerate(rows, 1))
    pane = '<pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/>'
    views = f'<sheetViews><sheetView workbookViewId="0">{pane}</sheetView></sheetViews>'
    return f"<worksheet {_MAIN}>{views}<cols>{columns}</cols><sheetData>{body}</sheetData></worksheet>"


def _row(number: int, cells: Sequence[Cell]) -> str:
    style = 1 if number == 1 else 2
    said = []
    for column, cell in enumerate(cells):
        place = f'<c r="{_letters(column)}{number}"'
        if isinstance(cell, str):
            text = f'<is><t xml:space="preserve">{escape(cell)}</t></is>'
            said.append(f'{place} s="{style}" t="inlineStr">{text}</c>')
        else:
            said.append(f"{place}><v>{cell!r}</v></c>")
    return f'<row r="{number}">{"".join(said)}</row>'


def _letters(column: int) -> str:
    """Return the letters of a column, counted from 0.

    >>> _letters(0), _letters(25), _letters(26)
    ('A', 'Z', 'AA')
    """
    text, left = "", column + 1
    while left:
        left, rest = divmod(left - 1, 26)
        text = chr(65 + rest) + text
    return text


_STYLES = (
    f'<styleSheet {_MAIN}><fonts count="2"><font><sz val="11"/><name val="Calibri"/></font>'
    '<font><b/><sz val="11"/><name val="Calibri"/></font></fonts>'
    '<fills count="2"><fill><patternFill patternType="none"/></fill><fill><patternFill patternType="gray125"/></fill>'
    '</fills><borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
    '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/></cellStyleXfs>'
    '<cellXfs count="3"><xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'
    '<xf numFmtId="49" fontId="1" fillId="0" borderId="0" xfId="0" applyFont="1"/>'
    '<xf numFmtId="49" fontId="0" fillId="0" borderId="0" xfId="0" quotePrefix="1" applyNumberFormat="1"/></cellXfs>'
    '<cellStyles count="1"><cellStyle name="Normal" xfId="0" builtinId="0"/></cellStyles></styleSheet>'
)


def _relations(*targets: tuple[str, str]) -> str:
    rows = "".join(
        f'<Relationship Id="rId{k}" Type="{_PARTS}/{kind}" Target="{target}"/>'
        for k, (kind, target) in enumerate(targets, 1)
    )
    return f'<Relationships xmlns="{_OFFICE}/package/2006/relationships">{rows}</Relationships>'


def _fixed(names: Sequence[str]) -> dict[str, str]:
    """Return the parts of a workbook that hold no cells."""
    numbers = range(1, len(names) + 1)
    sheets = "".join(
        f'<Override PartName="/xl/worksheets/sheet{n}.xml" ContentType="{_TYPES}.worksheet+xml"/>' for n in numbers
    )
    listed = "".join(
        f'<sheet name={quoteattr(name)} sheetId="{n}" r:id="rId{n}"/>' for n, name in zip(numbers, names, strict=True)
    )
    return {
        "[Content_Types].xml": (
            f'<Types xmlns="{_OFFICE}/package/2006/content-types">'
            '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
            '<Default Extension="xml" ContentType="application/xml"/>'
            f'<Override PartName="/xl/workbook.xml" ContentType="{_TYPES}.sheet.main+xml"/>{sheets}'
            f'<Override PartName="/xl/styles.xml" ContentType="{_TYPES}.styles+xml"/></Types>'
        ),
        "_rels/.rels": _relations(("officeDocument", "xl/workbook.xml")),
        "xl/workbook.xml": f'<workbook {_MAIN} xmlns:r="{_PARTS}"><sheets>{listed}</sheets></workbook>',
        "xl/_rels/workbook.xml.rels": _relations(
            *(("worksheet", f"worksheets/sheet{n}.xml") for n in numbers), ("styles", "styles.xml")
        ),
        "xl/styles.xml": _STYLES,
    }
