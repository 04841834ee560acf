"""Sections, boxes, balances and slings against hand sums and trimesh; hours and cost against sums by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from armature.commission import Buying, Crew
from armature.edge import CommissionError
from armature.shop.boxes import Limits, fits, smallest_box
from armature.shop.erecting import erected, wind_held
from armature.shop.estimate import estimate
from armature.shop.labour import OPERATIONS, Counts, Rate, labour, read_rates
from armature.shop.sections import section_plan
from armature.shop.slices import DeadStress, sliced
from armature.shop.stocklist import bundled, collar_length, rod_size, sawing, stock_pieces
from armature.tree import Tree, tubes
from tests.trees import gallows, post, random_tree

STEEL = 7850.0
ROOMY = Limits((20_000.0, 20_000.0, 20_000.0), 1e6)


def test_slices_weigh_what_cylinders_weigh() -> None:
    # 20 mm bar of 1 m and 10 mm bar of 0.5 m, by hand: 2.466 kg and 0.308 kg.
    found = sliced(gallows(), STEEL)
    weights = np.bincount(found.members, weights=found.masses)
    assert weights == pytest.approx([2.46615, 0.30827], abs=1e-4)


def test_the_balance_of_post_and_limb_is_the_hand_sum() -> None:
    found = sliced(gallows(), STEEL)
    post_kg, limb_kg = 2.46615, 0.30827
    assert found.centre[0] == pytest.approx(limb_kg * 260.0 / (post_kg + limb_kg), rel=1e-4)
    assert found.centre[2] == pytest.approx((post_kg * 500.0 + limb_kg * 800.0) / (post_kg + limb_kg), rel=1e-4)


def test_the_balance_agrees_with_trimesh() -> None:
    import trimesh

    tree = random_tree(20)
    found = sliced(tree, STEEL, 20.0)
    bars = tubes(tree, 24)
    solid = trimesh.Trimesh(bars.vertices, bars.faces, process=False)
    np.testing.assert_allclose(found.centre, solid.center_mass, atol=1.0)
    assert found.masses.sum() == pytest.approx(solid.volume * STEEL * 1e-9, rel=2e-3)


def test_own_weight_stress_is_weight_times_lever_over_section_modulus() -> None:
    tree = gallows()
    found = DeadStress(tree, sliced(tree, STEEL))(1, 0.0)
    moment = 0.30827 * 9.80665 * 250.0
    assert found == pytest.approx(moment / (np.pi / 32.0 * 10.0**3), rel=1e-3)


def test_a_box_turned_in_space_is_found_again() -> None:
    corners = np.array([[x, y, z] for x in (0, 3000) for y in (0, 800) for z in (0, 500)], dtype=float)
    turn = np.linalg.qr(np.random.default_rng(1).normal(size=(3, 3)))[0]
    box = smallest_box(corners @ turn.T, np.zeros(8), np.array([1000.0, 1000.0, 4000.0]))
    np.testing.assert_allclose(box.sides, [500.0, 800.0, 3000.0], rtol=1e-9)
    assert fits(box, 10.0, Limits((4000.0, 1000.0, 1000.0), 20.0))
    assert not fits(box, 10.0, Limits((4000.0, 1000.0, 1000.0), 20.0, door_mm=(700.0, 700.0)))


def test_a_tree_that_fits_stays_in_one_piece() -> None:
    assert len(section_plan(random_tree(40), ROOMY, STEEL, 12.0).sections) == 1


def test_sections_fit_the_truck_and_hold_all_the_steel() -> None:
    tree = random_tree(40)
    plan = section_plan(tree, Limits((2600.0, 1500.0, 1500.0), 60.0), STEEL, 8.0)
    assert plan.faults == ()
    assert len(plan.sections) > 1
    assert all(section.fits for section in plan.sections)
    assert sum(section.mass for section in plan.sections) == pytest.approx(sliced(tree, STEEL).masses.sum(), rel=1e-9)
    assert all(section.splice is not None for section in plan.sections[1:])
    for section in plan.sections[1:]:
        assert section.splice is not None
        assert section.splice.diameter_mm >= 8.0


def test_a_bough_too_wide_for_the_truck_is_left_off_at_its_own_joint() -> None:
    # 1000 mm of post and 500 mm of limb: together 520 wide, apart no wider than their bars.
    plan = section_plan(gallows(), Limits((1100.0, 400.0, 300.0), 100.0), STEEL, 8.0)
    assert len(plan.sections) == 2
    splice = plan.sections[1].splice
    assert splice is not None
    assert splice.at_joint
    assert (splice.row, splice.limit) == (1, "truck width")
    assert min(splice.whole_mm[1], 400.0) > 300.0
    assert plan.of_member.tolist() == [0, 1]


def test_a_post_longer_than_the_truck_is_cut_once_and_no_more() -> None:
    plan = section_plan(post(1000.0), Limits((600.0, 400.0, 400.0), 100.0), STEEL, 8.0)
    assert len(plan.sections) == 2
    splice = plan.sections[1].splice
    assert splice is not None
    assert not splice.at_joint
    assert splice.limit == "truck length"
    assert 400.0 < splice.station_mm < 600.0


def test_two_pieces_never_fit_as_one() -> None:
    limits = Limits((2600.0, 1500.0, 1500.0), 60.0)
    plan = section_plan(random_tree(40), limits, STEEL, 8.0)
    for section in plan.sections[1:]:
        assert section.splice is not None
        assert section.splice.limit
        sides = np.array(section.splice.whole_mm)[::-1]
        assert (sides > limits.sides + 1e-6).any() or section.splice.whole_kg > limits.lift_kg


def test_wind_turns_a_free_post_over_where_its_moment_is_that_of_the_weight() -> None:
    # By hand: 100 kg on a plate of 600 mm, 0.5 m2 of bar at 1 m, drag 1.2, air 1.25 kg/m3, half as sure again.
    speed = wind_held(100.0, 0.0, 0.5e6 * 1000.0, 600.0)
    assert 0.5 * 1.25 * 1.2 * 0.5 * 1.0 * speed**2 * 1.5 == pytest.approx(100.0 * 9.80665 * 0.3)
    assert wind_held(100.0, 250.0, 0.5e9, 600.0) == 0.0


def test_limits_that_nothing_can_meet_are_told_in_words() -> None:
    plan = section_plan(random_tree(40), Limits((300.0, 200.0, 200.0), 1000.0), STEEL, 40.0)
    assert plan.faults
    assert "shop.transport" in plan.faults[0]
    assert plan.sections


def test_a_section_goes_up_after_what_carries_it() -> None:
    plan = section_plan(random_tree(40), Limits((2600.0, 1500.0, 1500.0), 60.0), STEEL, 8.0)
    found, stages = erected(plan, 600.0)
    assert all(section.parent < number for number, section in enumerate(found.sections))
    assert [stage.section for stage in stages] == list(range(len(found.sections)))
    masses = [stage.mass_kg for stage in stages]
    assert masses == sorted(masses)


def counts(tree: Tree, **more: object) -> Counts:
    none, one = np.zeros(len(tree)), np.ones(len(tree))
    nothing = dict.fromkeys(("bends", "marks", "scarfs", "saddles", "fitted", "welded", "runs_mm", "joined"), none)
    usual = {"saw_cuts": one, "sawn_mm": tree.stock_diameters, "masses": none, "splices_mm": np.zeros(0)}
    return Counts(**{**nothing, **usual, **more})  # type: ignore[arg-type]


def test_hours_are_the_sum_of_rates_by_hand() -> None:
    rates = {name: Rate() for name in OPERATIONS} | {"cut": Rate(each=0.5), "hang": Rate(each=0.25)}
    found = labour(post(), counts(post(), leaves=8), rates, Crew(people=2, hours_a_week=10.0, spare="20 %"))
    assert {work.operation: work.hours for work in found.works if work.hours} == {"cut": 0.5, "hang": 2.0}
    assert found.hours == pytest.approx(2.5 * 1.2)
    assert found.weeks == pytest.approx(3.0 / 20.0)
    assert found.spans[-1][2] == pytest.approx(found.weeks)


def test_rates_grow_with_the_bar() -> None:
    rates = {name: Rate() for name in OPERATIONS} | {"cut": Rate(each=1.0, size=1.0)}
    # A 24 mm bar takes twice the 12 mm bar's hour.
    tree = post(diameter=24.0)
    assert labour(tree, counts(tree), rates, Crew(people=1, hours_a_week=40.0, spare="0 %")).hours == pytest.approx(2.0)


def test_a_bar_drawn_down_whole_takes_the_hours_of_its_length() -> None:
    rates = {name: Rate() for name in OPERATIONS} | {"taper": Rate(per_m=3.0)}
    tree, crew = post(2000.0), Crew(people=1, hours_a_week=40.0, spare="0 %")
    assert labour(tree, counts(tree), rates, crew).hours == 0.0
    # Two metres at three hours a metre.
    drawn = counts(tree, drawn_down=np.ones(1, dtype=bool))
    assert labour(tree, drawn, rates, crew).hours == pytest.approx(6.0)


def test_joints_between_sections_take_the_hours_of_their_kind() -> None:
    rates = {name: Rate() for name in OPERATIONS} | {
        "sleeve": Rate(each=4.0),
        "spigot": Rate(each=5.0),
        "flange": Rate(each=6.0, size=1.0),
    }
    bars = np.array([24.0, 36.0])
    hours = {
        kind: labour(
            post(),
            counts(post(), splices_mm=bars, splices=(kind, kind)),
            rates,
            Crew(people=1, hours_a_week=40.0, spare="0 %"),
        ).hours
        for kind in ("sleeve", "spigot", "flange")
    }
    # Two sleeves of four hours, two spigots of five; flanges of six hours at 12 mm, so twelve and eighteen.
    assert hours == pytest.approx({"sleeve": 8.0, "spigot": 10.0, "flange": 30.0})


def test_a_missing_rate_is_told_by_name(tmp_path: Path) -> None:
    path = tmp_path / "rates.toml"
    path.write_text("[cut]\neach = 1.0\n")
    with pytest.raises(CommissionError, match=r"rates\.toml.*'taper'"):
        read_rates(path)


def test_a_misspelt_rate_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "rates.toml"
    path.write_text("".join(f"[{name}]\neach = 1.0\n" for name in OPERATIONS) + "per_foot = 2.0\n")
    with pytest.raises(CommissionError, match="per_foot"):
        read_rates(path)


def test_the_usual_rates_hold_every_operation() -> None:
    assert set(read_rates()) == set(OPERATIONS)


def test_an_estimate_leaves_out_what_has_no_price_and_says_so() -> None:
    found = estimate(
        100.0, 0.0, 20.0, 10.0, Buying(steel_price=2.0, currency="EUR"), Crew(hour_price=50.0, spare="10 %")
    )
    assert found.total == pytest.approx((200.0 + 500.0) * 1.1)
    assert "leaf metal" in found.assumptions[0]


def test_a_collar_round_one_bar_follows_the_ring_rule() -> None:
    # Smiths' ring rule: pi times inside diameter plus bar; two bars of one centre would be one bar.
    assert collar_length(12.0, 12.0, 3.0) == pytest.approx(2 * 12.0 + np.pi * 15.0 + 3.0)


def test_a_bundle_of_seven_has_a_third_of_the_diameter() -> None:
    assert rod_size(60.0, 7, (12.0, 16.0, 20.0, 25.0)) == 20.0


def test_a_bar_over_the_longest_is_made_of_parts_with_scarfs() -> None:
    tree = post()
    sawn = sawing(tree, np.array([10_000.0]), np.array([1]), (20.0,), 6000.0, 1.0)
    found = stock_pieces(sawn)
    assert sawn.parts.tolist() == [2]
    assert found.tags.tolist() == ["T.1", "T.2"]
    assert found.lengths.sum() == pytest.approx(10_000.0 + 20.0)
    assert (found.lengths <= 6000.0).all()


def test_every_rod_of_a_bundle_is_sawn_with_heel_scale_and_allowances() -> None:
    tree = post(1000.0, 60.0)
    one, seven = np.array([1]), np.array([7])
    # (1000 + 8) mm less a fortieth that burns off, and 5 mm to weld it on; 7 rods of 20 mm make 60 mm.
    cut = bundled(np.array([400.0]), tree.lengths, np.array([8.0]), seven, 0.025, np.array([5.0]))
    assert cut[0] == pytest.approx(1008.0 / 0.975 + 5.0)
    found = stock_pieces(sawing(tree, cut, seven, (12.0, 20.0, 60.0), 6000.0, 1.0))
    assert found.tags.tolist() == [f"T.{number}" for number in range(1, 8)]
    assert found.diameters.tolist() == [20.0] * 7
    assert found.lengths == pytest.approx(np.full(7, 1008.0 / 0.975 + 5.0))
    assert bundled(np.array([400.0]), tree.lengths, np.array([8.0]), one, 0.025, np.array([5.0]))[0] == 400.0
