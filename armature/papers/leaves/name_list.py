"""The printed list of names: where each hangs, in order of the names, for the wall beside the tree."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from armature.commission import Commission
from armature.leaves import LeafPlan
from armature.papers import add_fonts, drawable, fitted_size, printed, write_at
from armature.papers.leaves.places import SIDES, Place, named_places

if TYPE_CHECKING:
    from fpdf import FPDF

_MADE = datetime(2000, 1, 1, tzinfo=UTC)
_EDGE, _HEAD, _ROW, _COLUMNS, _GUTTER = 14.0, 15.0, 9.6, 2, 9.0
# Points: names to be read at arm's length, where they hang in smaller print below.
_NAME, _WHERE = 11.5, 9.0


def write_name_list(file: Path, plan: LeafPlan, commission: Commission) -> list[str]:
    """Write the list of names as PDF; return the signs that no font on hand could draw.

    Each row: the name as given, the leaf's tag, its limb, its height above ground and the side of the tree.
    """
    from fpdf import FPDF

    pdf = FPDF(unit="mm", format="letter" if commission.units == "inch" else "a4")
    pdf.set_creation_date(_MADE)
    pdf.set_auto_page_break(False)
    pdf.set_title(commission.title)
    rows = named_places(plan, commission.units)
    missing = add_fonts(pdf, [commission.title, *(row.name for row in rows)])
    rows = [replace(row, name=drawable(row.name, missing)) for row in rows]
    deep = int((pdf.h - 2 * _EDGE - _HEAD) / _ROW)
    per_page = deep * _COLUMNS
    pages = max(-(-len(rows) // per_page), 1)
    for page in range(pages):
        _page(pdf, commission.title, page + 1, pages)
        for k, row in enumerate(rows[page * per_page : (page + 1) * per_page]):
            left = _EDGE + (k // deep) * (_wide(pdf) + _GUTTER)
            _row(pdf, row, left, _EDGE + _HEAD + (k % deep) * _ROW)
    file.write_bytes(printed(pdf))
    return missing


def _wide(pdf: FPDF) -> float:
    return (pdf.w - 2 * _EDGE - (_COLUMNS - 1) * _GUTTER) / _COLUMNS


def _page(pdf: FPDF, title: str, number: int, pages: int) -> None:
    pdf.add_page()
    label = f"{number} / {pages}"
    pdf.set_font("plain", "", 9)
    wide = pdf.get_string_width(label)
    write_at(pdf, pdf.w - _EDGE - wide, _EDGE + 2.0, label)
    pdf.set_font("plain", "B", 16)
    fitted_size(pdf, title, pdf.w - 2 * _EDGE - wide - 6.0)
    write_at(pdf, _EDGE, _EDGE + 2.0, title)
    pdf.set_font("plain", "", 9)
    pdf.set_text_color(90)
    write_at(pdf, _EDGE, _EDGE + 7.5, "Where each name hangs: leaf, limb, height above ground, side of the tree.")
    pdf.set_text_color(0)


def _row(pdf: FPDF, row: Place, x: float, y: float) -> None:
    pdf.set_font("plain", "", _NAME)
    fitted_size(pdf, row.name, _wide(pdf))
    write_at(pdf, x, y, row.name)
    pdf.set_font("plain", "", _WHERE)
    pdf.set_text_color(90)
    write_at(pdf, x, y + 4.0, f"{row.tag}, limb {row.limb}, {row.high}, {SIDES[row.side]}")
    pdf.set_text_color(0)
    pdf.set_draw_color(225)
    pdf.set_line_width(0.1)
    pdf.line(x, y + 5.4, x + _wide(pdf), y + 5.4)
