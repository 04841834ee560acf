"""tree.obj: an object per tag, millimetres, z up.

Written here: a library copies every mesh several times on the way, and takes four times as long.
"""

from __future__ import annotations

import numpy as np

from armature.files.foliage import Foliage
from armature.files.skin import Skin
from armature.tree import Floats, Ints, Tree


def obj_text(tree: Tree, outside: Skin, foliage: Foliage) -> str:
    """Return the whole tree as OBJ text: one object a member and one a leaf.

    outside: `skin(tree)`.
    """
    parts = ["# millimetres, z up\n"]
    # Rows of vertices are counted through the whole file, from 1.
    first = 1
    members = zip(tree.tags.tolist(), map(outside.member, range(len(tree))), strict=True)
    leaves = zip(tree.leaves.tags.tolist(), map(foliage.leaf, range(len(tree.leaves))), strict=True)
    for tag, (vertices, faces) in (*members, *leaves):
        parts.append(_object(tag, vertices, faces + first))
        first += len(vertices)
    return "\n".join(parts) + "\n\n"


def _object(tag: str, vertices: Floats, faces: Ints) -> str:
    places = "v %.4f %.4f %.4f\n" * len(vertices) % tuple(vertices.ravel().tolist())
    return f"o {tag}\n{places}" + "f %d %d %d\n" * len(faces) % tuple(np.ravel(faces).tolist())
