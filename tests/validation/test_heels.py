"""The heel of a saddle against exact solids: two round bars cut by manifold3d, an independent geometry kernel."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from armature.shop import saddle
from armature.tree import heels

FACETS = 720


@pytest.mark.parametrize(
    ("child", "parent", "lean"), [(20.0, 40.0, 90.0), (20.0, 40.0, 50.0), (12.0, 60.0, 35.0), (30.0, 32.0, 70.0)]
)
def test_the_heel_is_how_far_a_child_reaches_behind_its_start_outside_its_parent(
    child: float, parent: float, lean: float
) -> None:
    # The parent lies along z; the child leaves the middle of it at the lean; what lies outside the parent is kept.
    a, setback = np.radians(lean), parent / 2.0 / np.sin(np.radians(lean))
    post = manifold3d.Manifold.cylinder(600.0, parent / 2.0, parent / 2.0, FACETS, True)
    bar = manifold3d.Manifold.cylinder(300.0, child / 2.0, child / 2.0, FACETS, False).rotate((0.0, lean, 0.0))
    outside = bar - post
    points = np.asarray(outside.to_mesh().vert_properties)[:, :3]
    along = points @ np.array([np.sin(a), 0.0, np.cos(a)])
    reached = setback - along.min()
    one = np.ones(1)
    told = heels(child * one, parent * one, lean * one, setback * one)[0]
    # A polygon of 720 sides lies within 1e-5 of its radius.
    assert told == pytest.approx(reached, abs=0.01)


@pytest.mark.parametrize(("child", "parent", "lean"), [(20.0, 40.0, 50.0), (12.0, 60.0, 35.0), (30.0, 32.0, 110.0)])
def test_the_wrap_is_the_edge_that_is_left_on_the_child(child: float, parent: float, lean: float) -> None:
    a = np.radians(lean)
    post = manifold3d.Manifold.cylinder(600.0, parent / 2.0, parent / 2.0, FACETS, True)
    bar = manifold3d.Manifold.cylinder(300.0, child / 2.0, child / 2.0, FACETS, False).rotate((0.0, lean, 0.0))
    points = np.asarray((bar - post).to_mesh().vert_properties)[:, :3]
    axis, side = np.array([np.sin(a), 0.0, np.cos(a)]), np.array([np.cos(a), 0.0, -np.sin(a)])
    along, round_it = points @ axis, np.arctan2(points[:, 1], points @ side)
    # The edge: what lies on the child's skin and on the parent's; the far end of the bar is left out.
    edge = (np.hypot(points[:, 0], points[:, 1]) < parent / 2.0 + 0.01) & (along < 200.0)
    found = saddle(child, parent, lean)
    # The wrap begins at the heel, which lies toward the root where the child leans to the tip: at -side.
    wound = np.mod(np.pi - round_it[edge], 2.0 * np.pi) * child / 2.0
    told = np.interp(wound, found.around, found.cut)
    assert edge.sum() > 500
    np.testing.assert_allclose(told, along[edge] - along[edge].min(), atol=0.06)
