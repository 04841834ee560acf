"""The steel as one watertight body, and as a binary STL file of it.

Size letters: N vertices, F faces. Lengths are mm.

Members are united by Manifold (Lalish, "Manifold", an open-source library whose results are always closed). A reader
of STL joins corners by their written coordinates, so two corners that round to the same place would open or pinch the
body there: such a corner is moved ten steps of the grid, a hundredth of a millimetre, into the steel.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from armature.files.normals import vertex_normals
from armature.files.skin import Skin, bores
from armature.tree import Floats, Ints, Tree

if TYPE_CHECKING:
    from manifold3d import Manifold


@dataclass(frozen=True, eq=False)
class Body:
    """A closed mesh: vertices (N, 3) mm, all different on the file's grid; faces (F, 3) rows of vertices."""

    vertices: Floats
    faces: Ints

    @property
    def volume_mm3(self) -> float:
        """Volume inside the surface, mm3, by the divergence theorem."""
        a, b, c = (self.vertices[self.faces[:, corner]] for corner in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def steel_body(tree: Tree, outside: Skin) -> Body:
    """Return all steel as one body: members united where they meet, pipes hollow.

    outside: `skin(tree)`. A pipe is open at its ends where nothing closes it; its bore ends at its parent's skin.
    """
    from manifold3d import Manifold, OpType

    solids = [_solid(*outside.member(row)) for row in range(len(tree))]
    whole = Manifold.batch_boolean(solids, OpType.Add)
    pipes = np.flatnonzero(tree.walls > 0.0)
    if len(pipes):
        inner = bores(tree, pipes)
        hollows = [_solid(*inner.member(at)) for at in range(len(pipes))]
        for at, row in enumerate(pipes.tolist()):
            if tree.parents[row] >= 0:
                hollows[at] -= solids[int(tree.parents[row])]
        whole -= Manifold.batch_boolean(hollows, OpType.Add)
    mesh = whole.to_mesh64()
    faces = np.asarray(mesh.tri_verts, dtype=np.int64)
    return Body(apart(np.asarray(mesh.vert_properties[:, :3]), faces), faces)


def stl_bytes(body: Body) -> bytes:
    """Return a binary STL file of a body, in mm."""
    import trimesh
    from trimesh.exchange.stl import export_stl

    return bytes(export_stl(trimesh.Trimesh(body.vertices, body.faces, process=False)))


def _solid(vertices: Floats, faces: Ints) -> Manifold:
    from manifold3d import Manifold, Mesh64

    return Manifold(Mesh64(vert_properties=vertices, tri_verts=faces.astype(np.uint64)))


def apart(vertices: Floats, faces: Ints) -> Floats:
    """Return the vertices on the grid, those that would fall together moved into the steel."""
    grid = grid_mm(vertices)
    places = np.rint(vertices / grid)
    inward = -vertex_normals(vertices, faces)
    for step in range(1, 50):
        again = _repeated(places)
        if not len(again):
            break
        places[again] = np.rint((vertices[again] + inward[again] * 10.0 * grid * step) / grid)
    return np.asarray(places * grid)


def grid_mm(vertices: Floats) -> float:
    """Return the step that written coordinates are rounded to, mm: 0.001, or more where single precision is coarser.

    >>> grid_mm(np.array([[0.0, 0.0, 4800.0]])), grid_mm(np.array([[0.0, 0.0, 12000.0]]))
    (0.001, 0.002)
    """
    finest = 2.0 * float(np.spacing(np.float32(np.abs(vertices).max(initial=0.0))))
    return 0.001 * 2.0 ** max(0, math.ceil(math.log2(finest / 0.001)))


def _repeated(places: Floats) -> Ints:
    """Return the rows whose place on the grid an earlier row has taken."""
    order = np.lexsort(places.T)
    same = (np.diff(places[order], axis=0) == 0).all(axis=1)
    return np.sort(order[1:][same])
