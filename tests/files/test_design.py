"""design.json gives back the identical tree, and says in one line what is wrong with a bad file."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import armature
from armature.commission import read
from armature.edge import FileError
from armature.files.design import design_json, load
from armature.grow import grow
from armature.tree import Leaves, Tree
from tests.files.commissions import gate_rowan
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
    stations = rng.uniform(0.0, 1.0, len(leaves)) * 10.0 ** rng.integers(-300, 2, len(leaves))
    odd = tree.hung(Leaves(leaves.tags, leaves.twigs, stations, leaves.designs, names))
    assert load(saved(tmp_path, design_json(odd, gate_rowan())))[0].same_as(odd)


def test_a_loaded_array_has_the_type_it_was_grown_with(tmp_path: Path) -> None:
    tree = load(saved(tmp_path, design_json(random_tree(8), gate_rowan())))[0]
    assert (str(tree.parents.dtype), str(tree.stations.dtype), tree.tags.dtype.kind) == ("int64", "float64", "U")
    assert tree.chains.vertices.shape[1] == 3


@pytest.mark.parametrize(
    "more",
    [
        "growth.branchlets = 8",
        'steel.trunk = "pipe"\nsteel.pipes = [{outside = "60 mm", wall = "3 mm"}]',
        "growth.limb.bends = 12\ngrowth.twig.bends = 12\ngrowth.limb.sinuosity = 1.15\ngrowth.twig.sinuosity = 1.15",
        'canopy.habit = "pendulous"\ngrowth.pipe_exponent = 1.2',
        'shop.bend_factor = 10\nshop.least_bend = "1 deg"',
    ],
)
def test_whatever_is_grown_can_be_loaded_again(tmp_path: Path, more: str) -> None:
    text = 'title = "T"\ncanopy.height = "3 m"\ngrowth.limbs = 2\ngrowth.branches = 6\ngrowth.twigs = 24\n'
    commission = read(text + more + "\n")
    tree = grow(commission)
    assert load(saved(tmp_path, design_json(tree, commission)))[0].same_as(tree)


def as_version_1(text: str) -> dict[str, Any]:
    """Return a design as version 1 wrote it: every bar a cone."""
    told: dict[str, Any] = json.loads(text)
    tapers = told["tree"].pop("tapers")
    del told["tree"]["departures"]
    firsts = tapers["offsets"][:-1]
    told["tree"]["start_diameters"] = [tapers["diameters"][at] for at in firsts]
    told["tree"]["end_diameters"] = tapers["tips"]
    told["tree"]["taper_starts"] = [tapers["stations"][after - 1] for after in tapers["offsets"][1:]]
    told["version"] = 1
    return told


def test_a_design_of_version_1_loads_as_the_same_tree(tmp_path: Path) -> None:
    tree = random_tree(40, 3)
    tree = tree.coned(froms=np.where(np.arange(len(tree)) % 2 == 0, 0.35 * tree.lengths, 0.0))
    told = as_version_1(design_json(tree, gate_rowan()))
    assert load(saved(tmp_path, json.dumps(told)))[0].same_as(tree)
    told["tree"]["end_diameters"].pop()
    refused(saved(tmp_path, json.dumps(told)), "must have as many values each")


def refused(path: Path, rule: str) -> None:
    with pytest.raises(FileError, match=rule) as told:
        load(path)
    assert "\n" not in str(told.value)
    assert str(told.value).startswith(str(path))


def test_every_way_of_cutting_the_file_short_is_refused_in_one_line(tmp_path: Path) -> None:
    text = design_json(gallows(), gate_rowan())
    for end in range(0, len(text) - 2, 97):
        refused(saved(tmp_path, text[:end]), "cut short or broken")


def corners(data: dict[str, Any], limb: list[list[float]], radius: float = 0.0) -> None:
    """Give the limb of the gallows other corners, and a bend at the middle one."""
    chains = data["tree"]["chains"]
    chains.update(offsets=[0, 2, 5], vertices=[*chains["vertices"][:2], *limb], radii=[0, 0, 0, radius, 0])


def taper(data: dict[str, Any], stations: list[float], diameters: list[float], swell: float = 0.0) -> None:
    """Give the limb of the gallows other diameters along it, and a swelling that ends at a station."""
    both = {"offsets": [0, 1, 1 + len(stations)], "stations": [0.0, *stations], "diameters": [20.0, *diameters]}
    data["tree"]["tapers"].update(**both, tips=[20.0, 10.0], swells=[0.0, swell])


Change = Callable[[dict[str, Any]], object]
CHANGES: dict[str, tuple[Change, str]] = {
    "no format": (lambda d: d.pop("format"), 'is no design: "format"'),
    "newer": (lambda d: d.update(version=3), "version 3; this program reads versions 1 to 2"),
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
    "a limb on the ground": (lambda d: d["tree"]["parents"].__setitem__(1, -1), "A: only stems, and rods of a bundle"),
    "no trunk": (lambda d: d["tree"]["ranks"].__setitem__(0, 1), "must have a trunk first"),
    "a tag twice": (lambda d: d["tree"].update(tags=["T", "T"]), "tree.tags must differ"),
    "no such rank": (lambda d: d["tree"]["ranks"].__setitem__(1, 9), "tree.ranks must lie in 0 to 5"),
    "no thickness": (lambda d: d["tree"]["tapers"]["tips"].__setitem__(1, 0.0), "A: diameters must be more than 0"),
    "two corners in one": (lambda d: d["tree"]["chains"].update(vertices=[[0, 0, 0]] * 4), "two corners of a member"),
    "flat points": (lambda d: d["tree"]["chains"].update(vertices=[[0, 0]] * 4), "vertices must be a list of floats"),
    "no offsets": (lambda d: d["tree"]["chains"].update(offsets=[0, 1, 4]), "at least two vertices"),
    "offsets short": (lambda d: d["tree"]["chains"].update(offsets=[0, 2]), "offsets must run from 0"),
    "a leaf on nothing": (lambda d: d["tree"]["leaves"].update(twigs=[7]), "must name rows of members"),
    "a negative setback": (lambda d: d["tree"]["setbacks"].__setitem__(1, -1.0), "must not be negative"),
    "a trunk that hangs": (
        lambda d: d["tree"]["chains"].update(vertices=[[0, 0, 0], [0, 0, -1000], [10, 0, -800], [510, 0, -800]]),
        "T: the trunk must rise",
    ),
    "a fold": (
        lambda d: corners(d, [[10, 0, 800], [300, 0, 800], [10, 0, 800.01]]),
        "A: a corner folds back on itself",
    ),
    "a bend too wide": (lambda d: corners(d, [[10, 0, 800], [300, 0, 800], [300, 9, 800]], 20.0), "A: bends overlap"),
    "a bend of a thousand km": (
        lambda d: corners(d, [[10, 0, 800], [300, 0, 800], [510, 0, 800.001]], 1e9),
        "tree.chains.radii must lie within 200 m",
    ),
    "a corner on the moon": (
        lambda d: corners(d, [[10, 0, 800], [300, 0, 1e12], [510, 0, 800]]),
        "tree.chains.vertices must lie within 200 m",
    ),
    "a corner at the end of numbers": (
        lambda d: corners(d, [[10, 0, 800], [1e308, 0, 0], [510, 0, 800]]),
        "tree.chains.vertices must lie within 200 m",
    ),
    "a joint far out": (lambda d: d["tree"]["stations"].__setitem__(1, 1200.0), "A: a station lies past the end"),
    "a setback far out": (lambda d: d["tree"]["setbacks"].__setitem__(1, 1e9), "tree.setbacks must lie within 200 m"),
    "a taper past the tip": (lambda d: taper(d, [0.0, 900.0], [10.0, 10.0]), "A: a place of the taper lies past"),
    "a taper that runs back": (lambda d: taper(d, [0.0, 300.0, 200.0], [10.0, 9.0, 8.0]), "must follow each other"),
    "a taper that starts late": (
        lambda d: taper(d, [5.0, 300.0], [10.0, 9.0]),
        "A: a taper's first place is its start",
    ),
    "a bar that gets thicker": (lambda d: taper(d, [0.0, 300.0], [8.0, 9.0]), "A: a bar gets no thicker"),
    "a tip that gets thicker": (lambda d: taper(d, [0.0], [8.0]), "A: a bar gets no thicker toward its tip"),
    "a swelling without a place": (lambda d: taper(d, [0.0], [10.0], 30.0), "A: the swelling must end at a place"),
    "a swelling of thrice the bar": (
        lambda d: taper(d, [0.0, 30.0], [30.0, 10.0], 30.0),
        "A: a foot swells to twice its bar at most",
    ),
    "a taper too few": (lambda d: d["tree"]["tapers"].update(offsets=[0, 2]), "tapers.offsets must run from 0"),
    "a member without a place": (lambda d: d["tree"]["tapers"].update(offsets=[0, 2, 2]), "at least one place"),
    "a diameter short": (lambda d: d["tree"]["tapers"]["diameters"].pop(), "one value a place"),
    "a rod that never leaves": (lambda d: d["tree"]["departures"].__setitem__(1, 900.0), "A: a station lies past"),
    "too thick": (lambda d: taper(d, [0.0], [1e308]), "tapers.diameters must be at most 600"),
    "thicker than its bar": (lambda d: taper(d, [0.0], [11.0]), "A: no member is thicker"),
    "stock of no size": (lambda d: d["tree"]["stock_diameters"].__setitem__(1, 1e-9), "A: stock must be at least 0.5"),
    "a pipe without a bore": (lambda d: d["tree"]["walls"].__setitem__(1, 5.0), "A: walls must be under half"),
    "a tag of a page": (lambda d: d["tree"]["tags"].__setitem__(1, "A" * 5000), "tree.tags: 'A{40}' is no tag"),
    "a tag that is a path": (lambda d: d["tree"]["tags"].__setitem__(1, "../x"), "tree.tags: '../x' is no tag"),
    "a leaf without a tag": (lambda d: d["tree"]["leaves"].update(tags=[""]), "tree.leaves.tags: '' is no tag"),
    "a leaf past its twig": (lambda d: d["tree"]["leaves"].update(stations=[900.0]), "must lie on the twig"),
    "a design far out": (lambda d: d["tree"]["leaves"].update(designs=[10**15]), "designs must count from 1, to 500"),
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


def test_another_file_than_a_design_is_told_so(tmp_path: Path) -> None:
    for text in ('title = "T"\n', "[canopy]\n", "tag\nA\n"):
        (tmp_path / "tree.toml").write_text(text)
        refused(tmp_path / "tree.toml", "is no design: a design.json or the job folder around it is wanted")
    refused(Path("/dev/zero"), "is a device")


def test_a_missing_or_unreadable_file_is_refused(tmp_path: Path) -> None:
    refused(tmp_path / "design.json", "no such file")
    (tmp_path / "design.json").write_bytes(b"\xff\xfe\x00")
    refused(tmp_path / "design.json", "UTF-8")


def test_an_overflowing_number_is_refused(tmp_path: Path) -> None:
    text = design_json(gallows(), gate_rowan()).replace('"setbacks": [0.0,10.0]', '"setbacks": [0.0,1e999]')
    refused(saved(tmp_path, text), "tree.setbacks must be finite")
