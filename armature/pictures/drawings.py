"""Elevation and plan drawings: DXF at full size, and one page of PDF to scale."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from armature.errors import FileError
from armature.pictures.outlines import Dimension, Drawing, views
from armature.pictures.sheet import Facts
from armature.tree import RANKS, Tree
from armature.units import System

if TYPE_CHECKING:
    from fpdf import FPDF

# Colour numbers of the DXF palette and pens in mm, by layer.
_COLOURS = {**dict(zip(RANKS, (250, 250, 251, 252, 253), strict=True)), "leaves": 30, "plate": 250, "ground": 8}
_PENS = {**dict(zip(RANKS, (0.35, 0.30, 0.22, 0.18, 0.13), strict=True)), "leaves": 0.07, "plate": 0.35, "ground": 0.25}
_SCALES = (1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 250, 500, 1000)
_PAPER = (420.0, 297.0)
_FIXED = datetime(2000, 1, 1, tzinfo=UTC)


def write_drawings(tree: Tree, facts: Facts, units: System, folder: Path) -> list[Path]:
    """Return the paths written: `elevation.dxf`, `plan.dxf` and `drawing.pdf`."""
    front, side, plan = views(tree, units)
    found = {
        "elevation.dxf": dxf_text([front, side]).encode("utf-8"),
        "plan.dxf": dxf_text([plan]).encode("utf-8"),
        "drawing.pdf": pdf_bytes([front, side, plan], facts),
    }
    for name, content in found.items():
        try:
            (folder / name).write_bytes(content)
        except OSError as error:
            raise FileError(folder / name, f"cannot be written: {error.strerror or error}") from None
    return [folder / name for name in found]


def dxf_text(drawings: list[Drawing]) -> str:
    """Return the views side by side as DXF, millimetres at full size, true dimension entities included."""
    from ezdxf._options import options
    from ezdxf.filemanagement import new

    before, options.write_fixed_meta_data_for_testing = options.write_fixed_meta_data_for_testing, True
    try:
        document = new("R2010", setup=["dimstyles"], units=4)
        for layer, colour in _COLOURS.items():
            document.layers.add(layer, color=colour)
        document.layers.add("dimensions", color=5)
        space, shift = document.modelspace(), 0.0
        for drawing in drawings:
            low, high = drawing.box
            _put_dxf(space, drawing, np.array([shift - low[0], 0.0]))
            shift += float(high[0] - low[0]) + 800.0
        text = io.StringIO()
        document.write(text)
        return text.getvalue()
    finally:
        options.write_fixed_meta_data_for_testing = before


def _put_dxf(space: Any, drawing: Drawing, shift: Any) -> None:
    for line in drawing.lines:
        space.add_lwpolyline((line.corners + shift).tolist(), close=line.closed, dxfattribs={"layer": line.layer})
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
        made = space.add_linear_dim(
            base=base,
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
    space.add_text(drawing.name, height=1.3 * tall, dxfattribs={"layer": "dimensions"}).set_placement(tuple(label))


def pdf_bytes(drawings: list[Drawing], facts: Facts) -> bytes:
    """Return one page of A3 with all views at one common scale of the usual row, title and facts below."""
    from fpdf import FPDF

    page = FPDF(orientation="landscape", format="A3", unit="mm")
    page.set_creation_date(_FIXED)
    page.set_auto_page_break(False)
    page.add_page()
    room = (_PAPER[0] - 30.0 - 14.0 * (len(drawings) - 1), _PAPER[1] - 62.0)
    sizes = np.array([each.box[1] - each.box[0] for each in drawings])
    least = max(sizes[:, 0].sum() / room[0], sizes[:, 1].max() / room[1])
    scale = next((each for each in _SCALES if each >= least), float(np.ceil(least)))
    free = room[0] - sizes[:, 0].sum() / scale
    x = 15.0 + free / (2.0 * len(drawings))
    for drawing, size in zip(drawings, sizes, strict=True):
        _put_pdf(page, drawing, scale, x, 15.0 + (room[1] + sizes[:, 1].max() / scale) / 2.0)
        x += size[0] / scale + 14.0 + free / len(drawings)
    _title(page, facts, scale)
    return bytes(page.output())


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
    page.set_font("Helvetica", size=10)
    page.set_text_color(40, 38, 35)
    page.text(x, y + 7.0, drawing.name)


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
    page.set_font("Helvetica", size=8)
    page.set_text_color(40, 38, 35)
    wide = page.get_string_width(each.text)
    if up:
        with page.rotation(90.0, ax - 1.0, (ay + by) / 2.0):
            page.text(ax - 1.0 - wide / 2.0, (ay + by) / 2.0, each.text)
    else:
        page.text((ax + bx) / 2.0 - wide / 2.0, ay - 1.0, each.text)


def _title(page: FPDF, facts: Facts, scale: float) -> None:
    top = _PAPER[1] - 33.0
    page.set_line_width(0.25)
    page.set_draw_color(40, 38, 35)
    page.line(15.0, top, _PAPER[0] - 15.0, top)
    page.set_font("Helvetica", size=16)
    page.text(15.0, top + 8.0, _latin(facts.title))
    page.set_font("Helvetica", size=9)
    page.text(15.0, top + 13.5, _latin(facts.under))
    page.text(15.0, top + 18.5, f"scale 1 : {scale:g} on A3")
    page.text(15.0, top + 23.5, _latin(facts.foot))
    for number, (label, value) in enumerate(facts.rows[:15]):
        column, row = divmod(number, 5)
        page.text(190.0 + 74.0 * column, top + 5.5 + 4.6 * row, _latin(f"{label}: {value}"))


def _latin(text: str) -> str:
    """Return the text with what the built-in type cannot draw replaced by a question mark."""
    return text.encode("latin-1", "replace").decode("latin-1")
