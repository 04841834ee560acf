"""A tree as a few hundred lines, drawn from its arrays alone: the small picture that a notebook shows."""

from __future__ import annotations

import numpy as np

from armature.tree.centreline import Chains, Floats

_HIGH = 360.0
_EDGE = 8.0
_STEEL, _LEAF = "#4a4440", "#b4703c"


def sketched(chains: Chains, diameters: Floats, leaves: Floats) -> str:
    """Return an SVG of members and leaves seen from the front, x across and z up, 360 px high.

    diameters: (M,) mm, how thick each line is drawn, never under half a pixel. leaves: (L, 3) mm, a dot each.

    >>> stick = Chains(np.array([0, 2]), np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 1000.0]]), np.zeros(2))
    >>> sketched(stick, np.array([20.0]), np.zeros((0, 3))).count("<path")
    1
    """
    points = np.concatenate([chains.vertices, leaves]) if len(leaves) else chains.vertices
    low, high = points.min(axis=0), points.max(axis=0)
    scale = (_HIGH - 2.0 * _EDGE) / max(float(high[2] - low[2]), float(high[0] - low[0]) / 2.0, 1.0)
    wide = scale * float(high[0] - low[0]) + 2.0 * _EDGE

    def on_paper(places: Floats) -> list[str]:
        across = _EDGE + scale * (places[:, 0] - low[0])
        down = _HIGH - _EDGE - scale * (places[:, 2] - low[2])
        return [f"{x:.1f},{y:.1f}" for x, y in zip(across.tolist(), down.tolist(), strict=True)]

    corners = on_paper(chains.vertices)
    # What is further off is drawn first, and what is near covers it.
    middles = np.add.reduceat(chains.vertices[:, 1], chains.offsets[:-1]) / np.diff(chains.offsets)
    lines = [
        f'<path d="M{" ".join(corners[chains.offsets[row] : chains.offsets[row + 1]])}"'
        f' stroke-width="{max(scale * float(diameters[row]), 0.5):.1f}"/>'
        for row in np.argsort(-middles, kind="stable").tolist()
    ]
    dots = [f'<circle cx="{x}" cy="{y}" r="1.6"/>' for x, y in (place.split(",") for place in on_paper(leaves))]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.0f}" height="{_HIGH:.0f}">'
        f'<g fill="none" stroke="{_STEEL}" stroke-linecap="round" stroke-linejoin="round">{"".join(lines)}</g>'
        f'<g fill="{_LEAF}" fill-opacity="0.8">{"".join(dots)}</g></svg>'
    )
