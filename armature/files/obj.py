"""tree.obj: a group per tag, millimetres, z up."""

from __future__ import annotations

import numpy as np

from armature.centreline import Floats, Ints
from armature.files.foliage import Foliage
from armature.files.skin import Skin
from armature.tree import Tree


def obj_text(tree: Tree, outside: Skin, foliage: Foliage) -> str:
    """Return the whole tree as OBJ text: one group a member and one a leaf.

    outside: `skin(tree)`.
    """
    parts = ["# millimetres, z up\n"]
    start = 1
    for row, tag in enumerate(tree.tags.tolist()):
        start = _add(parts, tag, *outside.member(row), start)
    for row, tag in enumerate(tree.leaves.tags.tolist()):
        start = _add(parts, tag, *foliage.leaf(row), start)
    return "".join(parts)


def _add(parts: list[str], tag: str, vertices: Floats, faces: Ints, start: int) -> int:
    """Add a group whose first vertex is number `start`; return the number after its last."""
    values = (np.round(vertices, 4) + 0.0).ravel().tolist()
    rows = (faces + start).ravel().tolist()
    parts.append(f"g {tag}\n")
    parts.append("v %.4f %.4f %.4f\n" * len(vertices) % tuple(values))
    parts.append("f %d %d %d\n" * len(faces) % tuple(rows))
    return start + len(vertices)
