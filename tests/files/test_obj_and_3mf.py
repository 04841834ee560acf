"""tree.obj and tree.3mf hold the same tree, in mm, by tag."""

from __future__ import annotations

import io
import zipfile
from typing import Any

import numpy as np
import trimesh
from lxml import etree

from armature.files.foliage import Foliage, plain_foliage
from armature.files.obj import obj_text
from armature.files.skin import skin
from armature.files.threemf import threemf_bytes
from armature.tree import Tree
from tests.trees import gallows, random_tree


def threemf(tree: Tree) -> bytes:
    return threemf_bytes(tree, skin(tree), plain_foliage(tree, 100.0))


def model(raw: bytes) -> Any:
    return etree.fromstring(zipfile.ZipFile(io.BytesIO(raw)).read("3D/3dmodel.model"))


def bounds(tree: Tree) -> np.ndarray:
    foliage, steel = plain_foliage(tree, 100.0), skin(tree).tubes.vertices
    every = np.concatenate([steel, *(foliage.leaf(row)[0] for row in range(len(tree.leaves)))])
    return np.array([every.min(axis=0), every.max(axis=0)])


def test_obj_has_an_object_per_tag_and_reads_back_in_place() -> None:
    tree = random_tree(16)
    text = obj_text(tree, skin(tree), plain_foliage(tree, 100.0))
    objects = [line[2:] for line in text.splitlines() if line.startswith("o ")]
    assert objects == tree.tags.tolist() + tree.leaves.tags.tolist()
    mesh: Any = trimesh.load(io.StringIO(text), file_type="obj", force="mesh", process=False)
    np.testing.assert_allclose(mesh.bounds, bounds(tree), atol=1e-4)
    held = skin(tree)
    each = [trimesh.Trimesh(*held.member(row), process=False).volume for row in range(len(tree))]
    leaf = trimesh.Trimesh(*plain_foliage(tree, 100.0).blades[0], process=False).volume
    assert abs(mesh.volume / (sum(each) + leaf * len(tree.leaves)) - 1.0) < 1e-5


def test_3mf_reads_back_in_mm_with_every_bar_closed() -> None:
    tree = random_tree(16)
    scene: Any = trimesh.load(io.BytesIO(threemf(tree)), file_type="3mf")
    assert scene.units == "millimeter"
    np.testing.assert_allclose(scene.bounds, bounds(tree), atol=2e-4)
    assert all(mesh.is_watertight for mesh in scene.geometry.values())
    assert len(scene.graph.nodes_geometry) == len(tree) + len(tree.leaves)
    assert set(tree.tags.tolist()) <= set(scene.geometry)


def test_3mf_puts_all_bars_and_leaves_into_one_thing_to_build() -> None:
    tree = random_tree(16)
    found = model(threemf(tree))
    assert found.get("unit") == "millimeter"
    names = [thing.get("name") for thing in found.iterfind(".//{*}object")]
    assert names == [*tree.tags.tolist(), "blade 1", "tree"]
    assert len(found.findall(".//{*}item")) == 1
    assert len(found.findall(".//{*}component")) == len(tree) + len(tree.leaves)


def test_3mf_says_which_meshes_are_solid_and_which_only_surface() -> None:
    tree = gallows()
    sheet = (np.array([[0.0, 0, 0], [10.0, 0, -50.0], [-20.0, 5.0, -70.0]]), np.array([[0, 1, 2]]))
    foliage = Foliage([sheet], np.zeros(1, dtype=np.int64), np.eye(3)[None], tree.hang_points)
    kinds = [thing.get("type") for thing in model(threemf_bytes(tree, skin(tree), foliage)).iterfind(".//{*}object")]
    assert kinds == ["model", "model", "surface", "model"]


def test_3mf_tells_no_date() -> None:
    entries = zipfile.ZipFile(io.BytesIO(threemf(gallows()))).infolist()
    assert {entry.date_time for entry in entries} == {(1980, 1, 1, 0, 0, 0)}
    assert entries[0].filename == "[Content_Types].xml"
