"""tree.glb: a node per tag, each bar turning about its joint, leaves as instances of a few blades (glTF 2.0, binary).

glTF's units are metres and its axes have y up (glTF 2.0 specification, section 3.4): (x, y, z) of the tree becomes
(x, z, -y) there.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armature.centreline import Floats, Ints
from armature.files.foliage import Foliage
from armature.files.normals import vertex_normals
from armature.files.skin import Skin
from armature.patina import mirror
from armature.tree import RANKS, Tree

# Steel as it leaves the fire, under wax: dark scale, half polished.
_FORGED = {"baseColorFactor": [0.12, 0.118, 0.122, 1.0], "metallicFactor": 0.85, "roughnessFactor": 0.48}
_TO_Y_UP = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])
_FLOAT, _SHORT, _INT = 5126, 5123, 5125
_VERTICES, _INDICES = 34962, 34963


def glb_bytes(tree: Tree, outside: Skin, foliage: Foliage, metal: str = "copper") -> bytes:
    """Return tree.glb: members nested as they are welded, leaves under their twigs, in metres.

    outside: `skin(tree)`. metal: leaf metal, for its colour.
    """
    store = _Store()
    meshes = [_mesh(store, tag, *_member(tree, outside, row), 0) for row, tag in enumerate(tree.tags.tolist())]
    hung = len(tree.leaves) > 0
    if hung:
        for number, (vertices, faces) in enumerate(foliage.blades):
            normals = vertex_normals(vertices, faces)
            meshes.append(_mesh(store, f"blade {number + 1}", vertices @ _TO_Y_UP.T, normals @ _TO_Y_UP.T, faces, 1))
    nodes = _member_nodes(tree) + (_leaf_nodes(tree, foliage) if hung else [])
    document = {
        "asset": {"version": "2.0", "generator": "armature"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": nodes,
        "meshes": meshes,
        "materials": _materials(metal)[: 1 + hung],
        **store.tables(),
    }
    return _packed(document, store.bytes())


def quaternions(turns: Floats) -> Floats:
    """Return rotations (L, 3, 3) as unit quaternions (L, 4), x y z w.

    Of the four ways to read a quaternion off its matrix the one with the largest divisor is taken (Shepperd,
    "Quaternion from rotation matrix", J. Guidance and Control 1 (1978) 223-224).
    """
    m = turns
    trace = np.trace(m, axis1=1, axis2=2)
    squares = np.stack([2.0 * m[:, k, k] - trace for k in range(3)] + [trace], axis=1)
    pairs = np.empty((len(m), 4, 4))
    for a, b in ((0, 1), (0, 2), (1, 2)):
        pairs[:, a, b] = pairs[:, b, a] = m[:, a, b] + m[:, b, a]
    for a, b, c in ((0, 2, 1), (1, 0, 2), (2, 1, 0)):
        pairs[:, a, 3] = pairs[:, 3, a] = m[:, b, c] - m[:, c, b]
    diagonal = np.arange(4)
    pairs[:, diagonal, diagonal] = 1.0 + squares
    best = pairs[np.arange(len(m)), np.argmax(squares, axis=1)]
    return np.asarray(best / np.sqrt(np.sum(best**2, axis=1, keepdims=True)))


class _Store:
    """Numbers of the binary chunk in three runs, positions, normals, indices, and the accessors into them."""

    def __init__(self) -> None:
        self.runs: list[list[bytes]] = [[], [], []]
        self.sizes = [0, 0, 0]
        self.accessors: list[dict[str, Any]] = []

    def add(self, run: int, values: NDArray[Any], kind: str, component: int, bounded: bool = False) -> int:
        """Return the number of a new accessor to the values."""
        raw = values.tobytes()
        raw += b"\0" * (-len(raw) % 4)
        table: dict[str, Any] = {"bufferView": run, "byteOffset": self.sizes[run], "componentType": component}
        table |= {"count": len(values), "type": kind}
        if bounded:
            table |= {"min": values.min(axis=0).tolist(), "max": values.max(axis=0).tolist()}
        self.runs[run].append(raw)
        self.sizes[run] += len(raw)
        self.accessors.append(table)
        return len(self.accessors) - 1

    def bytes(self) -> bytes:
        """Return the binary chunk."""
        return b"".join(part for run in self.runs for part in run)

    def tables(self) -> dict[str, Any]:
        """Return the accessors, buffer views and buffer."""
        starts = np.cumsum([0, *self.sizes]).tolist()
        views = [
            {"buffer": 0, "byteOffset": starts[run], "byteLength": self.sizes[run], "target": target}
            for run, target in enumerate((_VERTICES, _VERTICES, _INDICES))
        ]
        for view in views[:2]:
            view["byteStride"] = 12
        return {"accessors": self.accessors, "bufferViews": views, "buffers": [{"byteLength": starts[-1]}]}


def _member(tree: Tree, outside: Skin, row: int) -> tuple[Floats, Floats, Ints]:
    """Return a member's vertices from its own start, normals and faces, y up."""
    vertices, faces = outside.member(row)
    normals = outside.tubes.normals[outside.points[row] : outside.points[row + 1]]
    start = tree.chains.vertices[tree.chains.offsets[row]]
    return (vertices - start) @ _TO_Y_UP.T, normals @ _TO_Y_UP.T, faces


