"""What the client's page draws while the tree turns: so few triangles that a machine without a graphics card keeps up.

Bars become prisms without flares or domes, each leaf a kite of two triangles, the ground a wider grid; loops are left
out. Colour and light are those of the nearest place of the full part, so that nothing jumps when the hand rests.

Size letters: N vertices, F faces, L leaves.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.pictures.parts import Part, grid_faces
from armature.tree import Floats, Ints, Tree, rings, swept

# Triangles that bars and leaves may have.
STEEL_MOST, LEAVES_MOST = 17_000, 12_000
_GROUND_MOST = 1_800
_ERRORS = (3.0, 6.0, 12.0, 25.0, 50.0, 100.0)  # mm by which a prism's edge may pass a bend, tried in turn
_THIN, _STOUT = 14.0, 45.0


def moving_steel(tree: Tree, steel: Part) -> tuple[Part, Ints]:
    """Return the bars as prisms, and for each of their vertices (N,) the nearest one of the full part."""
    from scipy.spatial import cKDTree

    d = tree.start_diameters
    facets = np.select([d < _THIN, d < _STOUT], [3, 4], 6)
    for error in _ERRORS:
        circles = rings(tree, chord_error=error)
        if int((2 * facets[circles.members]).sum()) <= STEEL_MOST:
            break
    mesh = swept(tree.chains, circles, facets)
    near = np.asarray(cKDTree(steel.vertices).query(mesh.vertices)[1], dtype=np.int64)
    prisms = replace(
        steel,
        name="moving steel",
        vertices=mesh.vertices,
        normals=mesh.normals,
        faces=np.asarray(mesh.faces, dtype=np.int64),
        colours=np.asarray(steel.colours)[near],
        light=steel.light[near],
        keys=mesh.members,
    )
    return prisms, near


def moving_leaves(leaves: Part) -> Ints:
    """Return faces (F, 3) that draw each leaf as a kite between its own corners: the two ends farthest apart, and the
    widest places between them; of a crowd one side each, or only some leaves.
    """
    firsts = np.flatnonzero(np.diff(leaves.keys, prepend=-1))
    counts = np.diff(np.append(firsts, len(leaves.keys)))
    kites = np.zeros((len(firsts), 4), dtype=np.int64)
    for count in np.unique(counts).tolist():
        rows = np.flatnonzero(counts == count)
        kites[rows] = firsts[rows, None] + _corners(leaves.vertices[firsts[rows, None] + np.arange(count)])
    if len(kites) > LEAVES_MOST:
        kites = kites[np.linspace(0, len(kites) - 1, LEAVES_MOST).round().astype(np.int64)]
    one = kites[:, [0, 2, 1]]
    return one if 2 * len(kites) > LEAVES_MOST else np.concatenate([one, kites[:, [0, 1, 3]]])


def _corners(places: Floats) -> Ints:
    """Rows of the eye's end, the tip and the two widest places of leaves (L, K, 3): (L, 4)."""
    many = np.arange(len(places))
    first = _farthest(places, places.mean(axis=1))
    second = _farthest(places, places[many, first])
    along = places[many, second] - places[many, first]
    along /= np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-9)
    off = places - places[many, first][:, None]
    off = off - (off @ along[:, :, None]) * along[:, None]
    third = np.linalg.norm(off, axis=2).argmax(axis=1)
    across = off[many, third]
    fourth = np.einsum("lkj,lj->lk", off, across).argmin(axis=1)
    return np.stack([first, second, third, fourth], axis=1)


def _farthest(places: Floats, origin: Floats) -> Ints:
    return np.asarray(np.linalg.norm(places - origin[:, None], axis=2).argmax(axis=1))


def moving_ground(ground: Part) -> Ints:
    """Return faces (F, 3) of the ground's grid with wider meshes."""
    side = int(np.sqrt(len(ground.vertices)))
    lines = max(int(np.sqrt(_GROUND_MOST / 2.0)), 2)
    kept = np.unique(np.linspace(0, side - 1, min(lines, side)).round().astype(np.int64))
    return (kept[:, None] * side + kept).ravel()[grid_faces(len(kept), len(kept))]
