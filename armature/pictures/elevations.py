"""Elevation and plan drawings: DXF at full size, and one page of PDF to scale."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from armature import papers
from armature.edge import FileError, System
from armature.files import Plot, dxf_text
from armature.pictures.client_sheet import Facts
from armature.pictures.elevation_lines import Dimension, Drawing, views
from armature.tree import RANKS, Tree

if TYPE_CHECKING:
    from fpdf import FPDF

# Colour numbers of the DXF palette and pens in mm, by layer.
_COLOURS = {**dict(zip(RANKS, (250, 250, 251, 252, 253, 250), strict=True)), "leaves": 30, "plate": 250, "ground": 8}
_PENS = {
    **dict(zip(RANKS, (0.35, 0.30, 0.22, 0.18, 0.13, 0.30), strict=True)),
    "leaves": 0.07,
    "plate": 0.35,
    "ground": 0.25,
}
_SCALES = (1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 250, 500, 1000)
# Inches to a foot: an architect's rule has 3, 1 1/2, 1, 3/4, 1/2, 3/8, 1/4, 3/16, 1/8 and 1/16.
_RULES = {4: "3", 8: "1 1/2", 12: "1", 16: "3/4", 24: "1/2", 32: "3/8", 48: "1/4", 64: "3/16", 96: "1/8", 192: "1/16"}
_EDGE, _GAP = 15.0, 14.0
# Views share a page as long as one alone would not be drawn this much larger.
_LARGER = 1.25
_FOOT = 33.0
# Room for title and caution beside the facts, mm.
_BESIDE = 172.0
_ROOM = _FOOT + 2.0 * _EDGE
_PAPER = (420.0, 297.0)
_FIXED = datetime(2000, 1, 1, tzinfo=UTC)


def write_drawings(tree: Tree, facts: Facts, units: System, folder: Path, plate_mm: float | None = None) -> list[Path]:
    """Return the paths written: `elevation.dxf`, `plan.dxf` and `drawing.pdf`; plate_mm: width of the base plate."""
    front, side, plan = views(tree, units, plate_mm)
    files = {
        "elevation.dxf": views_dxf([front, side]).encode("utf-8"),
        "plan.dxf": views_dxf([plan]).encode("utf-8"),
        "drawing.pdf": pdf_bytes([front, side, plan], facts, units),
    }
    for name, content in files.items():
        try:
            (folder / name).write_bytes(content)
        except OSError as error:
            raise FileError(folder / name, f"cannot be written: {error.strerror or error}") from None
    return [folder / name for name in files]


def views_dxf(drawings: list[Drawing]) -> str:
    """Return the views side by side as DXF, millimetres at full size, true dimension entities included."""
    return dxf_text(lambda plot: _draw_views(plot, drawings), ["dimstyles"])


def _draw_views(plot: Plot, drawings: list[Drawing]) -> None:
    for layer, colour in _COLOURS.items():
        plot.document.layers.add(layer, color=colour)
    plot.document.layers.add("dimensions", color=5)
    shift = 0.0
    for drawing in drawings:
        low, high = drawing.box
        _put_dxf(plot, drawing, np.array([shift - low[0], 0.0]))
        shift += float(high[0] - low[0]) + 800.0


def _put_dxf(plot: Plot, drawing: Drawing, shift: Any) -> None:
    for line in drawing.lines:
        plot.polyline(line.corners + shift, line.layer, line.closed)
    tall = 0.022 * float(drawing.box[1, 1] - drawing.box[0, 1])
    style = {
        "dimtxt": tall,
        "dimasz": 0.7 * tall,
        "dimexe": 0.4 * tall,
        "dimexo": 0.4 * tall,
        "dimgap": 0.3 * tall,
        "dimtad": 1,
        "dimscale": 1,
    }
    for each in drawing.dimensions:
        up = each.along == "up"
        base = (each.at + shift[0], 0.0) if up else (0.0, each.at + shift[1])
        narrow = not up and each.length < 0.7 * tall * len(each.text)
        beside = (max(float(each.start[0]), float(each.end[0])) + shift[0] + 0.5 * tall * (len(each.text) + 3), base[1])
        made = plot.document.modelspace().add_linear_dim(
            base=base,
            location=beside if narrow else None,
            p1=tuple(each.start + shift),
            p2=tuple(each.end + shift),
            angle=90.0 if up else 0.0,
            text=each.text,
            dimstyle="EZDXF",
            override=style,
            dxfattribs={"layer": "dimensions"},
        )
        made.render()
    label = drawing.box[0] + shift - [0.0, 3.0 * tall]
    plot.words(drawing.name, label.tolist(), 1.3 * tall, "dimensions")


def pdf_bytes(drawings: list[Drawing], facts: Facts, units: System = "mm") -> bytes:
    """Return pages of A3, title and facts below: all views on one where that costs little scale, else on more.

    Each page has the largest usual scale at which its views fit.
    """
    from fpdf import FPDF

    page = FPDF(orientation="landscape", format="A3", unit="mm")
    page.set_creation_date(_FIXED)
    page.set_auto_page_break(False)
    facts = _drawn_facts(page, facts)
    sheets = _sheets(drawings, units)
    for number, views_on_it in enumerate(sheets, start=1):
        page.add_page()
        scale = _scale(views_on_it, units)
        _row(page, views_on_it, scale)
        _title(page, facts, f"{_scale_words(scale, units)}, sheet {number} of {len(sheets)}")
    return papers.printed(page)


def _drawn_facts(page: FPDF, facts: Facts) -> Facts:
    """Give the page the fonts that its words need; return the facts with a box for a sign that none of them draws."""
    missing = papers.add_fonts(
        page, (facts.title, facts.under, facts.foot, *(word for row in facts.rows for word in row))
    )
    rows = tuple((papers.drawable(label, missing), papers.drawable(value, missing)) for label, value in facts.rows)
    return replace(
        facts, title=papers.drawable(facts.title, missing), under=papers.drawable(facts.under, missing), rows=rows
    )


def _sheets(drawings: list[Drawing], units: System) -> list[list[Drawing]]:
    """Return the views of each page: one page more for each time that it draws them a good deal larger."""
    if len(drawings) < 2 or _scale(drawings, units) < _LARGER * max(_scale([each], units) for each in drawings):
        return [drawings]
    return [*_sheets(drawings[:-1], units), drawings[-1:]]


def _scale(drawings: list[Drawing], units: System) -> float:
    """Return the largest usual scale at which views stand side by side on a page."""
    sizes = np.array([each.box[1] - each.box[0] for each in drawings])
    wide = _PAPER[0] - 2.0 * _EDGE - _GAP * (len(drawings) - 1)
    least = max(sizes[:, 0].sum() / wide, sizes[:, 1].max() / (_PAPER[1] - _ROOM))
    usual = (1, 2, *_RULES) if units == "inch" else _SCALES
    return next((float(each) for each in usual if each >= least), float(np.ceil(least)))


def _scale_words(scale: float, units: System) -> str:
    rule = _RULES.get(round(scale)) if units == "inch" else None
    return f"scale 1 : {scale:g} on A3" + ("" if rule is None else f' ({rule}" = 1\' 0")')


def _row(page: FPDF, drawings: list[Drawing], scale: float) -> None:
    sizes = np.array([each.box[1] - each.box[0] for each in drawings]) / scale
    free = (_PAPER[0] - 2.0 * _EDGE - sizes[:, 0].sum()) / len(drawings)
    ground = _EDGE + (_PAPER[1] - _ROOM + sizes[:, 1].max()) / 2.0
    x = _EDGE + free / 2.0
    for drawing, size in zip(drawings, sizes, strict=True):
        _put_pdf(page, drawing, scale, x, ground)
        x += size[0] + free


def _put_pdf(page: FPDF, drawing: Drawing, scale: float, x: float, y: float) -> None:
    low = drawing.box[0]

    def at(points: Any) -> list[tuple[float, float]]:
        return [(x + (px - low[0]) / scale, y - (py - low[1]) / scale) for px, py in points.tolist()]

    for line in drawing.lines:
        thick = line.layer in RANKS and line.closed
        page.set_line_width(_PENS[line.layer])
        page.set_draw_color(*((196, 146, 118) if line.layer == "leaves" else (40, 38, 35)))
        page.set_fill_color(255, 255, 255)
        if thick or line.closed:
            page.polygon(at(line.corners), style="DF")
        else:
            page.polyline(at(line.corners))
    for each in drawing.dimensions:
        _dimension(page, each, at)
    page.set_font("plain", size=12)
    page.set_text_color(40, 38, 35)
    papers.write_at(page, x, y + 6.0, drawing.name)


def _dimension(page: FPDF, each: Dimension, at: Any) -> None:
    up = each.along == "up"
    ends = np.stack([each.start, each.end])
    line = ends.copy()
    line[:, 0 if up else 1] = each.at
    (ax, ay), (bx, by) = at(line)
    page.set_draw_color(90, 84, 75)
    page.set_line_width(0.1)
    for (px, py), (qx, qy) in zip(at(ends), at(line), strict=True):
        length = max(np.hypot(qx - px, qy - py), 1e-9)
        page.line(
            px + (qx - px) / length * 1.2,
            py + (qy - py) / length * 1.2,
            qx + (qx - px) / length,
            qy + (qy - py) / length,
        )
    page.line(ax, ay, bx, by)
    for px, py in ((ax, ay), (bx, by)):
        page.line(px - 0.8, py + 0.8, px + 0.8, py - 0.8)
    page.set_font("plain", size=10)
    page.set_text_color(40, 38, 35)
    wide = page.get_string_width(each.text)
    if abs(by - ay) + abs(bx - ax) < wide + 2.0 and not up:
        # No room between the ends: the words stand beside them, on a leader.
        right = max(ax, bx)
        page.line(right, ay, right + 5.0, ay)
        papers.write_at(page, right + 6.0, ay + 1.2, each.text)
    elif up:
        with page.rotation(90.0, ax - 1.0, (ay + by) / 2.0):
            papers.write_at(page, ax - 1.0 - wide / 2.0, (ay + by) / 2.0, each.text)
    else:
        papers.write_at(page, (ax + bx) / 2.0 - wide / 2.0, ay - 1.0, each.text)


def _title(page: FPDF, facts: Facts, scale: str) -> None:
    top = _PAPER[1] - _FOOT
    page.set_line_width(0.25)
    page.set_draw_color(40, 38, 35)
    page.line(15.0, top, _PAPER[0] - 15.0, top)
    page.set_font("plain", size=18)
    papers.fitted_size(page, facts.title, _BESIDE)
    papers.write_at(page, 15.0, top + 8.0, facts.title)
    page.set_font("plain", size=10)
    papers.write_at(page, 15.0, top + 13.5, facts.under)
    papers.write_at(page, 15.0, top + 18.5, scale)
    papers.fitted_size(page, facts.foot, _BESIDE)
    papers.write_at(page, 15.0, top + 23.5, facts.foot)
    page.set_font("plain", size=10)
    for number, (label, value) in enumerate(facts.rows[:15]):
        column, row = divmod(number, 5)
        papers.write_at(page, 190.0 + 74.0 * column, top + 5.5 + 4.6 * row, f"{label}: {value}")