def _mesh(store: _Store, name: str, vertices: Floats, normals: Floats, faces: Ints, material: int) -> dict[str, Any]:
    wide = len(vertices) > 65535
    indices = np.ascontiguousarray(faces, dtype="<u4" if wide else "<u2").ravel()
    part = {
        "attributes": {
            "POSITION": store.add(0, (vertices / 1000.0).astype("<f4"), "VEC3", _FLOAT, bounded=True),
            "NORMAL": store.add(1, normals.astype("<f4"), "VEC3", _FLOAT),
        },
        "indices": store.add(2, indices, "SCALAR", _INT if wide else _SHORT),
        "material": material,
    }
    return {"name": name, "primitives": [part]}


def _member_nodes(tree: Tree) -> list[dict[str, Any]]:
    """Return a node a member, placed from its parent's start; a twig's leaves follow the members as its children."""
    hosts = np.maximum(tree.parents, 0)
    offset = tree.starts - np.where(tree.parents[:, None] >= 0, tree.starts[hosts], 0.0)
    moves = np.round(offset @ _TO_Y_UP.T / 1000.0, 9) + 0.0
    children: list[list[int]] = [[] for _ in range(len(tree))]
    for row, parent in enumerate(tree.parents.tolist()):
        if parent >= 0:
            children[parent].append(row)
    for leaf, twig in enumerate(tree.leaves.twigs.tolist()):
        children[twig].append(len(tree) + leaf)
    nodes: list[dict[str, Any]] = []
    for row, (tag, move) in enumerate(zip(tree.tags.tolist(), moves.tolist(), strict=True)):
        node = {"name": tag, "mesh": row, "translation": move, "extras": {"rank": RANKS[int(tree.ranks[row])]}}
        nodes.append(node | ({"children": children[row]} if children[row] else {}))
    return nodes


def _leaf_nodes(tree: Tree, foliage: Foliage) -> list[dict[str, Any]]:
    moves = np.round((foliage.places - tree.starts[tree.leaves.twigs]) @ _TO_Y_UP.T / 1000.0, 9) + 0.0
    spins = np.round(quaternions(_TO_Y_UP @ foliage.turns @ _TO_Y_UP.T), 9) + 0.0
    rows = zip(tree.leaves.tags.tolist(), foliage.shapes.tolist(), moves.tolist(), spins.tolist(), strict=True)
    return [
        {"name": tag, "mesh": len(tree) + shape, "translation": move, "rotation": spin, "extras": {"rank": "leaf"}}
        for tag, shape, move, spin in rows
    ]


def _materials(metal: str) -> list[dict[str, Any]]:
    colour = [*mirror(metal), 1.0]
    leaf = {"baseColorFactor": colour, "metallicFactor": 1.0, "roughnessFactor": 0.36}
    return [
        {"name": "forged steel", "pbrMetallicRoughness": _FORGED},
        {"name": f"leaf {metal}", "pbrMetallicRoughness": leaf, "doubleSided": True},
    ]


def _packed(document: dict[str, Any], numbers: bytes) -> bytes:
    """Return both chunks in the container of glTF 2.0, section 4.4."""
    text = json.dumps(document, separators=(",", ":"), ensure_ascii=False).encode("utf-8")
    text += b" " * (-len(text) % 4)
    sizes = np.array([len(text), len(numbers)], dtype="<u4")
    head = b"glTF" + np.array([2, 12 + 8 + len(text) + 8 + len(numbers)], dtype="<u4").tobytes()
    return head + sizes[:1].tobytes() + b"JSON" + text + sizes[1:].tobytes() + b"BIN\0" + numbers
