"""Forged steel to look at: bars with collars at their welds, drawn-out tips and the marks of the hammer.

The collar is a picture of the dressed weld; lists and files know nothing of it.
"""

from __future__ import annotations

import numpy as np

from armature.centreline import Floats, Ints, row_norms
from armature.pictures.parts import Finish, Part, linear, part
from armature.seeds import keys, uniform
from armature.tree import Tree
from armature.tubes import Rings, rings, swept

FORGED = Finish(roughness=0.42, metal=0.85)
_DARK, _BLUED, _WORN = linear("3a3b3e"), linear("34383f"), linear("55504a")
# Share of the radius by which a dressed weld swells, and over how many diameters it runs out.
_SWELL, _RUN_OUT = 0.45, 0.55


def steel(tree: Tree, step: float = 45.0, fine: float = 1.0) -> Part:
    """Return the members as forged steel; step: mm between rings, fine: factor on the corners of each ring."""
    d = tree.start_diameters
    collars = d[:, None] * np.array([0.2, 0.45, 0.8, 1.3])
    found = rings(tree, chord_error=1.0, step=step, more=collars)
    facets = np.clip(np.round((4.0 + 1.15 * np.sqrt(d)) * fine), 4, 28).astype(np.int64)
    mesh = swept(tree.chains, _welded(tree, found), facets)
    normals = _hammered(mesh.normals, mesh.members, tree)
    return part("steel", mesh.vertices, normals, mesh.faces, _shades(tree, mesh.members), FORGED, mesh.members)


def _welded(tree: Tree, found: Rings) -> Rings:
    """Return rings that begin inside the parent and swell toward the weld."""
    hosted = tree.parents >= 0
    first = np.searchsorted(found.members, np.arange(len(tree)))
    rows = np.flatnonzero(hosted)
    at = np.insert(found.stations, first[rows], -tree.setbacks[rows])
    members = np.insert(found.members, first[rows], rows)
    radii = np.insert(found.radii, first[rows], tree.start_diameters[rows] / 2.0)
    reach = np.maximum(tree.start_diameters[members] * _RUN_OUT, 1e-9)
    swell = _SWELL * np.exp(-((np.maximum(at, 0.0) / reach) ** 1.5)) * hosted[members]
    # A collar never swells past its parent.
    parent = tree.diameters_at(np.maximum(tree.parents, 0), tree.stations)[members] / 2.0
    swollen = radii * (1.0 + swell)
    limit = np.maximum(radii, 0.92 * parent)
    foot = np.where(hosted[members], np.minimum(swollen, limit), radii * (1.0 + 0.35 * np.exp(-at / reach / 1.5)))
    return Rings(members, at, foot)


def _hammered(normals: Floats, members: Ints, tree: Tree) -> Floats:
    """Return normals tilted a little, vertex by vertex, as hammer blows leave them; thick bars show it most."""
    key = keys(0, [f"{row}" for row in range(64)], "hammer")
    wild = uniform(key, -(-len(normals) * 3 // 64)).ravel()[: len(normals) * 3].reshape(-1, 3) * 2.0 - 1.0
    depth = np.clip(np.sqrt(tree.start_diameters[members]) * 0.028, 0.05, 0.20)
    tilted = normals + wild * depth[:, None]
    return np.asarray(tilted / row_norms(tilted)[:, None])


def _shades(tree: Tree, members: Ints) -> Floats:
    """Return colours that drift from bar to bar between scale black, blue and worn brown."""
    draw = uniform(keys(0, tree.tags, "shade"), 2)
    each = _DARK + draw[:, :1] * 0.5 * (_BLUED - _DARK) + draw[:, 1:] ** 3 * 0.8 * (_WORN - _DARK)
    return np.asarray(each[members])
