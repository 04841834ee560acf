"""Tubes for files stand member by member, closed, from root to tip."""

from __future__ import annotations

import numpy as np
import trimesh

from armature.files.skin import skin
from tests.files.grown import grown_tree
from tests.trees import gallows, random_tree


def test_every_member_is_a_closed_mesh_of_its_own() -> None:
    tree = random_tree(24)
    outside = skin(tree)
    for row in range(len(tree)):
        mesh = trimesh.Trimesh(*outside.member(row), process=False)
        assert mesh.is_volume, tree.tags[row]
        assert mesh.volume > 0.0


def test_a_tube_without_its_root_weighs_what_its_bar_weighs() -> None:
    tree, _ = grown_tree()
    outside = skin(tree, rooted=False)
    held = np.array([trimesh.Trimesh(*outside.member(row), process=False).volume for row in range(len(tree))])
    # Rounded tips and the tips' chords cost a short thin twig most; all together stay well under a thousandth.
    assert abs(held.sum() / tree.volumes.sum() - 1.0) < 5e-4
    assert np.abs(held / tree.volumes - 1.0).max() < 3e-3


def test_a_tube_runs_from_its_bars_start_to_its_tip() -> None:
    tree, _ = grown_tree()
    outside = skin(tree, rooted=False)
    for row in range(0, len(tree), 7):
        vertices, _ = outside.member(row)
        from_tip = (vertices - tree.tips[row]) @ tree.chains.directions[tree.chains.firsts[row + 1] - 1]
        from_start = (vertices - tree.starts[row]) @ tree.axes[row]
        assert abs(from_tip.max()) < 1e-9
        assert abs(from_start.min()) < 1e-9


def test_a_root_ends_inside_its_parent() -> None:
    outside = skin(gallows())
    vertices, _ = outside.member(1)
    # The post is 20 mm thick; the root of the level 10 mm limb ends within it, beyond the saddle's 1.34 mm.
    assert 0.0 < vertices[:, 0].min() < 10.0 - (10.0 - np.sqrt(75.0))
    root = vertices[vertices[:, 0] < vertices[:, 0].min() + 1e-9]
    assert (np.hypot(root[:, 0], root[:, 1]) < 10.0).all()
