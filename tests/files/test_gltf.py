"""tree.glb opens in other programs with a node per tag, in metres, y up."""

from __future__ import annotations

import io
import json
from typing import Any

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from armature.files.foliage import Foliage, plain_foliage
from armature.files.gltf import glb_bytes
from armature.files.skin import skin
from armature.tree import RANKS, Tree
from tests.trees import gallows, post, random_tree


def glb(tree: Tree) -> bytes:
    return glb_bytes(tree, skin(tree), plain_foliage(tree, 100.0))


def opened(tree: Tree) -> Any:
    return trimesh.load(io.BytesIO(glb(tree)), file_type="glb")


def document(raw: bytes) -> Any:
    size = int(np.frombuffer(raw, "<u4", 1, 12)[0])
    return json.loads(raw[20 : 20 + size])


def y_up(points: Any) -> Any:
    return np.stack([points[..., 0], points[..., 2], -points[..., 1]], axis=-1) / 1000.0


def test_every_tag_is_a_node_and_blades_are_stored_once() -> None:
    tree = random_tree(24, leaves_a_twig=3)
    scene = opened(tree)
    assert set(scene.graph.nodes_geometry) == {*tree.tags.tolist(), *tree.leaves.tags.tolist()}
    assert len(scene.geometry) == len(tree) + 1


def test_nodes_stand_where_their_bars_start_and_their_leaves_hang() -> None:
    tree = random_tree(24)
    scene = opened(tree)
    places = np.array([scene.graph[tag][0][:3, 3] for tag in tree.tags.tolist()])
    np.testing.assert_allclose(places, y_up(tree.starts), atol=1e-7)
    leaves = np.array([scene.graph[tag][0][:3, 3] for tag in tree.leaves.tags.tolist()])
    np.testing.assert_allclose(leaves, y_up(tree.hang_points), atol=1e-7)


def test_the_extent_of_each_node_is_that_of_its_bar_in_metres() -> None:
    tree = random_tree(24)
    scene, outside = opened(tree), skin(tree)
    for row in range(0, len(tree), 5):
        place, name = scene.graph[tree.tags[row]]
        found = trimesh.transform_points(scene.geometry[name].vertices, place)
        wanted = y_up(outside.member(row)[0])
        # Single precision at some metres: under a micrometre.
        np.testing.assert_allclose(found.min(axis=0), wanted.min(axis=0), atol=1e-6)
        np.testing.assert_allclose(found.max(axis=0), wanted.max(axis=0), atol=1e-6)


def test_a_post_stands_along_y() -> None:
    low, high = opened(post()).bounds
    np.testing.assert_allclose([low[1], high[1]], [0.0, 1.0], atol=1e-7)
    # Twelve corners of a 20 mm round of the same area reach a little further out.
    assert 0.0099 < high[0] < 0.0105


def test_children_hang_under_their_parents() -> None:
    tree = random_tree(24)
    nodes = document(glb(tree))["nodes"]
    for node in nodes[: len(tree)]:
        for child in node.get("children", []):
            parent = tree.tags[tree.leaves.twigs[child - len(tree)]] if child >= len(tree) else None
            parent = tree.tags[tree.parents[child]] if parent is None else parent
            assert node["name"] == parent
    assert [node["extras"]["rank"] for node in nodes[: len(tree)]] == [RANKS[rank] for rank in tree.ranks]


def test_a_leaf_is_turned_as_its_foliage_says() -> None:
    tree, blade = gallows(), (np.array([[0.0, 0, 0], [10.0, 0, -50.0], [-20.0, 5.0, -70.0]]), np.array([[0, 1, 2]]))
    turn = Rotation.from_euler("xyz", [20.0, -40.0, 130.0], degrees=True).as_matrix()[None]
    foliage = Foliage([blade], np.zeros(1, dtype=np.int64), turn, tree.hang_points)
    scene: Any = trimesh.load(io.BytesIO(glb_bytes(tree, skin(tree), foliage)), file_type="glb")
    place, name = scene.graph["A-1"]
    found = trimesh.transform_points(scene.geometry[name].vertices, place)
    np.testing.assert_allclose(found, y_up(foliage.leaf(0)[0]), atol=1e-6)


def test_steel_and_leaf_metal_are_metals_and_leaves_are_seen_from_both_sides() -> None:
    steel, leaf = document(glb(gallows()))["materials"]
    assert steel["pbrMetallicRoughness"]["metallicFactor"] > 0.5
    assert leaf["pbrMetallicRoughness"]["metallicFactor"] > 0.5
    assert leaf["doubleSided"]
    assert leaf["name"] == "leaf copper"
    assert len(document(glb(post()))["materials"]) == 1


def test_accessors_state_the_bounds_of_what_they_hold_and_stay_in_their_views() -> None:
    raw = glb(random_tree(8))
    found = document(raw)
    start = 20 + int(np.frombuffer(raw, "<u4", 1, 12)[0]) + 8
    assert len(raw) == int(np.frombuffer(raw, "<u4", 1, 8)[0]) == start + found["buffers"][0]["byteLength"]
    for accessor in found["accessors"]:
        view = found["bufferViews"][accessor["bufferView"]]
        kind, wide = {5126: "<f4", 5125: "<u4"}[accessor["componentType"]], 3 if accessor["type"] == "VEC3" else 1
        size = accessor["count"] * wide * np.dtype(kind).itemsize
        offset = accessor.get("byteOffset", 0)
        assert offset + size <= view["byteLength"]
        values = np.frombuffer(raw, kind, accessor["count"] * wide, start + view["byteOffset"] + offset)
        values = values.reshape(-1, wide)
        if "min" in accessor:
            assert values.min(axis=0).tolist() == accessor["min"]
            assert values.max(axis=0).tolist() == accessor["max"]
        elif accessor["type"] == "VEC3":
            np.testing.assert_allclose(np.linalg.norm(values, axis=1), 1.0, atol=1e-6)


@pytest.mark.parametrize("length", [20.0, 120.0, 400.0])
def test_the_plain_blade_is_a_closed_plate_that_hangs_from_its_eye(length: float) -> None:
    tree = gallows()
    vertices, faces = plain_foliage(tree, length).blades[0]
    blade = trimesh.Trimesh(vertices, faces, process=False)
    assert blade.is_volume
    assert blade.bounds[1][2] == 0.0
    assert blade.bounds[0][2] == pytest.approx(-length * 7.0 / 6.0)
