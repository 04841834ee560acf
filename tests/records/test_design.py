"""design.json gives back the identical tree, and says in one line what is wrong with a bad file."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import armature
from armature.errors import FileError
from armature.records.design import design_json, load
from armature.tree import Leaves, Tree
from tests.records.commissions import gate_rowan
from tests.trees import gallows, post, random_tree


def saved(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "design.json"
    path.write_text(text, "utf-8")
    return path


@pytest.mark.parametrize("tree", [post(), gallows(), random_tree(90, 3)], ids=["post", "gallows", "random"])
def test_a_loaded_tree_is_the_saved_one_to_the_last_bit(tmp_path: Path, tree: Tree) -> None:
    again, commission = load(saved(tmp_path, design_json(tree, gate_rowan())))
    assert again.same_as(tree)
    assert commission == gate_rowan()
    assert design_json(again, commission) == design_json(tree, gate_rowan())


def test_the_package_itself_loads_a_design(tmp_path: Path) -> None:
    saved(tmp_path, design_json(gallows(), gate_rowan()))
    assert armature.load(tmp_path)[0].same_as(gallows())


def test_any_double_and_any_name_survives(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    tree = random_tree(200, 5)
    leaves = tree.leaves
    names = np.array(["Zoë", 'a "b"', "李", "\U0001f333", "tab\there"] * len(leaves))[: len(leaves)]
    stations = rng.standard_normal(len(leaves)) * 10.0 ** rng.integers(-300, 300, len(leaves))
    odd = tree.hung(Leaves(leaves.tags, leaves.twigs, stations, leaves.designs, names))
    assert load(saved(tmp_path, design_json(odd, gate_rowan())))[0].same_as(odd)


def test_a_loaded_array_has_the_type_it_was_grown_with(tmp_path: Path) -> None:
    tree = load(saved(tmp_path, design_json(random_tree(8), gate_rowan())))[0]
    assert (str(tree.parents.dtype), str(tree.stations.dtype), tree.tags.dtype.kind) == ("int64", "float64", "U")
    assert tree.chains.vertices.shape[1] == 3


def refused(path: Path, rule: str) -> None:
    with pytest.raises(FileError, match=rule) as told:
        load(path)
    assert "\n" not in str(told.value)
    assert str(told.value).startswith(str(path))


def test_every_way_of_cutting_the_file_short_is_refused_in_one_line(tmp_path: Path) -> None:
    text = design_json(gallows(), gate_rowan())
    for end in range(0, len(text) - 2, 97):
        refused(saved(tmp_path, text[:end]), "cut short or broken")


Change = Callable[[dict[str, Any]], object]
CHANGES: dict[str, tuple[Change, str]] = {
    "no format": (lambda d: d.pop("format"), 'is no design: "format"'),
    "newer": (lambda d: d.update(version=2), "version 2; this program reads version 1"),
    "no tree": (lambda d: d.pop("tree"), "tree is missing"),
    "no tags": (lambda d: d["tree"].pop("tags"), "tree.tags is missing"),
    "unknown key": (lambda d: d["tree"].update(bark=[]), "tree.bark is no key"),
    "text for a number": (
        lambda d: d["tree"]["stations"].__setitem__(0, "0"),
        "tree.stations must be a list of floats",
    ),
    "true for a number": (lambda d: d["tree"]["stations"].__setitem__(0, True), "tree.stations must be a list"),
    "half a row": (lambda d: d["tree"]["parents"].__setitem__(1, 0.5), "tree.parents must be a list of ints"),
    "a huge row": (lambda d: d["tree"]["parents"].__setitem__(1, 10**30), "tree.parents holds a number too large"),
    "a value short": (lambda d: d["tree"]["walls"].pop(), "tree.walls must have 2 values"),
    "a child before its parent": (
        lambda d: d["tree"]["parents"].__setitem__(1, 1),
        "tree.parents must name an earlier",
    ),
    "two trunks": (lambda d: d["tree"]["parents"].__setitem__(1, -1), "one trunk"),
    "a tag twice": (lambda d: d["tree"].update(tags=["T", "T"]), "tree.tags must differ"),
    "no such rank": (lambda d: d["tree"]["ranks"].__setitem__(1, 9), "tree.ranks must lie in 0 to 4"),
    "no thickness": (lambda d: d["tree"]["end_diameters"].__setitem__(1, 0.0), "A: diameters must be more than 0"),
    "two corners in one": (lambda d: d["tree"]["chains"].update(vertices=[[0, 0, 0]] * 4), "two corners of a member"),
    "flat points": (lambda d: d["tree"]["chains"].update(vertices=[[0, 0]] * 4), "vertices must be a list of floats"),
    "no offsets": (lambda d: d["tree"]["chains"].update(offsets=[0, 1, 4]), "at least two vertices"),
    "offsets short": (lambda d: d["tree"]["chains"].update(offsets=[0, 2]), "offsets must run from 0"),
    "a leaf on nothing": (lambda d: d["tree"]["leaves"].update(twigs=[7]), "must name rows of members"),
    "a negative setback": (lambda d: d["tree"]["setbacks"].__setitem__(1, -1.0), "must not be negative"),
    "half a character": (lambda d: d["tree"]["leaves"].update(names=["\ud83c"]), "names holds half a character"),
    "commission": (lambda d: d["commission"]["growth"].update(twigs=-3), "is broken: commission.growth.twigs"),
    "no commission": (lambda d: d.pop("commission"), "is broken: commission"),
    "infinite": (lambda d: d["tree"]["stations"].__setitem__(1, float("inf")), "Infinity is no number"),
    "nan": (lambda d: d["tree"]["stations"].__setitem__(1, float("nan")), "NaN is no number"),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_broken_design_is_refused_with_the_place_and_the_rule(tmp_path: Path, change: str) -> None:
    data = json.loads(design_json(gallows(), gate_rowan()))
    break_it, rule = CHANGES[change]
    break_it(data)
    refused(saved(tmp_path, json.dumps(data)), rule)


@pytest.mark.parametrize("text", ["[]", "3", '"x"', "null", "[" * 100_000, '{"format": 1e999}'])
def test_other_json_is_no_design(tmp_path: Path, text: str) -> None:
    refused(saved(tmp_path, text), "is no design|is broken|cut short")


def test_a_missing_or_unreadable_file_is_refused(tmp_path: Path) -> None:
    refused(tmp_path / "design.json", "no such file")
    (tmp_path / "design.json").write_bytes(b"\xff\xfe\x00")
    refused(tmp_path / "design.json", "UTF-8")


def test_an_overflowing_number_is_refused(tmp_path: Path) -> None:
    text = design_json(gallows(), gate_rowan()).replace('"setbacks": [0.0,10.0]', '"setbacks": [0.0,1e999]')
    refused(saved(tmp_path, text), "tree.setbacks must be finite")
