"""The lists say what the columns promise, and joints and bends alone rebuild the tree."""

from __future__ import annotations

import csv
import io

import numpy as np
import pytest

from armature.files.lists import bends_csv, hang_points_csv, joints_csv, members_csv
from armature.tree import Leaves, Tree
from tests.files import anvil
from tests.trees import gallows, random_tree


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def members(tree: Tree) -> list[dict[str, str]]:
    return rows(members_csv(tree, tree.lengths, tree.volumes * 7.85e-6))


@pytest.mark.parametrize("seed", range(4))
def test_joints_and_bends_read_as_text_bring_every_tip_back(seed: int) -> None:
    tree = random_tree(400, seed)
    bars = anvil.built(joints_csv(tree), bends_csv(tree))
    assert list(bars) == tree.tags.tolist()
    off = np.linalg.norm(np.array([bar.tip for bar in bars.values()]) - tree.tips, axis=1)
    # The contract is 0.01 mm; six decimals of mm and nine of degrees leave far less over some metres.
    assert off.max() < 1e-4
    np.testing.assert_allclose([bar.length for bar in bars.values()], tree.lengths, atol=1e-4)


def test_columns_stand_in_the_agreed_order() -> None:
    tree = random_tree(8)
    heads = [text.split("\n", 1)[0] for text in (bends_csv(tree), joints_csv(tree), hang_points_csv(tree))]
    assert heads == [
        "tag,bend,mark_mm,feed_mm,turn_deg,bend_deg,radius_mm",
        (
            "child,parent,station_mm,clock_deg,lean_deg,roll_deg,setback_mm,foot_mm,tail_mm,finished_mm,parent_d_mm,"
            "child_d_mm,base_x_mm,base_y_mm,base_z_mm,leaves_mm,swell_mm"
        ),
        "leaf,twig,station_mm,x_mm,y_mm,z_mm,design,name",
    ]
    assert ",".join(members(tree)[0]) == (
        "tag,rank,parent,stock_mm,start_mm,end_mm,finished_mm,cut_mm,setback_mm,tail_mm,bends,mass_kg,"
        "x0_mm,y0_mm,z0_mm,x1_mm,y1_mm,z1_mm,heel_mm,draw_mm"
    )


def test_a_gallows_reads_as_it_is_built() -> None:
    tree = gallows()
    trunk, limb = members(tree)
    assert (trunk["tag"], trunk["rank"], trunk["parent"], trunk["finished_mm"]) == ("T", "trunk", "base", "1000.0")
    assert (limb["tag"], limb["rank"], limb["parent"], limb["setback_mm"]) == ("A", "limb", "T", "10.0")
    assert [limb[f"{axis}{end}_mm"] for end in "01" for axis in "xyz"] == [
        "10.0",
        "0.0",
        "800.0",
        "510.0",
        "0.0",
        "800.0",
    ]
    # A 10 mm round of 500 mm: 0.617 kg/m (EN 10060, from memory).
    assert float(limb["mass_kg"]) == pytest.approx(0.617 * 0.5, abs=0.0005)
    joint = rows(joints_csv(tree))[1]
    assert (joint["parent"], joint["station_mm"], joint["foot_mm"]) == ("T", "800.0", "800.0")
    assert (joint["parent_d_mm"], joint["child_d_mm"], joint["tail_mm"]) == ("20.0", "10.0", "500.0")
    assert rows(bends_csv(tree)) == []


def test_the_trunk_stands_upright_on_the_base_with_no_setback() -> None:
    trunk = rows(joints_csv(random_tree(8)))[0]
    assert trunk["parent"] == "base"
    assert [float(trunk[name]) for name in ("station_mm", "setback_mm", "foot_mm", "parent_d_mm")] == [0.0] * 4


def test_a_leaf_hangs_below_its_twig() -> None:
    (leaf,) = rows(hang_points_csv(gallows()))
    # The twig's tip is at (510, 0, 800) and it is 10 mm thick.
    assert [leaf["x_mm"], leaf["y_mm"], leaf["z_mm"]] == ["510.0", "0.0", "795.0"]
    assert (leaf["leaf"], leaf["twig"], leaf["design"], leaf["name"]) == ("A-1", "A", "1", "")


@pytest.mark.parametrize("name", ["Ann, of the gate", 'Bo "the bar"', "two\nlines", "Zoë Ñandú", "李", " both sides "])
def test_any_name_comes_back_from_the_csv_reader(name: str) -> None:
    assert rows(hang_points_csv(named(name)))[0]["name"] == name


@pytest.mark.parametrize("name", ["=1+1", "+44", "-Ann", "@SUM(A1)", "\t=1", '=HYPERLINK("x")'])
def test_no_name_is_a_formula_to_a_spreadsheet(name: str) -> None:
    assert rows(hang_points_csv(named(name)))[0]["name"] == "'" + name


def test_marks_and_feeds_add_up_along_each_bar() -> None:
    at: dict[str, float] = {}
    for row in rows(bends_csv(random_tree(40))):
        run = at.get(row["tag"], 0.0) + float(row["feed_mm"])
        assert float(row["mark_mm"]) == pytest.approx(run, abs=1e-5)
        assert (row["bend"] == "1") == (row["tag"] not in at)
        assert row["bend"] != "1" or float(row["turn_deg"]) == 0.0
        at[row["tag"]] = run + float(row["radius_mm"]) * np.radians(float(row["bend_deg"]))


def test_no_half_turn_is_written_with_two_signs() -> None:
    from armature.files.csv_text import csv_text

    text = csv_text({"turn_deg": np.array([-180.0, 180.0, -0.0, -179.9999999999])})
    assert text.split() == ["turn_deg", "180.0", "180.0", "0.0", "180.0"]


def named(name: str) -> Tree:
    tree = gallows()
    leaf = tree.leaves
    return tree.hung(Leaves(leaf.tags, leaf.twigs, leaf.stations, leaf.designs, np.array([name])))
