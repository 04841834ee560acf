"""A scene as one run of bytes for a browser: a head in JSON, then its arrays.

Places are kept to 1/65535 of a part's size, directions to 1/127, colours as the square root of their linear value in
a byte. Faces are kept as their differences from one to the next, corner by corner, modulo 2**32: what repeats from
ring to ring is then the same bytes, which a page packs to a fraction.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from armature.metals import AGES
from armature.pictures.foliage import finish_of, tones
from armature.pictures.moving import moving_ground, moving_leaves, moving_steel
from armature.pictures.parts import Part
from armature.pictures.scene import Scene
from armature.tree import Floats, Ints, Tree

# Decimals of a mm that the page's head tells: the rest hangs on the processor.
_DIGITS = 3
_KINDS = {"uint8": "u8", "int8": "i8", "uint16": "u16", "uint32": "u32"}


@dataclass(frozen=True, eq=False)
class Extra:
    """What the client's page shows beyond the scene.

    alone, bare_alone: light of the ground (N, 3) where no figure stands, in leaf and bare. moving: whether to draw less
    while the tree turns. book: further words of the head.
    """

    alone: Floats | None = None
    bare_alone: Floats | None = None
    moving: bool = False
    book: Mapping[str, Any] = field(default_factory=dict)


def packed(scene: Scene, tree: Tree, bare: Mapping[str, Floats] | None = None, extra: Extra | None = None) -> bytes:
    """Return the scene as bytes; bare: light (N, 3) by the name of a part when no leaf hangs."""
    arrays: list[bytes] = []
    offset = 0

    def kept(values: NDArray[Any]) -> list[Any]:
        nonlocal offset
        raw = np.ascontiguousarray(values).tobytes()
        place = offset
        padded = raw + b"\0" * (-len(raw) % 4)
        arrays.append(padded)
        offset += len(padded)
        return [_KINDS[values.dtype.name], place, int(values.size)]

    steel = next(each for each in scene.parts if each.name == "steel").vertices
    head = {
        "sky": scene.sky.uniforms(),
        "fade": np.round(scene.fade, _DIGITS).tolist(),
        "low": steel.min(axis=0).round(_DIGITS).tolist(),
        "high": steel.max(axis=0).round(_DIGITS).tolist(),
        "parts": [_part(each, kept, (bare or {}).get(each.name)) for each in scene.parts],
        "tones": {age: kept(_bytes(np.sqrt(tones(tree, age, scene.metal)))) for age in AGES},
        "finishes": {age: _finish(finish_of(age, scene.metal)) for age in AGES},
    }
    if extra is not None:
        _add(head, scene, tree, bare or {}, extra, kept)
    text = json.dumps(head, separators=(",", ":")).encode()
    return len(text).to_bytes(4, "little") + text + b"\0" * (-len(text) % 4) + b"".join(arrays)


def _add(head: dict[str, Any], scene: Scene, tree: Tree, bare: Mapping[str, Floats], extra: Extra, kept: Any) -> None:
    """Add to the head what only the client's page asks for."""
    head["book"], head["paved"] = dict(extra.book), scene.paved
    arrays = {told["name"]: told["arrays"] for told in head["parts"]}
    for name, light in (("aloneLight", extra.alone), ("bareAloneLight", extra.bare_alone)):
        if light is not None:
            arrays["ground"][name] = kept(_bytes(light))
    if not extra.moving:
        return
    head["moving"] = True
    for each in scene.parts:
        if each.name in ("ground", "leaves"):
            faces = moving_ground(each) if each.name == "ground" else moving_leaves(each)
            arrays[each.name]["movingFaces"] = kept(_steps(faces))
        elif each.name == "steel":
            prisms, near = moving_steel(tree, each)
            light = bare["steel"][near] if "steel" in bare else None
            head["parts"].append(_part(prisms, kept, light))


def _steps(faces: Ints) -> NDArray[np.uint32]:
    return np.diff(faces, axis=0, prepend=0).astype(np.uint32)


def _part(each: Part, kept: Any, bare: Floats | None) -> dict[str, Any]:
    low, high = (np.round(corner, _DIGITS) for corner in (each.vertices.min(axis=0), each.vertices.max(axis=0)))
    span = np.maximum(high - low, 1e-6).round(6)
    packed = {
        "place": kept(np.round(np.clip((each.vertices - low) / span, 0.0, 1.0) * 65535.0).astype(np.uint16)),
        "normal": kept(np.round(each.normals * 127.0).astype(np.int8)),
        "light": kept(_bytes(each.light)),
        "faces": kept(_steps(each.faces)),
    }
    if each.name != "leaves":
        packed["colour"] = kept(_bytes(np.sqrt(each.colours)))
    if each.name in ("steel", "leaves", "moving steel"):
        # Keys are told apart up to 65,535; a crown beyond that is drawn all the same and only not picked right.
        packed["key"] = kept((each.keys % 65536).astype(np.uint16))
    if bare is not None:
        packed["bareLight"] = kept(_bytes(bare))
    return {
        "name": each.name,
        "count": len(each.vertices),
        "low": low.tolist(),
        "span": span.tolist(),
        "finish": _finish(each.finish),
        "arrays": packed,
    }


def _finish(finish: Any) -> list[float]:
    return [finish.roughness, finish.metal, float(finish.both_sides)]


def _bytes(values: Floats) -> NDArray[np.uint8]:
    return np.round(np.clip(values, 0.0, 1.0) * 255.0).astype(np.uint8)
