"""The list of names as a spreadsheet of its own, for offices: every cell is text, so that a name shows as typed.

A CSV cannot say that a cell is text: there `=1+1` needs an apostrophe before it, which shows. Here it needs none.
Office Open XML (ECMA-376, part 1): cells of type inlineStr (18.18.11), and a style with quotePrefix (18.8.45), so that
a name that looks like a formula stays text when its cell is edited. Clauses from memory.
"""

from __future__ import annotations

import zipfile
from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import escape

from armature.commission import Commission
from armature.leaves import LeafPlan
from armature.papers.leaves.places import SIDES, named_places

HEAD = ("name", "leaf", "limb", "height above ground", "side of the tree")
_WIDTHS = (34, 12, 8, 20, 18)
_OFFICE = "http://schemas.openxmlformats.org"
_MAIN = f'xmlns="{_OFFICE}/spreadsheetml/2006/main"'
_PARTS = f"{_OFFICE}/officeDocument/2006/relationships"
_TYPES = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_XML = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


def write_name_sheet(file: Path, plan: LeafPlan, commission: Commission) -> None:
    """Write the list of names as an .xlsx workbook of one sheet: name, leaf, limb, height and side."""
    places = named_places(plan, commission.units)
    rows = [HEAD, *((p.name, p.tag, p.limb, p.high, SIDES[p.side]) for p in places)]
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as book:
        for name, text in {**_FIXED, "xl/worksheets/sheet1.xml": _sheet(rows)}.items():
            # The earliest day that an archive can hold: the same names give the same bytes.
            part = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            part.compress_type = zipfile.ZIP_DEFLATED
            book.writestr(part, _XML + text)


def _sheet(rows: Sequence[Sequence[str]]) -> str:
    columns = "".join(f'<col min="{k}" max="{k}" width="{w}" customWidth="1"/>' for k, w in enumerate(_WIDTHS, 1))
    body = "".join(_row(number, row) for number, row in enumerate(rows, 1))
    pane = '<pane ySplit="1" topLeftCell="A2" activePane="bottomLeft" state="frozen"/>'
    views = f'<sheetViews><sheetView workbookViewId="0">{pane}</sheetView></sheetViews>'
    return f"<worksheet {_MAIN}>{views}<cols>{columns}</cols><sheetData>{body}</sheetData></worksheet>"


def _row(number: int, texts: Sequence[str]) -> str:
    style = 1 if number == 1 else 2
    cells = "".join(
        f'<c r="{letter}{number}" s="{style}" t="inlineStr"><is><t xml:space="preserve">{escape(text)}</t></is></c>'
        for letter, text in zip("ABCDE", texts, strict=True)
    )
    return f'<row r="{number}">{cells}</row>'


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


_FIXED = {
    "[Content_Types].xml": (
        f'<Types xmlns="{_OFFICE}/package/2006/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{_TYPES}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{_TYPES}.worksheet+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{_TYPES}.styles+xml"/></Types>'
    ),
    "_rels/.rels": _relations(("officeDocument", "xl/workbook.xml")),
    "xl/workbook.xml": (
        f'<workbook {_MAIN} xmlns:r="{_PARTS}">'
        '<sheets><sheet name="Names" sheetId="1" r:id="rId1"/></sheets></workbook>'
    ),
    "xl/_rels/workbook.xml.rels": _relations(("worksheet", "worksheets/sheet1.xml"), ("styles", "styles.xml")),
    "xl/styles.xml": _STYLES,
}
