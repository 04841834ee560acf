"""Plates for the cutting table: a DXF and a picture of each kind, and the piece that tells the kerf."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as File
from typing import Any

import numpy as np

from armature.edge import System, format_length
from armature.files.dxf import dxf_text
from armature.files.plot import Plot
from armature.leaves.nesting import PIN, Cut, Plate, tabbed
from armature.leaves.outline import Design, Path, Points, circle, flattened

# Colours are the colour numbers of the DXF reference; words for whoever runs the table.
LAYERS = (("PLATE", 8), ("EYE", 5), ("LEAD", 6), ("CUT", 1), ("ETCH", 3), ("HOLD", 4), ("LABEL", 2), ("NOTE", 7))
LAYER_WORDS = {
    "EYE": "cut first: the hole that each leaf hangs by",
    "LEAD": "the torch's way in to each cut, pierced in the waste; drawn just before its cut",
    "CUT": "cut after all eyes: outlines of the leaves, in the order drawn",
    "ETCH": "veins: mark, do not cut through; leave out where the table cannot mark",
    "HOLD": "holes for pins or screws in the waste, cut before anything else; empty where none were asked for",
    "PLATE": "the edge of the sheet, to place it by: never cut",
    "LABEL": "number of the design on each leaf: never cut",
    "NOTE": "words and a check line below the sheet: never cut",
}
_PAPER, _SHEET, _LEAF, _VEIN, _INK = (250, 249, 246), (232, 226, 214), (196, 122, 74), (120, 66, 34), (40, 34, 30)
CHECK = 100.0


@dataclass(frozen=True)
class Holding:
    """How leaves are held while they are cut: tabs a leaf, metal left by each in mm, the kerf in mm, and the middles of
    pins (N, 2) mm."""

    tabs: int
    tab: float
    kerf: float
    pins: Points


def write_plate_dxf(
    file: File,
    plate: Plate,
    cuts: Sequence[Cut],
    designs: Sequence[Design],
    holding: Holding,
    words: Sequence[str] = (),
) -> None:
    """Write one kind of plate as DXF R2010 in mm: pins, then eyes, then outlines, each with its lead-in before it.

    words: lines under the sheet, not cut. Layers as in LAYER_WORDS.
    """
    text = dxf_text(lambda plot: _draw(plot, plate, cuts, designs, holding, words))
    file.write_text(text, encoding="utf-8", newline="\n")


def _draw(
    plot: Plot,
    plate: Plate,
    cuts: Sequence[Cut],
    designs: Sequence[Design],
    holding: Holding,
    words: Sequence[str],
) -> None:
    _prepare(plot)
    edge = np.array([[0, 0], [plate.width, 0], [plate.width, plate.height], [0, plate.height]])
    _polyline(plot, Path(edge, np.zeros(4)), "PLATE")
    for x, y in holding.pins.tolist():
        _polyline(plot, circle(x, y, PIN - holding.kerf), "HOLD")
    for cut in cuts:
        _line(plot, cut.eye_lead)
        _polyline(plot, cut.eye, "EYE")
    for cut in cuts:
        _line(plot, cut.lead)
        for piece in tabbed(cut.outline, holding.tabs, holding.tab, holding.kerf):
            _polyline(plot, piece, "CUT")
    lengths = {d.number: d.length for d in designs}
    for cut in cuts:
        for vein in cut.veins:
            _polyline(plot, vein, "ETCH")
        number = int(plate.designs[cut.row])
        height = 0.06 * lengths[number]
        x, y = _label_place(plate, cut.row, lengths).tolist()
        turn = (float(plate.turns[cut.row]) - 90.0) % 360.0
        plot.words(str(number), (round(x, 6), round(y, 6)), height, "LABEL", turn)
    _notes(plot, words, CHECK)


def _prepare(plot: Plot) -> None:
    plot.document.header["$MEASUREMENT"] = 1
    for name, colour in LAYERS:
        plot.document.layers.add(name, color=colour)


def _notes(plot: Plot, words: Sequence[str], check: float) -> None:
    """A line of known length and words below the sheet."""
    low = -14.0
    plot.line((0.0, low), (check, low), "NOTE")
    for x in (0.0, check):
        plot.line((x, low - 2.0), (x, low + 2.0), "NOTE")
    for number, line in enumerate((f"this line is {check:g} mm = {check / 25.4:.3f} in long", *words)):
        plot.words(line, (check + 5.0 if number == 0 else 0.0, low - 2.0 - 9.0 * number), 5.0, "NOTE")


def write_kerf_dxf(file: File, side: float, hole: float, eyes: Sequence[float], note: Sequence[str]) -> None:
    """Write the piece that tells the kerf: a square with a square hole, both cut on the line, and a row of eyes.

    side, hole: mm. eyes: diameters to try the loop's wire in, mm.
    """

    def draw(plot: Plot) -> None:
        _prepare(plot)
        width = side + 20.0 + 14.0 * len(eyes)
        frame = np.array([[-10, -10], [width, -10], [width, side + 10], [-10, side + 10]], dtype=float)
        _polyline(plot, Path(frame, np.zeros(4)), "PLATE")
        for k, eye in enumerate(eyes):
            _polyline(plot, circle(side + 14.0 + 14.0 * k, side / 2, eye), "EYE")
        low, high = (side - hole) / 2, (side + hole) / 2
        inner = np.array([[low, low], [low, high], [high, high], [high, low]])
        _line(plot, np.array([[low + 3.0, side / 2], [low, side / 2]]))
        _polyline(plot, Path(np.insert(inner, 1, [low, side / 2], axis=0), np.zeros(5)), "EYE")
        outer = np.array([[0, side / 2], [0, 0], [side, 0], [side, side], [0, side]], dtype=float)
        _line(plot, np.array([[-3.0, side / 2], [0.0, side / 2]]))
        _polyline(plot, Path(outer, np.zeros(5)), "CUT")
        _notes(plot, note, CHECK)

    file.write_text(dxf_text(draw), encoding="utf-8", newline="\n")


def sheet_words(plate: Plate, units: System, runs: int, name: str) -> list[str]:
    """Return what stands under a sheet: what it is, how often it is cut, its size in both units."""
    both = [" x ".join(format_length(side, each) for side in (plate.width, plate.height)) for each in ("mm", "inch")]
    first, second = both if units == "mm" else both[::-1]
    times = "once" if runs == 1 else f"{runs} times"
    return [
        f"{name}: cut {times}",
        f"sheet {first} = {second}; one drawing unit is 1 mm",
        "cut HOLD, EYE (each after its LEAD), then CUT in the order drawn; ETCH marks only",
        "PLATE, LABEL and NOTE are never cut",
    ]


def _label_place(plate: Plate, row: int, lengths: dict[int, float]) -> Any:
    """Beside the midrib, a third of the way down, along the leaf."""
    length = lengths[int(plate.designs[row])]
    a = np.deg2rad(float(plate.turns[row]))
    local = np.array([0.02 * length, -0.3 * length])
    return np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]) @ local + plate.shifts[row]


def _line(plot: Plot, ends: Any) -> None:
    start, stop = (np.round(np.asarray(ends), 6) + 0.0).tolist()
    plot.line(start, stop, "LEAD")


def _polyline(plot: Plot, path: Path, layer: str) -> None:
    corners, bulges = np.round(path.points, 6) + 0.0, np.round(path.bulges, 6) + 0.0
    plot.polyline(corners, layer, path.closed, bulges)


def write_plate_picture(file: File, plate: Plate, cuts: Sequence[Cut], pixels: int = 1400) -> None:
    """Write a picture of one kind of plate as PNG, its longer side `pixels` wide: leaves with veins, eyes, pierces,
    the number of each design and, smaller, its place in the order of cutting."""
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
    small = image.reduce(grow)
    _write_numbers(small, plate, cuts, scale / grow, edge)
    small.save(file, optimize=False)


def _write_numbers(image: Any, plate: Plate, cuts: Sequence[Cut], scale: float, edge: int) -> None:
    from PIL import ImageDraw, ImageFont

    pen = ImageDraw.Draw(image)
    large, small = ImageFont.load_default(size=34), ImageFont.load_default(size=16)
    for place, cut in enumerate(cuts, 1):
        x, y = np.asarray(cut.outline.points).mean(axis=0)
        at = (edge + x * scale, image.size[1] - edge - y * scale)
        for text, letters, shift in ((str(int(plate.designs[cut.row])), large, 0), (f"cut {place}", small, 30)):
            where = (at[0], at[1] + shift)
            pen.text(where, text, fill=(255, 255, 255), font=letters, anchor="mm", stroke_width=1, stroke_fill=_INK)
