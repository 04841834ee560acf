"""Plates for the cutting table: a DXF and a picture of each."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path as File
from typing import TYPE_CHECKING, Any

import numpy as np

from armature.files.dxf import dxf_text
from armature.leaves.nesting import Cut, Plate
from armature.leaves.outline import Design, Path, flattened

if TYPE_CHECKING:
    from ezdxf.document import Drawing

# Colours are the colour numbers of the DXF reference.
LAYERS = (("PLATE", 8), ("EYE", 5), ("LEAD", 6), ("CUT", 1), ("ETCH", 3), ("LABEL", 2))
_PAPER, _SHEET, _LEAF, _VEIN, _INK = (250, 249, 246), (232, 226, 214), (196, 122, 74), (120, 66, 34), (40, 34, 30)


def write_plate_dxf(
    file: File, plate: Plate, cuts: Sequence[Cut], labels: Sequence[str], designs: Sequence[Design]
) -> None:
    """Write one plate as DXF R2010 in mm: eyes first, then outlines, each with its lead-in before it.

    Layers: PLATE the sheet's edge (not cut), EYE, LEAD, CUT, ETCH veins, LABEL tags (not cut).
    """
    text = dxf_text(lambda document: _draw(document, plate, cuts, labels, designs))
    file.write_text(text, encoding="utf-8", newline="\n")


def _draw(
    document: Drawing, plate: Plate, cuts: Sequence[Cut], labels: Sequence[str], designs: Sequence[Design]
) -> None:
    document.header["$MEASUREMENT"] = 1
    for name, colour in LAYERS:
        document.layers.add(name, color=colour)
    space = document.modelspace()
    edge = np.array([[0, 0], [plate.width, 0], [plate.width, plate.height], [0, plate.height]])
    _polyline(space, Path(edge, np.zeros(4)), "PLATE")
    for cut in cuts:
        _line(space, cut.eye_lead)
        _polyline(space, cut.eye, "EYE")
    for cut in cuts:
        _line(space, cut.lead)
        _polyline(space, cut.outline, "CUT")
    lengths = {d.number: d.length for d in designs}
    for cut in cuts:
        for vein in cut.veins:
            _polyline(space, vein, "ETCH")
        height = 0.035 * lengths[int(plate.designs[cut.row])]
        text = space.add_text(labels[cut.row], height=height, rotation=(float(plate.turns[cut.row]) - 90.0) % 360.0)
        text.dxf.layer = "LABEL"
        at = _label_place(plate, cut.row, lengths)
        text.set_placement((round(float(at[0]), 6), round(float(at[1]), 6)))


def _label_place(plate: Plate, row: int, lengths: dict[int, float]) -> Any:
    """Beside the midrib, a third of the way down, along the leaf."""
    length = lengths[int(plate.designs[row])]
    a = np.deg2rad(float(plate.turns[row]))
    local = np.array([0.02 * length, -0.3 * length])
    return np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]) @ local + plate.shifts[row]


def _line(space: Any, ends: Any) -> None:
    start, stop = (np.round(np.asarray(ends), 6) + 0.0).tolist()
    space.add_line(start, stop, dxfattribs={"layer": "LEAD"})


def _polyline(space: Any, path: Path, layer: str) -> None:
    rows = np.round(np.column_stack([path.points, path.bulges]), 6) + 0.0
    space.add_lwpolyline(rows.tolist(), format="xyb", close=path.closed, dxfattribs={"layer": layer})


def write_plate_picture(
    file: File, plate: Plate, cuts: Sequence[Cut], labels: Sequence[str], pixels: int = 1400
) -> None:
    """Write a picture of one plate as PNG, its longer side `pixels` wide: leaves with veins, eyes, pierces and tags."""
    from PIL import Image, ImageDraw

    grow, edge = 2, 24
    scale = grow * (pixels - 2 * edge) / max(plate.width, plate.height)
    size = (round(plate.width * scale) + 2 * edge * grow, round(plate.height * scale) + 2 * edge * grow)
    image = Image.new("RGB", size, _PAPER)
    pen = ImageDraw.Draw(image)

    def spot(points: Any) -> list[tuple[float, float]]:
        return [(edge * grow + x * scale, size[1] - edge * grow - y * scale) for x, y in np.asarray(points).tolist()]

    pen.rectangle([*spot([[0, plate.height]])[0], *spot([[plate.width, 0]])[0]], fill=_SHEET)
    for cut in cuts:
        pen.polygon(spot(flattened(cut.outline, 0.2)), fill=_LEAF)
        pen.polygon(spot(flattened(cut.eye, 0.05)), fill=_SHEET)
        for vein in cut.veins:
            pen.line(spot(flattened(vein, 0.2)), fill=_VEIN, width=2 * grow)
        pen.line(spot(cut.lead), fill=_INK, width=grow)
    small = image.resize((size[0] // grow, size[1] // grow), Image.Resampling.LANCZOS)
    _write_tags(small, plate, cuts, labels, scale / grow, edge)
    small.save(file, optimize=False)


def _write_tags(image: Any, plate: Plate, cuts: Sequence[Cut], labels: Sequence[str], scale: float, edge: int) -> None:
    from PIL import ImageDraw, ImageFont

    pen = ImageDraw.Draw(image)
    letters = ImageFont.load_default(size=10)
    for cut in cuts:
        x, y = np.asarray(cut.outline.points).mean(axis=0)
        at = (edge + x * scale, image.size[1] - edge - y * scale)
        pen.text(at, labels[cut.row], fill=(255, 255, 255), font=letters, anchor="mm", stroke_width=1, stroke_fill=_INK)
