"""The heel of a saddle against exact solids: two round bars cut by manifold3d, an independent geometry kernel."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

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
