"""The tree as trimesh holds it: a mesh a bar, named by its tag, a mesh a blade, and each of them in its place."""

from __future__ import annotations

from typing import Any

import numpy as np

from armature.files.foliage import Foliage
from armature.files.normals import vertex_normals
from armature.files.skin import Skin
from armature.metals import mirror
from armature.tree import RANKS, Floats, Tree

# Steel as it leaves the fire, under wax: dark scale, half polished.
_FORGED = (0.12, 0.118, 0.122)


def tree_scene(tree: Tree, outside: Skin, foliage: Foliage, metal: str, turn: Floats, scale: float = 1.0) -> Any:
    """Return a trimesh scene: members nested as they are welded and leaves under their twigs, each from its own start.

    outside: `skin(tree)`. turn: (3, 3) rotation and scale: factor from the tree's mm to the scene's axes and unit.
    """
    import trimesh

    scene: Any = trimesh.Scene(base_frame="tree")
    steel, leaf = _material("forged steel", _FORGED, 0.85, 0.48), _material(f"leaf {metal}", mirror(metal), 1.0, 0.36)
    leaf.doubleSided = True
    tags, parents = tree.tags.tolist(), tree.parents.tolist()
    for row, tag in enumerate(tags):
        vertices, faces = outside.member(row)
        normals = outside.tubes.normals[outside.points[row] : outside.points[row + 1]]
        mesh = _mesh((vertices - tree.starts[row]) @ turn.T * scale, normals @ turn.T, faces, steel)
        start = tree.starts[row] - (tree.starts[parents[row]] if parents[row] >= 0 else 0.0)
        place = _placed(np.eye(3), turn @ start * scale)
        under = tags[parents[row]] if parents[row] >= 0 else None
        rank = {"rank": RANKS[int(tree.ranks[row])]}
        scene.add_geometry(mesh, tag, tag, under, place, metadata=rank)
    if len(tree.leaves):
        for number, (vertices, faces) in enumerate(foliage.blades):
            normals = vertex_normals(vertices, faces) @ turn.T
            scene.geometry[f"blade {number + 1}"] = _mesh(vertices @ turn.T * scale, normals, faces, leaf)
    moves = (foliage.places - tree.starts[tree.leaves.twigs]) @ turn.T * scale
    turns = turn @ foliage.turns @ turn.T
    for row, tag in enumerate(tree.leaves.tags.tolist()):
        blade, twig = f"blade {int(foliage.shapes[row]) + 1}", tags[int(tree.leaves.twigs[row])]
        scene.graph.update(tag, twig, matrix=_placed(turns[row], moves[row]), geometry=blade, metadata={"rank": "leaf"})
    return scene


def _mesh(vertices: Floats, normals: Floats, faces: Any, material: Any) -> Any:
    import trimesh

    # Nothing is merged or turned about: a bar's corners stay as they were meshed.
    mesh: Any = trimesh.Trimesh(vertices, faces, vertex_normals=normals, process=False)
    mesh.visual = trimesh.visual.TextureVisuals(material=material)
    return mesh


def _material(name: str, colour: Any, metallic: float, roughness: float) -> Any:
    from trimesh.visual.material import PBRMaterial

    base = np.round(np.array([*colour, 1.0]) * 255.0).astype(np.uint8)
    return PBRMaterial(name=name, baseColorFactor=base, metallicFactor=metallic, roughnessFactor=roughness)


def _placed(turn: Floats, move: Floats) -> Floats:
    place = np.eye(4)
    place[:3, :3], place[:3, 3] = np.round(turn, 9) + 0.0, np.round(move, 9) + 0.0
    return place
