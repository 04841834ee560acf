"""Curves of a leaf on paper, at full size."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from armature.leaves.outline import Path, flattened

if TYPE_CHECKING:
    from fpdf import FPDF


def curve(pdf: FPDF, path: Path, at: tuple[float, float], grey: int = 60, line: float = 0.25) -> None:
    """Draw a path with its origin at a place, mm, y up."""
    pdf.set_draw_color(grey)
    pdf.set_line_width(line)
    points = [(at[0] + x, at[1] - y) for x, y in _points(path)]
    if path.closed:
        pdf.polygon(points, style="D")
    else:
        pdf.polyline(points)


@lru_cache(1024)
def _points(path: Path) -> list[tuple[float, float]]:
    """A design is drawn once for each of its names."""
    points: list[tuple[float, float]] = flattened(path, 0.03).tolist()
    return points
