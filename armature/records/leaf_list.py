"""The printed list of names: where each hangs, in order of the names, for the wall beside the tree."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from armature.leaves import LeafPlan
from armature.leaves.names import bare
from armature.records.leaf_fonts import add_fonts, write_at

if TYPE_CHECKING:
    from fpdf import FPDF

_MADE = datetime(2000, 1, 1, tzinfo=UTC)
_EDGE, _LINE, _COLUMNS = 14.0, 5.2, 2
_WINDS = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")


def write_name_list(file: Path, plan: LeafPlan, title: str, paper: str = "a4") -> list[str]:
    """Write the list of names as PDF; return the signs that no font on hand could draw.

    Each row: the name as given, the leaf's tag, its height above ground and the side of the tree that it hangs on.
    """
    from fpdf import FPDF

    pdf = FPDF(unit="mm", format=paper)
    pdf.set_creation_date(_MADE)
    pdf.set_auto_page_break(False)
    rows = name_rows(plan)
    missing = add_fonts(pdf, [title, *(row[0] for row in rows)])
    deep = int((pdf.h - 2 * _EDGE - 14.0) / _LINE)
    per_page = deep * _COLUMNS
    pages = max(-(-len(rows) // per_page), 1)
    for page in range(pages):
        _page(pdf, title, page + 1, pages)
        for k, row in enumerate(rows[page * per_page : (page + 1) * per_page]):
            left = _EDGE + (k // deep) * (pdf.w - 2 * _EDGE + 6.0) / _COLUMNS
            _row(pdf, row, left, _EDGE + 12.0 + (k % deep) * _LINE)
    pdf.output(str(file))
    return missing


def name_rows(plan: LeafPlan) -> list[tuple[str, str, float, str]]:
    """Return (name, leaf, height in m, side of the tree) in order of the names, accents and capitals put aside."""
    leaves = plan.tree.leaves
    centre = plan.hung.eyes[:, :2].mean(axis=0) if len(leaves) else np.zeros(2)
    rows = []
    for k in np.flatnonzero(leaves.names != "").tolist():
        east, north = plan.hung.eyes[k, :2] - centre
        high = round(float(plan.hung.eyes[k, 2]) / 1000.0, 1)
        rows.append((str(leaves.names[k]), str(leaves.tags[k]), high, side(float(east), float(north))))
    return sorted(rows, key=lambda r: (bare(r[0]) or r[0], r[0], r[1]))


def side(east: float, north: float) -> str:
    """Return the wind toward which a place lies: x is taken as east, y as north.

    >>> side(1.0, 0.0)
    'E'
    """
    turn = float(np.rad2deg(np.arctan2(east, north))) % 360.0
    return _WINDS[int(np.floor(turn / 45.0 + 0.5)) % 8]


def _page(pdf: FPDF, title: str, number: int, pages: int) -> None:
    pdf.add_page()
    pdf.set_font("plain", "B", 13)
    write_at(pdf, _EDGE, _EDGE + 2.0, title)
    pdf.set_font("plain", "", 7.5)
    write_at(pdf, _EDGE, _EDGE + 7.0, "Name, leaf, height above ground and side of the tree (x east, y north).")
    label = f"{number} / {pages}"
    write_at(pdf, pdf.w - _EDGE - pdf.get_string_width(label), _EDGE + 2.0, label)


def _row(pdf: FPDF, row: tuple[str, str, float, str], x: float, y: float) -> None:
    name, tag, height, wind = row
    wide = (pdf.w - 2 * _EDGE - 6.0) / _COLUMNS
    pdf.set_font("plain", "", 8.5)
    room = wide - 40.0
    size = min(8.5, 8.5 * room / max(pdf.get_string_width(name), 1e-6))
    pdf.set_font("plain", "", max(size, 4.0))
    write_at(pdf, x, y, name)
    pdf.set_font("plain", "", 7.5)
    write_at(pdf, x + wide - 39.0, y, tag)
    write_at(pdf, x + wide - 18.0, y, f"{height:.1f} m")
    write_at(pdf, x + wide - 7.0, y, wind)
    pdf.set_draw_color(225)
    pdf.set_line_width(0.1)
    pdf.line(x, y + 1.5, x + wide, y + 1.5)
