"""The welds that the papers tell: what strength asks for, never less; their metal by formula; what they cost."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from pathlib import Path

import networkx
import numpy as np
import pytest
from numpy.typing import NDArray
from pypdf import PdfReader

from armature.files.shop_lists import plan_json, welding_csv
from armature.metals import least_fillets
from armature.papers.shop.packet import packet
from armature.papers.shop.station_sheets import stations
from armature.shop import ShopPlan, shop_plan
from armature.shop.access import weld_order
from armature.shop.bending import paper_for
from armature.shop.welds import upward, weld_metal, welds
from armature.strength.conditions import conditions
from armature.strength.welds import welds as sized
from armature.tree import Demands, Floats
from tests.shop.commissions import commission
from tests.strength.made import american
from tests.trees import gallows, post, random_tree

TREE = random_tree(8)
GROOVED = np.arange(len(TREE)) % 2 == 1
LEGS = np.where(GROOVED, 99.0, np.where(np.arange(len(TREE)) == 2, 9.2, 0.1))


def asks(legs: Floats, grooves: NDArray[np.bool_]) -> Demands:
    none = np.zeros(0)
    return Demands(legs, grooves, np.zeros(len(legs)), none.astype(np.int64), none, none)


def text_of(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages)


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    job = commission(tmp_path_factory.mktemp("job"), more="shop.anvil.copies = 0\n")
    return shop_plan(TREE, job, asks(LEGS, GROOVED))


@pytest.fixture(scope="module")
def unknown(tmp_path_factory: pytest.TempPathFactory) -> ShopPlan:
    return shop_plan(TREE, commission(tmp_path_factory.mktemp("job"), more="shop.anvil.copies = 0\n"))


def test_least_fillets_follow_the_table() -> None:
    # AISC 360-16 table J2.4 (from memory): 1/8 in to 1/4, 3/16 to 1/2, 1/4 to 3/4, 5/16 above.
    parts = np.array([0.25, 0.2500001, 0.5, 0.75, 0.76, 4.0]) * 25.4
    assert (least_fillets(parts) / 25.4 * 16).tolist() == pytest.approx([2, 2, 3, 4, 5, 5])


def test_no_leg_is_printed_under_what_strength_needs() -> None:
    legs = np.linspace(2.0, 20.0, 500)
    for step in (25.4 / 16, 0.5):
        printed = upward(legs, step)
        # A twentieth of a millimetre is under what a weld gauge shows.
        assert (printed >= legs - 0.05).all()
        assert (printed < legs + step).all()
        assert np.allclose(printed / step, np.round(printed / step))


def test_what_strength_asks_of_each_joint_stands_in_the_welding_list(plan: ShopPlan) -> None:
    rows = {row["tag"]: row for row in csv.DictReader(io.StringIO(welding_csv(plan)))}
    for at, tag in enumerate(TREE.tags.tolist()):
        row = rows[tag]
        assert row["sized_by"] == "strength"
        assert row["weld"] == ("groove" if GROOVED[at] else "fillet")
        assert float(row["fillet_mm"]) >= (0.0 if GROOVED[at] else LEGS[at])
    assert float(rows[TREE.tags[2]]["fillet_mm"]) == 9.5


def test_cards_and_welders_sheets_tell_grooves_and_legs_as_strength_found_them(plan: ShopPlan) -> None:
    cards = text_of(packet(plan)).replace("\n", " ")
    assert cards.count("full penetration") == int(GROOVED.sum())
    assert cards.count("9.5 mm fillet weld") == 1
    welder = text_of(stations(plan)).replace("\n", " ")
    assert welder.count("full groove") + welder.count("point, full") == int(GROOVED.sum()) - int(GROOVED[0])
    assert "9.5 mm fillet" in welder
    assert json.loads(plan_json(plan))["welding"]["grooves"] == TREE.tags[GROOVED].tolist()


def test_an_acute_groove_is_welded_from_its_toe_with_a_trial_joint(tmp_path: Path) -> None:
    # C01 leans by 28 deg; strength says that its foot is used to a half with its heel open.
    row = TREE.rows["C01"]
    grooves = np.arange(len(TREE)) == row
    asked = replace(asks(LEGS, grooves), heel_uses=np.full(len(TREE), 0.5))
    made = shop_plan(TREE, commission(tmp_path, more="shop.anvil.copies = 0\n"), asked)
    cards = text_of(packet(made)).replace("\n", " ")
    assert "groove weld from toe and sides, through to the heel's edge" in cards
    assert "open 6 mm at most there" in cards
    assert "E 42 4 B alone" in cards
    assert "acute at the heel: C01" in cards
    assert not any("penetration" in fault for fault in made.faults)
    assert "groove, from toe" in text_of(stations(made))
    assert {r["tag"]: r["end"] for r in csv.DictReader(io.StringIO(welding_csv(made)))}["C01"] == "bevel from toe"


def test_papers_say_so_where_strength_was_not_worked_out(unknown: ShopPlan) -> None:
    assert "strength was not worked out" in text_of(packet(unknown))
    assert "strength was not worked out" in text_of(stations(unknown))
    assert "least size" in welding_csv(unknown)
    assert not unknown.welds.grooves.any()
    least = np.minimum(least_fillets(TREE.start_diameters), TREE.start_diameters / 2.0)[1:]
    assert (unknown.welds.legs[1:] >= least - 0.05).all()


def test_weld_metal_is_that_of_rings_and_cones() -> None:
    tree = gallows()
    none = np.zeros(2, dtype=bool)
    # A triangle of 3 x 3 mm turned round a 10 mm bar, its centre 1 mm out: 4.5 mm2 x 12 pi mm.
    assert weld_metal(tree, np.array([0.0, 3.0]), none)[1] == pytest.approx(4.5 * np.pi * 12.0)
    # A cylinder of 10 mm across and 5 mm high less its cone: two thirds of it.
    assert weld_metal(tree, np.zeros(2), ~none)[1] == pytest.approx(2.0 / 3.0 * np.pi * 25.0 * 5.0)


def test_grooves_take_more_hours_and_metal_than_fillets(plan: ShopPlan, unknown: ShopPlan) -> None:
    def hours(made: ShopPlan, operation: str) -> float:
        return next(work.hours for work in made.labour.works if work.operation == operation)

    assert hours(plan, "weld") > hours(unknown, "weld")
    assert hours(plan, "saddle") > hours(unknown, "saddle")
    kilograms = {line.what: line.quantity for line in plan.estimate.lines}
    assert kilograms["weld metal, laid down"] == pytest.approx(plan.welds.metal.sum() * 7.85e-6, rel=1e-3)


def test_other_joints_than_welds_have_no_leg_and_no_groove(tmp_path: Path) -> None:
    job = commission(tmp_path, more='shop.anvil.copies = 0\nshop.joining.twig = "collar"\n')
    made = shop_plan(TREE, job, asks(LEGS, GROOVED))
    twigs = TREE.ranks == 4
    assert not made.welds.grooves[twigs].any()
    assert not made.welds.legs[twigs].any()
    assert not made.welds.metal[twigs].any()


def test_the_trunk_is_welded_to_its_plate_only_where_strength_says_how() -> None:
    kinds, paper = np.array(["base"]), paper_for("mm")
    assert not welds(post(), kinds, paper).metal.any()
    known = welds(post(), kinds, paper, asks(np.array([7.9]), np.array([False])))
    assert known.legs.tolist() == [8.0]


def test_no_fillet_on_paper_is_under_what_strength_records(tmp_path: Path) -> None:
    # Both read one table of least sizes: nothing printed is short of a figure that was rounded another way.
    count = len(TREE)
    none, square, yields = np.zeros(count), np.full(count, 90.0), np.full(count, 248.0)
    asked = sized(none, TREE.start_diameters, square, yields, TREE.walls, conditions(american()))
    more = "shop.anvil.copies = 0\n"
    made = shop_plan(TREE, commission(tmp_path, units="inch", more=more), asks(asked.leg, asked.is_groove))
    fillets = made.welds.are_fillets
    assert fillets.sum() == count
    assert (made.welds.legs[fillets] >= asked.leg[fillets] - 0.05).all()
    thick = fillets & (TREE.start_diameters > 12.7)
    assert (made.welds.legs[thick] >= asked.least[thick] - 1e-9).all()


def test_the_order_of_welding_is_an_order_of_the_graph_of_what_must_come_first() -> None:
    tree = random_tree(60, 5)
    order = weld_order(tree)
    graph = tree.graph()
    graph.add_edges_from((tree.tags[row], tree.tags[late]) for row, after in order.before.items() for late in after)
    assert networkx.is_directed_acyclic_graph(graph)
    turn = dict(zip(tree.tags[order.order].tolist(), range(len(tree)), strict=True))
    assert sorted(turn.values()) == list(range(len(tree)))
    assert all(turn[first] < turn[then] for first, then in graph.edges)
