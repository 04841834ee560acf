"""The steel is one closed body that weighs what its bars weigh, also for a reader of the file."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import trimesh

from armature.files.body import Body, apart, grid_mm, steel_body, stl_bytes
from armature.files.skin import facets, skin
from armature.tree import Chains, Floats, Tree, chain, cones, joined, joints
from tests.files.grown import grown_tree
from tests.trees import gallows, post, random_tree


def body(tree: Tree) -> Body:
    return steel_body(tree, skin(tree))


def as_read(found: Body) -> Any:
    return trimesh.load(io.BytesIO(stl_bytes(found)), file_type="stl")


def tee(thick: float, thin: float, length: float) -> Tree:
    """Return a 200 mm post of one thickness with a level limb of another, square to it at half height."""
    bars = joined(
        [chain([[0, 0, 0], [0, 0, 200]], [0, 0]), chain([[thick / 2, 0, 100], [thick / 2 + length, 0, 100]], [0, 0])]
    )
    tree = gallows()
    both = np.array([thick, thin])
    return replace(
        tree, chains=bars, stations=np.array([0.0, 100.0]), setbacks=np.array([0.0, thick / 2]),
        tapers=cones(both, both), stock_diameters=both, walls=np.zeros(2),
    )  # fmt: skip


def dome_loss(diameters: Floats) -> Floats:
    """Return the steel that a tip loses by its rounding: a dome of chords leaves out 0.372 of a cylinder of its height.

    Its circles have 1, 0.866, 0.5 and 0.2 of the radius at 0, 0.5, 0.866 and 1 of the height.
    """
    return np.asarray(np.pi / 4.0 * diameters**2 * np.minimum(0.15 * diameters, 1.0) * 0.372)


def test_a_post_holds_the_volume_of_its_round_bar() -> None:
    found = body(post())
    full = np.pi / 4.0 * 20.0**2 * 1000.0
    # Corners on a grid of 0.001 mm: 0.0003 mm off in the mean, over 62.8 mm round and 1000 mm along.
    assert found.volume_mm3 == pytest.approx(full - float(dome_loss(np.array(20.0))), abs=20.0)
    assert as_read(found).volume == pytest.approx(found.volume_mm3, rel=1e-6)


def test_a_tapered_post_with_a_straight_foot_holds_its_cylinder_and_its_frustum() -> None:
    tree = post().coned(ends=[6.0], froms=[400.0])
    full = np.pi / 4.0 * (400.0 * 400.0 + 600.0 * (400.0 + 120.0 + 36.0) / 3.0)
    assert body(tree).volume_mm3 == pytest.approx(full, rel=1e-4)


def test_a_ring_sector_holds_its_section_times_its_centreline() -> None:
    # Pappus: a round bar bent through any angle holds its section times the length of its centreline.
    bars = chain([[0, 0, 0], [0, 0, 300], [300, 0, 300], [300, 300, 300]], [0, 40, 60, 0])
    tree = replace(post(), chains=bars, tapers=cones([12.0], [12.0]))
    full = np.pi / 4.0 * 144.0 * float(bars.lengths[0])
    assert body(tree).volume_mm3 == pytest.approx(full - float(dome_loss(np.array(12.0))), rel=1e-4)


def test_two_equal_bars_meet_in_half_a_steinmetz_solid() -> None:
    # Two cylinders of radius r that cross at right angles share 16 r^3 / 3 (Steinmetz; Archimedes, The Method); a
    # limb that ends in the post shares half of it: from the axis on it adds pi r^2 (L + r) - 8 r^3 / 3.
    r, length = 10.0, 60.0
    limb = body(tee(2 * r, 2 * r, length)).volume_mm3 - body(post(200.0, 2 * r)).volume_mm3
    wanted = np.pi * r**2 * (length + r) - 8.0 * r**3 / 3.0 - float(dome_loss(np.array(2 * r)))
    # A circle of 16 corners with the area of its round meets the other in a curve that is a little off.
    assert limb == pytest.approx(wanted, rel=2e-3)


def test_a_limb_of_half_the_thickness_adds_its_bar_and_its_saddle() -> None:
    limb = body(tee(40.0, 20.0, 60.0)).volume_mm3 - body(post(200.0, 40.0)).volume_mm3
    saddles = saddle_volumes(np.array([10.0]), np.array([20.0]), np.array([90.0]), np.array([20.0]))
    assert saddles[0] > 150.0
    assert limb == pytest.approx(np.pi * 100.0 * 60.0 + saddles[0] - float(dome_loss(np.array(20.0))), rel=2e-3)


def test_a_limb_that_does_not_reach_its_post_is_told_by_a_second_body() -> None:
    far = replace(tee(20.0, 10.0, 60.0), setbacks=np.array([0.0, 40.0]))
    clear = replace(far, chains=joined([far.chains.taken([0]), chain([[60, 0, 100], [160, 0, 100]], [0, 0])]))
    assert as_read(body(clear)).body_count == 2


def saddle_volumes(r: Floats, big: Floats, lean: Floats, setback: Floats) -> Floats:
    """Return the steel between the flat start of each bar and its parent's skin: (M,) mm3.

    The bar of radius r reaches the skin at (sqrt(R^2 - y^2) - z cos a) / sin a along its axis; z cancels over the
    section, so the volume is pi r^2 setback - (1 / sin a) times the integral of 2 sqrt(R^2 - y^2) sqrt(r^2 - y^2) dy.
    """
    angle = ((np.arange(2000) + 0.5) / 2000.0 - 0.5) * np.pi
    y = r[:, None] * np.sin(angle)
    chords = 2.0 * np.sqrt(np.maximum(big[:, None] ** 2 - y**2, 0.0)) * (r[:, None] * np.cos(angle)) ** 2
    return np.asarray(np.pi * r**2 * setback - chords.mean(axis=1) * np.pi / np.sin(np.radians(lean)))


def without_end_joints(tree: Tree) -> Tree:
    """Return the tree less the members whose saddle wraps over the end of their parent, and all that these carry."""
    found = joints(tree)
    along = np.radians(found.leans)
    reach = tree.stations + tree.setbacks * np.cos(along) + tree.start_diameters / 2.0 / np.maximum(np.sin(along), 0.1)
    kept = (tree.parents < 0) | (reach < tree.lengths[np.maximum(tree.parents, 0)] - 2.0)
    for level in tree.levels[1:]:
        kept[level] &= kept[tree.parents[level]]
    return tree.taken(np.flatnonzero(kept))


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_grown_tree_holds_its_bars_and_saddles_to_a_thousandth(seed: int) -> None:
    tree = without_end_joints(grown_tree(seed)[0])
    assert len(tree) > 20
    found, grows = joints(tree), tree.parents >= 0
    saddles = saddle_volumes(
        tree.start_diameters[grows] / 2.0,
        found.parent_diameters[grows] / 2.0,
        found.leans[grows],
        tree.setbacks[grows],
    )
    assert body(tree).volume_mm3 == pytest.approx(tree.volumes.sum() + saddles.sum(), rel=1e-3)


@pytest.mark.parametrize("tree", [*(random_tree(60, seed) for seed in range(6)), grown_tree()[0]])
def test_the_steel_read_back_from_stl_is_one_watertight_body(tree: Tree) -> None:
    found = body(tree)
    mesh = as_read(found)
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    assert mesh.is_volume
    assert mesh.body_count == 1
    assert len(mesh.faces) == len(found.faces)
    assert mesh.volume == pytest.approx(found.volume_mm3, rel=1e-5)


def test_a_trunk_of_pipe_is_lighter_by_its_bore() -> None:
    tree, _ = grown_tree(1, pipe=True)
    assert (tree.walls > 0.0).sum() == 1
    bar = replace(tree, walls=np.zeros(len(tree)))
    found = body(tree)
    assert body(bar).volume_mm3 - found.volume_mm3 == pytest.approx(bar.volumes.sum() - tree.volumes.sum(), rel=1e-3)
    assert as_read(found).is_watertight
    assert as_read(found).body_count == 1


def test_a_pipe_drawn_to_a_point_closes_where_its_walls_meet() -> None:
    pipe = replace(post(400.0, 40.0).coned(ends=[4.0]), walls=np.array([3.0]))
    found = body(pipe)
    assert found.volume_mm3 == pytest.approx(pipe.volumes[0], rel=1e-3)
    assert as_read(found).is_watertight


def test_a_pipe_on_a_pipe_ends_at_its_parents_skin() -> None:
    pipes = replace(tee(60.0, 40.0, 200.0), walls=np.array([3.0, 3.0]))
    found = body(pipes)
    post_only = np.pi / 4.0 * (60.0**2 - 54.0**2) * 200.0
    saddle = saddle_volumes(np.array([20.0]), np.array([30.0]), np.array([90.0]), np.array([30.0]))
    hollow = saddle_volumes(np.array([17.0]), np.array([30.0]), np.array([90.0]), np.array([30.0]))
    limb = np.pi / 4.0 * (40.0**2 - 34.0**2) * 200.0 + saddle[0] - hollow[0]
    assert found.volume_mm3 == pytest.approx(post_only + limb, rel=2e-3)
    assert as_read(found).is_watertight


def test_corners_that_would_fall_together_are_moved_apart_into_the_steel() -> None:
    box: Any = trimesh.creation.box([10.0, 10.0, 10.0])
    pair: Any = trimesh.util.concatenate([box, box.copy().apply_translation([10.0002, 0.0, 0.0])])
    faces = np.asarray(pair.faces, dtype=np.int64)
    moved = apart(np.asarray(pair.vertices), faces)
    assert len(np.unique(np.rint(moved / 0.001), axis=0)) == 16
    assert np.abs(moved - pair.vertices).max() < 0.012
    mesh = as_read(Body(moved, faces))
    assert mesh.is_watertight
    assert mesh.body_count == 2
    assert not as_read(Body(np.round(pair.vertices, 3), faces)).is_watertight


@pytest.mark.parametrize("reach", [100.0, 4800.0, 8191.0, 8193.0, 12_000.0, 70_000.0])
def test_neighbours_on_the_grid_stay_apart_in_single_precision(reach: float) -> None:
    step = grid_mm(np.array([[0.0, 0.0, reach]]))
    places = (reach - step * np.arange(2000)).astype(np.float32)
    assert len(np.unique(places)) == 2000


def test_the_steel_of_a_tall_tree_is_closed_too() -> None:
    tree = random_tree(60, 2)
    chains, tall = tree.chains, 5.0
    sizes = {name: getattr(tree, name) * tall for name in ("stations", "setbacks")}
    thick = cones(tree.start_diameters * tall, tree.end_diameters * tall)
    grown = replace(
        tree, chains=Chains(chains.offsets, chains.vertices * tall, chains.radii * tall), tapers=thick, **sizes
    )
    assert grown.tips[:, 2].max() > 12_000.0
    mesh = as_read(body(grown))
    assert mesh.is_volume
    assert mesh.body_count == 1


def test_thicker_bars_have_more_corners_and_none_too_few() -> None:
    diameters = np.array([3.2, 6.35, 25.4, 60.0, 100.0, 300.0])
    count = facets(diameters, 0.3)
    sagitta = diameters / 2.0 * (1.0 - np.cos(np.pi / count))
    assert (sagitta[:-1] <= 0.3).all()
    assert (np.diff(count) >= 0).all()
    assert count.min() == 8
    assert count.max() == 48
    assert (count % 2 == 0).all()
