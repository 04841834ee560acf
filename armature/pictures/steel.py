"""Forged steel to look at: bars that flare into one another at their welds, drawn-out tips, the marks of the hammer."""

from __future__ import annotations

import numpy as np

from armature.pictures.parts import Finish, Part, linear, part
from armature.pictures.welds import flared, shared_colour, welded
from armature.seeds import keys, uniform
from armature.tree import Floats, Ints, Rings, Tree, Tubes, rings, row_norms, swept

FORGED = Finish(roughness=0.5, metal=0.7)
_DARK, _BLUED, _WORN = linear("3a3b3e"), linear("34383f"), linear("55504a")
# Share of the radius by which the trunk swells at the ground, and over how many diameters it runs out.
_SWELL, _RUN_OUT = 0.35, 0.8
# Height of the dome that closes the trunk's end, in radii.
_DOME = 0.9


def steel(tree: Tree, step: float = 45.0, fine: float = 1.0) -> Part:
    """Return the members as forged steel; step: mm between rings, fine: factor on the corners of each ring."""
    d = tree.start_diameters
    near = d[:, None] * np.array([0.2, 0.45, 0.8, 1.3])
    circles = flared(tree, _rounded(tree, _footed(tree, rings(tree, chord_error=1.0, step=step, more=near))))
    facets = np.clip(np.round(np.maximum(4.0 + 1.15 * np.sqrt(d), 2.7 * np.sqrt(d)) * fine), 4, 32).astype(np.int64)
    mesh = welded(tree, swept(tree.chains, circles, facets))
    normals = _hammered(mesh.normals, mesh.members, tree)
    return part("steel", mesh.vertices, normals, mesh.faces, _shades(tree, mesh), FORGED, mesh.members)


def _footed(tree: Tree, circles: Rings) -> Rings:
    """Return rings that swell toward the foot of the trunk, as a trunk does at the ground."""
    reach = np.maximum(tree.start_diameters[circles.members] * _RUN_OUT, 1e-9)
    swell = _SWELL * np.exp(-circles.stations / reach) * (tree.parents[circles.members] < 0)
    return Rings(circles.members, circles.stations, circles.radii * (1.0 + swell))


def _rounded(tree: Tree, circles: Rings) -> Rings:
    """Return rings that close the trunk's end with a low dome, as a dressed end between the limbs of a fork."""
    ends = np.flatnonzero(tree.parents < 0)
    round_off = np.radians([18.0, 36.0, 54.0, 72.0])
    members = np.repeat(ends, len(round_off))
    radii = tree.end_diameters[members] / 2.0
    turn = np.tile(round_off, len(ends))
    at = np.searchsorted(circles.members, members, side="right")
    return Rings(
        np.insert(circles.members, at, members),
        np.insert(circles.stations, at, tree.lengths[members] + _DOME * radii * np.sin(turn)),
        np.insert(circles.radii, at, radii * np.cos(turn)),
    )


def _hammered(normals: Floats, members: Ints, tree: Tree) -> Floats:
    """Return normals tilted a little, vertex by vertex, as hammer blows leave them; thick bars show it most."""
    key = keys(0, [f"{row}" for row in range(64)], "hammer")
    wild = uniform(key, -(-len(normals) * 3 // 64)).ravel()[: len(normals) * 3].reshape(-1, 3) * 2.0 - 1.0
    depth = np.clip(np.sqrt(tree.start_diameters[members]) * 0.028, 0.05, 0.20)
    tilted = normals + wild * depth[:, None]
    return np.asarray(tilted / row_norms(tilted)[:, None])


def _shades(tree: Tree, mesh: Tubes) -> Floats:
    """Return colours that drift from bar to bar between scale black, blue and worn brown, and run together at welds."""
    draw = uniform(keys(0, tree.tags, "shade"), 2)
    each = _DARK + draw[:, :1] * 0.5 * (_BLUED - _DARK) + draw[:, 1:] ** 3 * 0.8 * (_WORN - _DARK)
    share = shared_colour(tree, mesh)[:, None]
    parent = each[np.maximum(tree.parents, 0)][mesh.members]
    return np.asarray(each[mesh.members] + share * (parent - each[mesh.members]))
