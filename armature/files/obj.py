"""tree.obj: an object per tag, millimetres, z up."""

from __future__ import annotations

from typing import Any

from armature.files.foliage import Foliage
from armature.files.skin import Skin
from armature.tree import Tree


def obj_text(tree: Tree, outside: Skin, foliage: Foliage) -> str:
    """Return the whole tree as OBJ text: one object a member and one a leaf.

    outside: `skin(tree)`.
    """
    import trimesh
    from trimesh.exchange.obj import export_obj

    scene: Any = trimesh.Scene()
    # An object takes its name from its mesh: each leaf has one of its own here, though many are alike.
    members = zip(tree.tags.tolist(), map(outside.member, range(len(tree))), strict=True)
    leaves = zip(tree.leaves.tags.tolist(), map(foliage.leaf, range(len(tree.leaves))), strict=True)
    for tag, (vertices, faces) in (*members, *leaves):
        scene.add_geometry(trimesh.Trimesh(vertices, faces, process=False), tag, tag)
    plain = {"include_normals": False, "include_color": False, "include_texture": False}
    return str(export_obj(scene, **plain, digits=4, header="millimetres, z up")) + "\n"
