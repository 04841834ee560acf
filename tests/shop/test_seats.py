"""Site joints that can be put together: straight runs of constant section, else flanges and why; one word for each."""

from __future__ import annotations

import io
from dataclasses import replace
from math import cos
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from armature.papers.shop.erection import erection_sheets
from armature.papers.shop.estimate import estimate_sheet
from armature.papers.shop.words import bar_text, joint_text
from armature.shop import ShopPlan, shop_plan
from armature.shop.boxes import Limits
from armature.shop.seats import PLAY, seat, sleeve_length, straight_places
from armature.shop.sections import section_plan
from armature.shop.splices import site_joint
from armature.tree import Tree, chain, locate
from tests.preset_trees import grown, preset
from tests.shop.commissions import commission
from tests.trees import post

QUIET = "shop.anvil.copies = 0\n"


def elbow(first: float, second: float, diameter: float = 20.0, radius: float = 300.0) -> Tree:
    """A post that goes up, then leans by 45 degrees along an arc: sides of the corner in mm."""
    lean = second / np.sqrt(2.0)
    corners = [[0.0, 0.0, 0.0], [0.0, 0.0, first], [lean, 0.0, first + lean]]
    return replace(post(1000.0, diameter), chains=chain(corners, [0.0, radius, 0.0]))


def pipe(height: float = 2000.0, taper_from: float | None = None) -> Tree:
    """A straight pipe of 114.3 x 10, drawn in to 70 mm at its tip from a station on, if one is given."""
    made = replace(post(height, 114.3), walls=np.array([10.0]))
    if taper_from is None:
        return made
    return made.coned(ends=[70.0], froms=[taper_from])


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def planned(tree: Tree, folder: Path, length: str) -> ShopPlan:
    text = f'shop.transport.length = "{length}"\nshop.transport.lift = "3000 kg"\n'
    return shop_plan(tree, commission(folder, more=QUIET + text))


def test_the_rise_under_a_sleeve_is_that_of_the_arc() -> None:
    tree = elbow(1000.0, 1000.0)
    # The middle of the arc: 300 tan(22.5 deg) before the corner, then half of 300 pi / 4.
    middle = 1000.0 - 300.0 * np.tan(np.pi / 8.0) + 300.0 * np.pi / 8.0
    found = seat(tree, 0, middle)
    assert found.length_mm == 100.0
    assert found.rise_mm == pytest.approx(300.0 * (1.0 - cos(50.0 / 300.0)), rel=1e-6)
    assert found.is_bent
    assert not found.is_drawn


def test_a_seat_on_a_straight_run_holds_and_one_on_a_taper_does_not() -> None:
    assert seat(elbow(1000.0, 1000.0), 0, 400.0).holds
    drawn = pipe(2000.0, 1000.0)
    assert seat(drawn, 0, 1000.0 - sleeve_length(114.3) / 2.0).holds
    beyond = seat(drawn, 0, 1500.0)
    # 44.3 mm over 1000 mm of taper.
    assert beyond.change_mm == pytest.approx(44.3e-3 * beyond.length_mm)
    assert not beyond.holds


def test_straight_places_keep_the_whole_sleeve_off_bends_and_tapers() -> None:
    bend = 300.0 * np.tan(np.pi / 8.0)
    tree = elbow(500.0, 600.0)
    found = straight_places(tree, 0)
    arc = 500.0 - bend
    assert found.min() == pytest.approx(50.0)
    assert found[found < arc].max() == pytest.approx(arc - 50.0, abs=1e-3)
    assert found[found > arc].min() == pytest.approx(arc + 300.0 * np.pi / 4.0 + 50.0, abs=1e-3)
    assert found.max() == pytest.approx(float(tree.lengths[0]) - 50.0, abs=1e-3)
    assert straight_places(pipe(2000.0, 1000.0), 0).max() == pytest.approx(1000.0 - 287.5)


