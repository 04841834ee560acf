"""The marked sheet as a PDF: print it without scaling, lay a drawing or a leaf on it, photograph it."""

from __future__ import annotations

from pathlib import Path

from armature.marks import marked_sheet, marker_squares
from armature.papers import GREY, INK, Sheet


def write_marked_sheet(file: Path, name: str = "A4") -> None:
    """Write the marked sheet on A4 or Letter paper as PDF, with a 100 mm line to check the print by."""
    paper = marked_sheet(name)
    sheet = Sheet(paper.name, "Marked sheet")
    sheet.add_page()
    for number, corners in zip(paper.ids, paper.corners, strict=True):
        left, top = (float(v) for v in corners[0])
        side = float(corners[1, 0] - corners[0, 0])
        squares = marker_squares(number)
        step = side / len(squares)
        sheet.ink(INK)
        sheet.rect(left, top, side, side, style="F")
        sheet.set_fill_color(255)
        for row, line in enumerate(squares):
            for column, black in enumerate(line):
                if not black:
                    sheet.rect(
                        left + column * step - 0.01, top + row * step - 0.01, step + 0.02, step + 0.02, style="F"
                    )
    middle, low = paper.width / 2, paper.height
    sheet.ink(GREY)
    sheet.words(
        middle,
        6.0,
        "Print without scaling. Lay one drawing or one leaf here, its apex toward the foot of the sheet.",
        7,
        align="C",
    )
    sheet.rule(middle - 50.0, low - 5.5, 100.0, 0.25, GREY)
    sheet.words(
        middle,
        low - 2.2,
        "100 mm: measure it. Keep the paper flat, show all six markers, no shadow across them.",
        6,
        align="C",
    )
    file.write_bytes(sheet.printed())
