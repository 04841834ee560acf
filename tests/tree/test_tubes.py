"""Bars as closed meshes."""

from __future__ import annotations

import numpy as np
import pytest

from armature.tree import tubes
from tests.trees import gallows, post, random_tree


def _volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


@pytest.mark.parametrize("facets", [3, 6, 16, 64])
def test_a_post_of_any_number_of_facets_holds_the_volume_of_its_round_bar(facets: int) -> None:
    mesh = tubes(post(), facets)
    assert _volume(mesh.vertices, mesh.faces) == pytest.approx(np.pi / 4 * 20.0**2 * 1000.0, rel=1e-9)


def test_a_tapered_and_bent_tree_holds_the_volume_of_its_members() -> None:
    tree = random_tree(40)
    mesh = tubes(tree, 16, chord_error=0.01, step=20.0)
    # Pappus: a bent round bar holds its section times its centreline; chords of 0.01 mm leave under a thousandth.
    assert _volume(mesh.vertices, mesh.faces) == pytest.approx(tree.volumes.sum(), rel=1e-3)


def test_every_edge_is_shared_by_two_faces_that_run_it_in_opposite_directions() -> None:
    mesh = tubes(random_tree(20), np.arange(len(random_tree(20))) % 5 + 5)
    edges = np.concatenate([mesh.faces[:, [0, 1]], mesh.faces[:, [1, 2]], mesh.faces[:, [2, 0]]])
    forward = set(map(tuple, edges.tolist()))
    assert len(forward) == len(edges)
    assert {(b, a) for a, b in forward} == forward


def test_faces_of_a_member_use_only_its_own_vertices_and_normals_point_outward() -> None:
    mesh = tubes(gallows(), 12)
    assert (mesh.members[mesh.faces] == mesh.owners[:, None]).all()
    limb = mesh.members == 1
    off = mesh.vertices[limb] - [260.0, 0.0, 800.0]
    assert (np.einsum("ij,ij->i", off, mesh.normals[limb]) > 0.0).all()