def test_a_cut_moves_along_its_bar_to_a_straight_run() -> None:
    # 1,000 mm up and 1,000 leaning on a truck of 1,120: the middle of the bar, where a cut suits best, is the bend.
    tree = elbow(1000.0, 1000.0, 30.0)
    assert seat(tree, 0, float(tree.lengths[0]) / 2.0).rise_mm > 9.0
    plan = section_plan(tree, Limits((1120.0, 900.0, 300.0), 200.0), 7850.0, 8.0)
    assert plan.faults == ()
    (splice,) = [section.splice for section in plan.sections if section.splice is not None]
    assert splice.seat is not None
    assert splice.seat.holds
    joint = site_joint(splice, "sleeve", 250.0)
    assert joint.kind == "sleeve"
    assert joint.length_mm == splice.seat.length_mm
    assert joint.not_seated is None


def test_where_no_run_is_straight_flanges_are_taken_and_the_reason_is_told() -> None:
    # One arc of 45 degrees all along: no place for a straight sleeve.
    radius = 1000.0
    side = radius * np.tan(np.pi / 8.0) + 1.0
    tree = elbow(side, side, 40.0, radius)
    plan = section_plan(tree, Limits((500.0, 300.0, 300.0), 100.0), 7850.0, 8.0)
    splices = [section.splice for section in plan.sections if section.splice is not None]
    assert splices
    for splice in splices:
        joint = site_joint(splice, "sleeve", 250.0)
        assert joint.kind == "flange"
        assert joint.asked == "sleeve"
        assert "(no sleeve of 200 mm: bar there 5 mm off straight)" in joint_text(joint, "mm")
        assert "no sleeve" not in joint_text(site_joint(splice, "flange", 250.0), "mm")


@pytest.mark.parametrize("name", ["monumental", "espalier"])
def test_every_site_joint_of_the_large_presets_can_be_put_together(name: str) -> None:
    asked, tree = preset(name), grown(name)
    transport = asked.shop.transport
    limits = Limits((transport.length, transport.width, transport.height), transport.lift)
    sawn = 0
    for section in section_plan(tree, limits, asked.steel.density, transport.least_splice).sections:
        if section.splice is None or section.splice.at_joint:
            continue
        sawn += 1
        splice, row = section.splice, section.splice.row
        joint = site_joint(splice, "sleeve", 355.0)
        length = sleeve_length(splice.diameter_mm)
        stations = splice.station_mm + np.linspace(-0.5, 0.5, 201) * length
        points = locate(tree.chains, np.full(201, row), stations)[0]
        along = (points[-1] - points[0]) / np.linalg.norm(points[-1] - points[0])
        aside = points - points[0] - np.outer((points - points[0]) @ along, along)
        rise = np.linalg.norm(aside, axis=1).max()
        change = np.ptp(tree.diameters_at(np.full(201, row), stations))
        if joint.kind == "flange":
            # Asked for only where a straight joint would have to follow a bend or a taper.
            assert rise > PLAY / 2.0 or change > 0.1
        else:
            assert joint.length_mm == length
            assert rise < PLAY
            assert change <= 0.1
    assert sawn


@pytest.mark.parametrize(
    ("tree", "kind"), [(pipe(8000.0), "spigot"), (post(8000.0, 40.0), "sleeve"), (pipe(8000.0, 0.0), "flange")]
)
def test_a_joint_has_one_word_in_order_of_erection_and_estimate(tree: Tree, kind: str, tmp_path: Path) -> None:
    plan = planned(tree, tmp_path, "5000 mm")
    assert [joint.kind for joint in plan.site_joints if joint is not None] == [kind]
    erection, hours = words(erection_sheets(plan)), words(estimate_sheet(plan))
    assert f"{kind} on T, S1" in erection
    assert f"make the {kind} joints" in hours
    for other in {"sleeve", "spigot", "flange"} - {kind}:
        assert f"{other} on T" not in erection
        assert f"make the {other} joints" not in hours


def test_pipe_is_named_by_its_exact_size(tmp_path: Path) -> None:
    assert bar_text(pipe(), 0, 100.0, "mm") == "pipe 114.3 x 10 mm"
    assert bar_text(pipe(2000.0, 0.0), 0, 1000.0, "mm") == "pipe 114.3 x 10, here 92 mm"
    assert bar_text(post(1000.0, 25.4), 0, 100.0, "inch") == 'bar 1"'
    text = words(erection_sheets(planned(pipe(8000.0), tmp_path, "5000 mm")))
    assert "pipe 114.3 x 10 mm" in text
    assert "114.5" not in text
