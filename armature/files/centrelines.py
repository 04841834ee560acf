"""centrelines.dxf: every bar as true lines and arcs in space, a layer per rank, millimetres.

An ARC of DXF lies in a plane of its own: its normal is the extrusion, and its centre and angles are given in the axes
that follow from that normal (DXF reference, "Arbitrary axis algorithm"). Each entity carries its bar's tag.
"""

from __future__ import annotations

import numpy as np

from armature.files.dxf import dxf_text
from armature.files.plot import APP, Plot
from armature.tree import RANKS, Floats, Tree

# Colour numbers of the DXF palette: earth to leaf.
_COLOURS = dict(zip(RANKS, (32, 34, 40, 52, 62, 36), strict=True))


def centrelines_dxf(tree: Tree) -> str:
    """Return the drawing as DXF text (release 2010, the oldest that every reader of arcs in space takes).

    Straights under a nanometre, between bends that touch, are left out.
    """
    return dxf_text(lambda plot: _draw(plot, tree))


def _draw(plot: Plot, tree: Tree) -> None:
    plot.document.appids.add(APP)
    used = np.unique(tree.ranks).tolist()
    for rank in used:
        plot.document.layers.add(RANKS[rank], color=_COLOURS[RANKS[rank]])
    chains = tree.chains
    start = chains.vertices[chains.starts] + chains.directions * chains.tangents_in[:, None]
    stop = start + chains.directions * chains.feeds[:, None]
    arcs = list(_arcs(tree, stop))
    # Rounded far below what can be measured, so that the drawing is the same on every kind of processor.
    start, stop = _to(start, 8), _to(stop, 8)
    arcs = [_to(values, decimals) for values, decimals in zip(arcs, (8, 8, 10, 10, 12), strict=True)]
    tags, ranks = tree.tags.tolist(), tree.ranks.tolist()
    for straight, member in enumerate(chains.members.tolist()):
        rank, tag = RANKS[ranks[member]], tags[member]
        if chains.feeds[straight] > 1e-6:
            plot.line(start[straight].tolist(), stop[straight].tolist(), rank, tag)
        if chains.arcs[straight] > 1e-6:
            centre, radius, first, last, normal = (value[straight].tolist() for value in arcs)
            plot.arc(centre, radius, (first, last), normal, rank, tag)


def _to(values: Floats, decimals: int) -> Floats:
    return np.asarray(np.round(values, decimals) + 0.0)


def _arcs(tree: Tree, stop: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return, for each straight, the arc behind it: centre, radius, first and last angle (deg), normal."""
    chains = tree.chains
    normals = np.cross(chains.directions, chains.inward)
    across, aside = arbitrary_axes(normals)
    centre = stop + chains.inward * chains.bend_radii[:, None]
    own = np.stack([np.einsum("ij,ij->i", centre, axis) for axis in (across, aside, normals)], axis=1)
    out = -chains.inward
    first = np.degrees(np.arctan2(np.einsum("ij,ij->i", out, aside), np.einsum("ij,ij->i", out, across))) % 360.0
    last = (first + np.degrees(chains.bends)) % 360.0
    return own, chains.bend_radii, first, last, normals


def arbitrary_axes(normals: Floats) -> tuple[Floats, Floats]:
    """Return the x and y axes (N, 3) that DXF gives to planes of unit normals (N, 3).

    >>> x, y = arbitrary_axes(np.array([[0.0, 0.0, 1.0], [0.0, -1.0, 0.0]]))
    >>> (x + 0.0).tolist(), (y + 0.0).tolist()
    ([[1.0, 0.0, 0.0], [1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    """
    # The bound of 1/64 is the format's own.
    upright = np.abs(normals[:, :2]).max(axis=1, keepdims=True) < 1.0 / 64.0
    helper = np.where(upright, [0.0, 1.0, 0.0], [0.0, 0.0, 1.0])
    across = np.cross(helper, normals)
    across = across / np.maximum(np.sqrt(np.sum(across**2, axis=1, keepdims=True)), 1e-300)
    return across, np.cross(normals, across)
