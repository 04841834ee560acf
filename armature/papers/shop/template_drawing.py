"""templates.dxf: the full-size templates as a drawing, a layer for lines, edges, bends and tags; units mm."""

from __future__ import annotations

import numpy as np

from armature.files import Plot, dxf_text
from armature.papers.shop.strips import Strip, strips
from armature.papers.shop.templates import tile_size
from armature.shop import ShopPlan

LAYERS = {"CENTRELINE": 1, "EDGE": 7, "BEND": 3, "TAG": 5}


def templates_dxf(plan: ShopPlan, laid: list[Strip] | None = None) -> str:
    """Return the text of a DXF (R2010, mm) with every member as it lies on the floor, strip above strip.

    laid: the strips of the plan, where they are known already.
    """
    laid_strips = laid or strips(plan, tile_size(plan))
    return dxf_text(lambda plot: _draw(plot, laid_strips))


def _draw(plot: Plot, laid: list[Strip]) -> None:
    for name, colour in LAYERS.items():
        plot.document.layers.add(name, color=colour)
    top = 0.0
    for strip in laid:
        _add(plot, strip, top)
        top += strip.height + 40.0


def _add(plot: Plot, strip: Strip, top: float) -> None:
    for drawn, x, y in strip.outlines:
        line = np.round(drawn.line + [x, -top - y], 4)
        along = np.gradient(drawn.line, axis=0)
        side = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.maximum(np.linalg.norm(along, axis=1), 1e-9)[:, None]
        plot.polyline(line, "CENTRELINE")
        edge = np.concatenate([line + side * drawn.radii[:, None], (line - side * drawn.radii[:, None])[::-1]])
        plot.polyline(np.round(edge, 4), "EDGE", closed=True)
        for place in np.round(drawn.bends + [x, -top - y], 4).tolist():
            plot.point(place, "BEND")
        above = float(line[0, 1] + drawn.radii[0] + 3.0)
        plot.words(drawn.tag, (float(line[0, 0]), above), 6.0, "TAG")
