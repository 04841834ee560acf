"""Hooks and slings against hand sums of bars in bending, and against the rules of the rigger."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from armature.shop.boxes import Limits
from armature.shop.hanging import DYNAMIC, hanging, leg_pulls
from armature.shop.hooks import Lift, lift
from armature.shop.sections import Section, section_plan
from armature.shop.slices import sliced
from armature.shop.splices import site_joint, site_joints
from armature.tree import BRANCH, BRANCHLET, Demands, Tree, chain, cones
from tests.trees import gallows, post, random_tree

STEEL = 7850.0
ROOMY = Limits((20_000.0, 20_000.0, 20_000.0), 1e6)


def cross(arm: float = 800.0, bar: float = 30.0) -> Tree:
    """Return a post of 1000 mm, 40 mm thick, with two level limbs to either side 900 mm up."""
    limbs = []
    for tag, side in (("A", 1.0), ("B", -1.0)):
        limbs.append(
            replace(
                gallows().alone([1]),
                tags=np.array([tag]),
                parents=np.array([0]),
                chains=chain(np.array([[side * 20.0, 0.0, 900.0], [side * (20.0 + arm), 0.0, 900.0]]), [0, 0]),
                stations=np.array([900.0]),
                setbacks=np.array([20.0]),
                tapers=cones([bar], [bar]),
                stock_diameters=np.array([bar]),
            )
        )
    return post(1000.0, 40.0).grafted(*limbs)


def whole(tree: Tree) -> Section:
    return section_plan(tree, ROOMY, STEEL, 8.0).sections[0]


def lifted(tree: Tree, legs: int = 3, yields: float = 250.0, section: Section | None = None) -> Lift:
    return lift(tree, section or whole(tree), np.full(len(tree), yields), 60.0, legs, ROOMY)


def test_a_bar_hung_by_its_ends_bends_as_a_beam_on_two_supports() -> None:
    # Level bar of 2 m: w L^2 / 8 at the middle over the section modulus, the load counted twice.
    bar = replace(post(2000.0, 20.0), chains=chain(np.array([[0.0, 0.0, 0.0], [2000.0, 0.0, 0.0]]), [0, 0]))
    held = hanging(bar, sliced(bar, STEEL, 10.0), np.full(1, 250.0))
    ends = np.array([0, len(held.before) - 1])
    points = np.array([[0.0, 0.0, 0.0], [2000.0, 0.0, 0.0]])
    weight = held.mass * 9.80665
    pulls = np.array([[0.0, 0.0, weight / 2.0]] * 2)
    uses = held.uses(held.ways(ends), points, pulls, np.array([0.0, 0.0, -1.0]))
    moment = weight * 2000.0 / 8.0
    stress = moment / (np.pi / 32.0 * 20.0**3)
    assert uses.max() == pytest.approx(DYNAMIC * stress / (0.9 * 250.0), rel=0.01)
    assert held.slices.stations[int(np.argmax(uses))] == pytest.approx(1000.0, abs=20.0)


@pytest.mark.parametrize(("angle", "factor"), [(60.0, 1.155), (45.0, 1.414), (30.0, 2.0)])
def test_forces_in_two_legs_are_those_of_the_handbooks(angle: float, factor: float) -> None:
    # Rigging handbooks: the leg's force over its share of the weight, at an angle from level.
    points = np.array([[-1000.0, 0.0, 0.0], [1000.0, 0.0, 0.0]])
    apex = np.array([0.0, 0.0, 1000.0 * np.tan(np.radians(angle))])
    pulls = leg_pulls(points, apex, 2000.0, np.zeros(3))
    assert np.linalg.norm(pulls, axis=1) == pytest.approx(factor * 1000.0, rel=5e-4)


def test_three_legs_carry_the_weight_in_balance() -> None:
    points = np.array([[900.0, 0.0, 0.0], [-400.0, 700.0, 200.0], [-300.0, -800.0, 100.0]])
    pulls = leg_pulls(points, np.array([0.0, 0.0, 2500.0]), 1500.0, np.zeros(3))
    np.testing.assert_allclose(pulls.sum(axis=0), [0.0, 0.0, 1500.0], atol=1e-6)
    np.testing.assert_allclose(np.cross(points, pulls).sum(axis=0)[:2], 0.0, atol=1e-3)


def test_hooks_are_above_the_balance_and_on_either_side_of_it() -> None:
    tree = cross()
    section = whole(tree)
    # The trunk alone could carry it on one hook; held off it, two legs have to be found.
    found = lifted(tree)
    assert found.hooks
    assert found.use <= 1.0
    centre = section.slices.centre
    assert all(hook.point[2] > centre[2] + 50.0 for hook in found.hooks)


def test_twigs_and_thin_branchlets_are_never_hooked_on() -> None:
    for seed in range(6):
        tree = random_tree(40, seed)
        plan = section_plan(tree, Limits((2600.0, 1500.0, 1500.0), 60.0), STEEL, 8.0)
        for section in plan.sections:
            found = lifted(tree, section=section)
            assert found.hooks or found.fault
            for hook in found.hooks:
                assert tree.ranks[hook.row] <= BRANCHLET
                assert not hook.lug or tree.ranks[hook.row] <= BRANCH


def test_every_bar_bears_what_the_slings_ask_or_it_is_told() -> None:
    for seed in range(4):
        tree = random_tree(40, seed)
        for section in section_plan(tree, Limits((2600.0, 1500.0, 1500.0), 60.0), STEEL, 8.0).sections:
            found = lifted(tree, section=section)
            assert found.use <= 1.0 or found.fault
            if not found.hooks:
                continue
            total = sum(hook.force_kn * np.sin(np.radians(hook.angle_deg)) for hook in found.hooks)
            assert total == pytest.approx(section.mass * 9.80665e-3, rel=0.02)
            assert all(hook.angle_deg >= 60.0 - 1e-6 for hook in found.hooks)


def test_hooks_stand_apart_and_share_the_weight() -> None:
    for seed in range(6):
        tree = random_tree(40, seed)
        found = lifted(tree)
        points = np.array([hook.point for hook in found.hooks])
        if len(points) > 1:
            gaps = np.linalg.norm((points[:, None] - points[None])[..., :2], axis=2)
            assert gaps[~np.eye(len(points), dtype=bool)].min() >= 300.0
            pulls = np.array([hook.force_kn * np.sin(np.radians(hook.angle_deg)) for hook in found.hooks])
            assert pulls.min() / pulls.sum() >= 0.14


def test_a_section_too_weak_for_any_hook_is_told_and_gets_none() -> None:
    found = lifted(random_tree(40), yields=0.05)
    assert found.hooks == ()
    assert "engineer" in found.fault


def test_a_sling_that_would_slide_up_a_smooth_post_becomes_a_lug() -> None:
    found = lifted(post(2000.0, 60.0))
    assert len(found.hooks) == 1
    assert found.hooks[0].lug
    assert found.hooks[0].design_kn == pytest.approx(DYNAMIC * found.hooks[0].force_kn)
    # Near the top: the higher a single hook, the steadier.
    assert found.hooks[0].station > 1500.0


def test_what_travels_lying_gets_a_tail_with_its_share_of_the_weight() -> None:
    tree = post(2000.0, 60.0)
    found = lift(tree, whole(tree), np.full(1, 250.0), 60.0, 3, Limits((6000.0, 1000.0, 1000.0), 1000.0))
    assert found.tail is not None
    low, high = found.tail.point[2], found.hooks[0].point[2]
    share = (high - 1000.0) / (high - low)
    assert found.tail.force_kn == pytest.approx(share * whole(tree).mass * 9.80665e-3, rel=0.01)
    assert lifted(tree).tail is None


def test_a_sleeve_is_as_strong_as_its_bar() -> None:
    plan = section_plan(post(1000.0), Limits((600.0, 400.0, 400.0), 100.0), STEEL, 8.0)
    splice = plan.sections[1].splice
    assert splice is not None
    joint = site_joint(splice, "sleeve", 250.0)
    assert joint.kind == "sleeve"
    assert joint.length_mm >= 5.0 * splice.diameter_mm
    outside, bore = joint.outside_mm, joint.bore_mm
    assert bore > splice.diameter_mm
    assert (outside**4 - bore**4) / outside >= splice.diameter_mm**3


def test_the_bending_of_strength_governs_a_joint_where_it_is_larger() -> None:
    plan = section_plan(post(1000.0), Limits((600.0, 400.0, 400.0), 100.0), STEEL, 8.0)
    one = np.zeros(1)
    rows, stations, moments = np.zeros(3, dtype=np.int64), np.array([0.0, 450.0, 1000.0]), np.array([9e6, 4e6, 0.0])
    places = Demands(one, one > 0.0, one, rows, stations, moments)
    _, joint = site_joints(post(1000.0), plan, "flange", np.full(1, 250.0), places, "mm")
    assert joint is not None
    assert joint.source == "strength"
    assert 4.0 <= joint.moment_kn_m <= 9.0
    pull = 4.0 * joint.moment_kn_m * 1e6 / (joint.bolts * joint.bolt_circle_mm)
    assert pull <= 0.75 * 0.75 * 800.0 * np.pi / 4.0 * joint.bolt_mm**2
