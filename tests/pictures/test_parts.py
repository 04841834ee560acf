from __future__ import annotations

import numpy as np
import pytest

from armature.metals import AGES
from armature.pictures.figure import STATURE, figure
from armature.pictures.foliage import HANG, foliage, loops
from armature.pictures.parts import Part, linear
from armature.pictures.scene import staged
from armature.pictures.setting import base_plate, ground
from armature.pictures.shade import paved
from armature.pictures.staff import BAND, SMALL, staff
from armature.pictures.steel import steel
from armature.tree import Rods, Tree
from tests.trees import gallows, post, random_tree


def _volume(each: Part) -> float:
    a, b, c = (each.vertices[each.faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6.0)


@pytest.mark.parametrize("tree", [post(), gallows(), random_tree(30)])
def test_forged_steel_keeps_within_its_flares_of_the_true_bars(tree: Tree) -> None:
    made = steel(tree)
    # Only flares and the part let into the parent add steel; facets take a little: no more than these bounds.
    assert 0.80 * tree.volumes.sum() < _volume(made) < 1.25 * tree.volumes.sum()
    np.testing.assert_allclose(np.linalg.norm(made.normals, axis=1), 1.0)


def test_a_bar_at_its_tip_is_as_thick_as_the_tree_says() -> None:
    tree = random_tree(30)
    made = steel(tree)
    for row in (1, 5, len(tree) - 1):
        own = made.vertices[made.keys == row]
        away = np.linalg.norm(own - tree.tips[row], axis=1)
        ring = np.sort(away[away > 1e-6])[:4]
        np.testing.assert_allclose(ring, tree.end_diameters[row] / 2.0, rtol=1e-6)


def test_the_trunk_ends_in_a_dome_that_begins_at_its_own_thickness() -> None:
    made = steel(post(height=1000.0, diameter=40.0))
    high = made.vertices[made.vertices[:, 2] > 999.999]
    assert np.hypot(high[:, 0], high[:, 1]).max() == pytest.approx(20.0)
    assert 1010.0 < high[:, 2].max() < 1020.0


def test_every_leaf_hangs_below_its_own_place_on_the_twig() -> None:
    tree = random_tree(30, leaves_a_twig=3)
    made = foliage(tree)
    assert made is not None
    top = np.array([made.vertices[made.keys == row, 2].max() for row in range(len(tree.leaves))])
    assert (top <= tree.hang_points[:, 2] - HANG + 12.0).all()
    middle = np.stack([made.vertices[made.keys == row].mean(axis=0) for row in range(len(tree.leaves))])
    assert (np.linalg.norm(middle - tree.hang_points, axis=1) < 120.0).all()


def test_adding_a_leaf_moves_no_other() -> None:
    tree = random_tree(12, leaves_a_twig=2)
    fewer = tree.hung(
        type(tree.leaves)(*(getattr(tree.leaves, n)[:-1] for n in ("tags", "twigs", "stations", "designs", "names")))
    )
    every, most = foliage(tree), foliage(fewer)
    assert every is not None
    assert most is not None
    np.testing.assert_array_equal(most.vertices, every.vertices[: len(most.vertices)])


def test_a_bare_tree_has_neither_leaves_nor_loops() -> None:
    assert foliage(post()) is None
    assert loops(post()) is None


@pytest.mark.parametrize("age", AGES)
def test_copper_is_warm_when_new_and_green_when_old(age: str) -> None:
    made = foliage(random_tree(20), age)
    assert made is not None
    red, green, blue = made.colours.mean(axis=0)
    assert (green > red) if age == "green" else (red > green > blue)


def test_loops_join_twig_and_leaf() -> None:
    tree = random_tree(10)
    made = loops(tree)
    assert made is not None
    for row in range(len(tree.leaves)):
        own = made.vertices[made.keys == row]
        assert own[:, 2].max() > tree.hang_points[row, 2]
        assert own[:, 2].min() < tree.hang_points[row, 2] - HANG


def test_the_figure_stands_on_the_ground_at_its_stature_with_its_skin_outward() -> None:
    made = figure(np.array([100.0, -50.0]), 0.0)
    assert made.vertices[:, 2].min() == pytest.approx(0.0, abs=1e-9)
    assert made.vertices[:, 2].max() == pytest.approx(STATURE, rel=0.005)
    # An open loft of a grown body: some 60 to 110 litres, and positive only where faces look outward.
    assert 0.04e9 < _volume(made) < 0.12e9
    assert abs(made.vertices[:, 0].mean() - 100.0) < 60.0


def test_the_staff_is_as_many_whole_bands_as_go_into_the_height_with_its_skin_outward() -> None:
    made = staff(np.array([300.0, 20.0]), 610.0)
    assert (made.vertices[:, 2].min(), made.vertices[:, 2].max()) == (0.0, 6 * BAND)
    radius = 610.0 / 110.0
    # A prism of 16 sides: 16/2 r^2 sin(2 pi/16); the open foot adds nothing to the divergence sum at z = 0.
    assert _volume(made) == pytest.approx(8.0 * radius**2 * np.sin(np.pi / 8.0) * 6 * BAND, rel=1e-9)
    low, above = (made.colours[np.isclose(made.vertices[:, 2], level)] for level in (0.0, 6 * BAND))
    assert (low < above[0]).all()


def test_a_person_stands_by_a_tree_and_a_staff_by_a_small_piece() -> None:
    for height, tallest in ((SMALL - 60.0, 8 * BAND), (SMALL + 60.0, STATURE)):
        scene = staged(post(height=height), rays=0, fine=0.4)
        (beside,) = (each for each in scene.parts if each.name == "figure")
        assert beside.vertices[:, 2].max() == pytest.approx(tallest, rel=0.005)


def test_ground_lies_level_and_the_plate_on_it() -> None:
    assert (ground(2000.0, 100.0).vertices[:, 2] == 0.0).all()
    plate = base_plate(post(diameter=40.0))
    assert np.ptp(plate.vertices[:, 0]) == pytest.approx(200.0)


def test_srgb_colours_become_linear_by_the_standard_curve() -> None:
    # IEC 61966-2-1: 188 of 255 is half the light, to within a digit.
    assert linear("bcbcbc")[0] == pytest.approx(0.5029, abs=5e-4)


def test_nuts_stand_on_their_circle_as_many_as_there_are_anchors() -> None:
    """Heights of a nut and its thread end over a plate that lies half in the ground: 0.8 and 1.2 diameters."""
    rods = Rods(6, 20.0, 300.0, 400.0, 30.0)
    made = base_plate(post(), 400.0, 30.0, rods)
    assert made.vertices[:, 2].max() == pytest.approx(15.0 + 1.2 * 20.0)
    assert np.abs(made.vertices[:, :2]).max() == pytest.approx(200.0)
    above = made.vertices[made.vertices[:, 2] > 15.0 + 0.9 * 20.0]
    turns = np.unique(np.floor(np.degrees(np.arctan2(above[:, 1], above[:, 0])) % 360.0 / 60.0))
    assert len(turns) == 6
    np.testing.assert_allclose(np.hypot(*above[:, :2].T), 150.0, atol=10.001)
    plain = base_plate(post(), 400.0, 30.0)
    assert len(plain.faces) == 10


def test_slabs_are_as_light_in_the_mean_as_plain_ground_but_for_their_joints() -> None:
    """Joints of 8 mm round slabs of 900 by 600 take 8/900 + 8/600 of the ground, and 0.45 of its light there; seen from
    far off, each pixel takes its share of them."""
    places = np.random.default_rng(1).uniform(-18_000.0, 18_000.0, (120_000, 2))
    share = 8.0 / 900.0 + 8.0 / 600.0 - 8.0 / 900.0 * 8.0 / 600.0
    for wide in (0.5, 60.0):
        seen = paved(places, np.full_like(places, wide))
        assert seen.mean() == pytest.approx(1.0 - 0.45 * share, abs=0.012), wide
    assert paved(places, np.full_like(places, 0.5)).min() < 0.65
    assert np.ptp(paved(places, np.full_like(places, 5000.0))) < 0.02, "far off no pattern is left to shimmer"
