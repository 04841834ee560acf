"""tree.glb: a node per tag, each bar turning about its joint, leaves as instances of a few blades (glTF 2.0, binary).

glTF's units are metres and its axes have y up (glTF 2.0 specification, section 3.4): (x, y, z) of the tree becomes
(x, z, -y) there.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from armature.files.foliage import Foliage
from armature.files.skin import Skin
from armature.files.solids import tree_scene
from armature.tree import Tree

_TO_Y_UP = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])


def glb_bytes(tree: Tree, outside: Skin, foliage: Foliage, metal: str = "copper") -> bytes:
    """Return tree.glb: members nested as they are welded, leaves under their twigs, in metres.

    outside: `skin(tree)`. metal: leaf metal, for its colour.
    """
    from trimesh.exchange.gltf import export_glb

    scene: Any = tree_scene(tree, outside, foliage, metal, _TO_Y_UP, 0.001)
    return bytes(export_glb(scene, include_normals=True, tree_postprocessor=_named))


def _named(document: dict[str, Any]) -> None:
    """Say who made the file: not the library, whose version would change its bytes."""
    document["asset"]["generator"] = "armature"
