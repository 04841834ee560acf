"""The summary tells counts, sizes and masses that follow from the tree, and what others found."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from armature.commission import changed
from armature.files.summary import Finding, summary, summary_json
from armature.papers.summary import summary_md
from armature.tree import Leaves, Tree
from tests.files.commissions import gate_rowan
from tests.trees import gallows, random_tree


def told(tree: Tree, **more: Any) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(summary_json(summary(tree, gate_rowan(), **more)))
    return found


def test_a_gallows_is_two_bars_and_a_leaf() -> None:
    found = told(gallows())
    assert found["counts"] == {
        "members": 2, "trunk": 1, "limbs": 1, "branches": 0, "branchlets": 0, "twigs": 0,
        "roots": 0, "leaders": 0, "bends": 0, "joints": 1, "leaves": 1, "designs": 1, "names": 0,
    }  # fmt: skip
    assert found["sizes"]["height_mm"] == 1000.0
    # Skins count: the post's 10 mm to the left, the limb's tip 510 mm to the right.
    assert found["sizes"]["spread_x_mm"] == 520.0
    assert found["sizes"]["centrelines_mm"] == 1500.0
    # 2.466 and 0.617 kg a metre (EN 10060, from memory), grade A36 at 7850 kg/m3.
    assert found["masses"]["steel_kg"] == pytest.approx(2.466 + 0.617 / 2.0, abs=0.002)
    assert found["masses"]["heaviest_kg"] == pytest.approx(2.466, abs=0.001)
    assert found["masses"]["leaves_kg"] is None


def test_ranks_and_stock_add_up_to_the_tree() -> None:
    tree = random_tree(40)
    found = told(tree)
    assert sum(row["members"] for row in found["ranks"]) == len(tree)
    assert sum(row["mass_kg"] for row in found["ranks"]) == pytest.approx(found["masses"]["steel_kg"], abs=0.005)
    assert sum(row["pieces"] for row in found["stock"]) == len(tree)
    assert sum(row["mass_kg"] for row in found["stock"]) == pytest.approx(found["masses"]["stock_kg"], abs=0.005)
    assert found["masses"]["stock_kg"] > found["masses"]["steel_kg"]


def test_pipe_is_bought_by_its_wall() -> None:
    tree = replace(gallows(), walls=np.array([2.0, 0.0]))
    pipe = next(row for row in told(tree)["stock"] if row["wall_mm"] > 0.0)
    # 20 x 2 pipe: 0.0246615 (D - t) t = 0.888 kg a metre (EN 10220, from memory).
    assert pipe["mass_kg"] == pytest.approx(0.888, rel=0.002)
    assert "20 mm pipe, wall 2 mm" in summary_md(told(tree), "mm")


def test_ranks_of_pipe_are_told_by_exact_sizes() -> None:
    size = np.array([114.3, 10.0])
    tree = replace(gallows(), walls=np.array([12.5, 0.0]), stock_diameters=size).coned(starts=size)
    text = summary_md(told(tree), "mm")
    assert "| trunk | 1 | pipe 114.3 x 12.5 mm |" in text
    assert "114.5" not in text
    assert "| limb | 1 | 10 mm |" in text


def test_what_others_found_is_told_with_numbers_that_repeat() -> None:
    look = Finding("reads as grown", {"score": np.float64(81.23456789), "gaps": float("nan")}, ["B runs beside C"])
    found = told(gallows(), findings={"look": look}, warnings=["no names given"], leaf_kg=12.3456)
    assert found["look"] == {
        "verdict": "reads as grown",
        "score": 81.234568,
        "gaps": None,
        "notes": ["B runs beside C"],
    }
    assert found["warnings"] == ["no names given"]
    assert found["masses"]["leaves_kg"] == 12.346


def test_the_page_shows_it_all_in_the_shops_units() -> None:
    tree, look = gallows(), Finding("reads as grown", {"score": 81.25}, ["B runs\nbeside C"])
    page = summary_md(summary(tree, gate_rowan(), {"look": look}, ["a | b"]), "mm")
    for line in (
        "# Gate rowan",
        "| bars | 2, with 0 bends |",
        "| height | 1000 mm |",
        "| trunk | 1 | 20 mm | 20 mm | 1.0 m | 2.5 kg |",
        "## Look",
        "reads as grown",
        "| score | 81.25 |",
        "- B runs beside C",
        "- a | b",
    ):
        assert line in page.splitlines(), line
    assert "licensed engineer" in page
    inch = summary_md(summary(tree, changed(gate_rowan(), {"units": "inch"})), "inch")
    assert "3' 3 3/8\"" in inch
    assert "5.4 lb" in inch


def test_named_leaves_are_counted() -> None:
    tree = random_tree(16)
    leaves = tree.leaves
    names = np.where(np.arange(len(leaves)) < 5, "Ann", "")
    named = tree.hung(Leaves(leaves.tags, leaves.twigs, leaves.stations, leaves.designs, names))
    assert told(named)["counts"]["names"] == 5


def test_little_steel_is_told_in_grams_or_ounces() -> None:
    tables = summary(gallows(), gate_rowan())
    # The limb of 0.308 kg, 10.9 oz.
    assert "| limb | 1 | 10 mm | 10 mm | 0.5 m | 308 g |" in summary_md(tables, "mm")
    assert "10.9 oz" in summary_md(tables, "inch")


def test_the_summary_says_what_was_asked_beside_what_was_grown() -> None:
    asked = gate_rowan().canopy
    found = told(gallows())
    assert found["asked"] == {
        "height_mm": asked.height, "spread_x_mm": asked.spread[0], "spread_y_mm": asked.spread[1],
        "limbs": 3, "branches": 12, "branchlets": 0, "twigs": 90, "roots": 0,
        "leaves": gate_rowan().leaves.count, "designs": gate_rowan().leaves.designs,
    }  # fmt: skip
    page = summary_md(found, "mm")
    assert "| height | 1000 mm |" in page
    assert f"| height, as asked | {asked.height:.0f} mm |" in page
    assert f"| spread, as asked | {asked.spread[0]:.0f} mm by {asked.spread[1]:.0f} mm |" in page
