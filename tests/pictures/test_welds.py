"""Flares at the welds: from the parent's skin into the bar's, touching both, whatever the lean."""

from __future__ import annotations

import numpy as np
import pytest

from armature.pictures.steel import steel
from armature.pictures.welds import flared, shared_colour, welded
from armature.tree import Tree, Tubes, locate, rings, swept
from tests.trees import gallows, post, random_tree


def _mesh(tree: Tree) -> Tubes:
    return welded(tree, swept(tree.chains, flared(tree, rings(tree)), 16))


def _off_skin(tree: Tree, parents: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Least distance of points from the parents' skin, by walking the centreline in half millimetres; inside negative.

    The walk starts where the bar's axis leaves its parent's, inside the parent.
    """
    found = []
    for parent, at in zip(parents, points, strict=True):
        stations = np.arange(-float(tree.setbacks[parent]), float(tree.lengths[parent]), 0.5)
        line, _, _ = locate(tree.chains, np.full(len(stations), parent), stations)
        away = np.linalg.norm(line - at, axis=1) - tree.diameters_at(np.full(len(stations), parent), stations) / 2.0
        found.append(away[np.argmin(np.linalg.norm(line - at, axis=1))])
    return np.array(found)


@pytest.mark.parametrize("tree", [gallows(), random_tree(25)])
def test_a_flare_begins_just_under_its_parents_skin_and_ends_on_its_own_bars(tree: Tree) -> None:
    mesh = _mesh(tree)
    walls = np.arange(len(mesh.vertices) - 2 * len(tree))
    feet = walls[np.isclose(mesh.stations[walls], -2e-3)]
    assert len(feet) == 16 * (len(tree) - 1)
    under = _off_skin(tree, tree.parents[mesh.members[feet]], mesh.vertices[feet])
    room = tree.diameters_at(tree.parents[mesh.members[feet]], tree.stations[mesh.members[feet]]) / 2.0
    # A foot is let in by 0.6 mm and a fiftieth of the radius; half a millimetre of the walk and the taper besides.
    assert under.max() < 0.0
    assert (under > -(0.6 + 0.02 * room) - 0.3).all()
    tops = walls[np.isclose(mesh.stations[walls], -1e-3)]
    np.testing.assert_allclose(_off_skin(tree, mesh.members[tops], mesh.vertices[tops]), 0.0, atol=0.05)


def test_a_square_joint_has_its_corner_where_two_cylinders_cross() -> None:
    # A cross bar square to a post: its skin leaves the post's at sqrt(R^2 - r^2 sin^2) from the axis.
    tree = gallows()
    row = int(np.flatnonzero(tree.parents == 0)[0])
    mesh = _mesh(tree)
    mine = np.flatnonzero((mesh.members == row) & np.isclose(mesh.stations, -1e-3))[:16]
    foot, _, _ = locate(tree.chains, np.array([0]), tree.stations[[row]])
    room, own = tree.start_diameters[0] / 2.0, tree.start_diameters[row] / 2.0
    out = mesh.vertices[mine] - foot
    along = out @ tree.axes[row]
    side = out - along[:, None] * tree.axes[row]
    level = side - side[:, [2]] * np.array([0.0, 0.0, 1.0])
    corner = np.sqrt(room**2 - np.sum(level**2, axis=1))
    np.testing.assert_allclose(along, corner + 1.2 * own, atol=0.02)


def test_normals_of_a_flare_turn_from_the_parents_to_the_bars() -> None:
    tree = gallows()
    mesh = _mesh(tree)
    walls = np.arange(len(mesh.vertices) - 2 * len(tree))
    for at in walls[np.isclose(mesh.stations[walls], -1e-3)]:
        assert abs(mesh.normals[at] @ tree.axes[mesh.members[at]]) < 0.02
    np.testing.assert_allclose(np.linalg.norm(mesh.normals, axis=1), 1.0)


def test_a_bar_takes_its_parents_colour_at_the_weld_and_its_own_further_out() -> None:
    tree = gallows()
    mesh = _mesh(tree)
    share = shared_colour(tree, mesh)
    child = tree.parents[mesh.members] >= 0
    assert (share[~child] == 0.0).all()
    assert share[child & (mesh.stations < 0.0)].min() == 1.0
    assert share[child & (mesh.stations > 8.0 * tree.start_diameters[mesh.members])].max() < 0.01


def test_a_trunk_alone_has_no_flare() -> None:
    tree = post()
    mesh = swept(tree.chains, flared(tree, rings(tree)), 8)
    assert welded(tree, mesh) is mesh
    assert len(steel(tree).vertices) > 0
