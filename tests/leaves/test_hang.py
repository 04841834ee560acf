import numpy as np
import pytest

from armature.leaves.hanging.hang import Loop, hang_leaves, leaf_frames
from armature.leaves.hanging.loop_metals import contact, parts_list
from armature.leaves.hanging.swing import Rods, Steel, poses, strike_shares
from tests.leaves.designs import family, square
from tests.trees import gallows, random_tree

LOOP = Loop(2.0, 8.0)


def rods(eyes: list[list[float]], radius: float = 10.0) -> Rods:
    count = len(eyes)
    return Rods(np.array(eyes, dtype=float), np.full(count, 100.0), np.full(count, radius), np.zeros(count, int))


FAR = Steel(np.array([[1e6, 0.0, 0]]), np.array([[1.0, 0.0, 0.0]]), np.ones(1), np.ones(1), np.array([99]))


def test_loop_stock_is_the_smiths_rule_for_a_ring() -> None:
    """pi (inside + bar): 100 mm ring of 12 mm takes 351.86 mm, and one thickness for the scarf."""
    assert Loop(12.0, 100.0).stock == pytest.approx(351.86 + 12.0, abs=0.01)


def test_eye_hangs_under_the_twig_by_the_loops_drop() -> None:
    hung = hang_leaves(gallows(), [square()], LOOP, 7.32, 30.0, 0.25, 20.0, move=False)
    assert hung.eyes[0] == pytest.approx([510.0, 0.0, 800.0 - 5.0 - LOOP.drop])


def test_masses_are_area_times_sheet() -> None:
    hung = hang_leaves(gallows(), [square(50.0)], LOOP, 7.32, 30.0, 0.25, 20.0)
    assert hung.masses[0] == pytest.approx((2500 - np.pi * 4) * 1e-6 * 7.32)


def test_leaves_far_apart_never_strike_and_coinciding_ones_always_do() -> None:
    apart, close = rods([[0, 0, 0], [500, 0, 0]]), rods([[0, 0, 0], [5, 0, 0]])
    rows = np.arange(2)
    assert strike_shares(apart, rows, apart, FAR, 30.0).tolist() == [0.0, 0.0]
    assert strike_shares(close, rows, close, FAR, 5.0).tolist() == [1.0, 1.0]


def test_a_leaf_meets_its_neighbour_only_when_it_swings_that_way() -> None:
    """Eyes 60 mm apart, rods 100 mm long, radii 10: at 30 deg the tip comes within 60 - 50 = 10 mm, under 20."""
    pair = rods([[0, 0, 0], [60, 0, 0]])
    share = strike_shares(pair, np.arange(2), pair, FAR, 30.0)
    assert (share > 0).all()
    assert (share < 0.3).all()


def test_full_swing_reaches_its_angle() -> None:
    ways = poses(40.0)
    assert np.allclose(np.sqrt((ways**2).sum(axis=1)), 1.0)
    assert np.rad2deg(np.arccos(-ways[:, 2])).max() == pytest.approx(40.0)


def test_frames_are_rotations_at_the_eyes() -> None:
    tree = random_tree(20)
    hung = hang_leaves(tree, family(), LOOP, 7.32, 30.0, 0.25, 25.0, move=False)
    frames = leaf_frames(tree, hung.eyes, 1)
    turns = frames[:, :3, :3]
    assert np.allclose(turns @ turns.transpose(0, 2, 1), np.eye(3))
    assert np.allclose(np.linalg.det(turns), 1.0)
    assert np.allclose(frames[:, :3, 3], hung.eyes)


def test_copper_on_steel_must_be_isolated_and_copper_on_brass_need_not() -> None:
    """Anodic indices after MIL-STD-889 guides: 0.85 - 0.35 = 0.50 V against 0.15 V outdoors."""
    found = contact("copper", "steel", "bush")
    assert (found.volts, found.harmless) == (0.5, False)
    assert "bush" in found.words
    assert contact("copper", "brass", "none").harmless


def test_a_hang_point_carries_its_leaf_and_its_loop() -> None:
    """A 3 mm wire weighs 0.0555 kg/m (2.466 at 20 mm, EN 10060, over 400, times 9); a ring is one loop more."""
    tree = random_tree(20)
    hung = hang_leaves(tree, family(), Loop(3.0, 12.0), 7.32, 30.0, 0.25, 25.0, move=False)
    wire = 2.466 * (3.0 / 20.0) ** 2 * (np.pi * 15.0 + 3.0) / 1000.0
    np.testing.assert_allclose(hung.loads - hung.masses, wire, rtol=1e-3)
    assert Loop(3.0, 12.0, ring=True).mass_kg == pytest.approx(2.0 * wire, rel=1e-3)


def test_parts_are_counted() -> None:
    parts = parts_list(100, LOOP, 3.0, "sleeve")
    assert [(p.what, p.count) for p in parts] == [("loop", 100), ("sleeve", 105)]
