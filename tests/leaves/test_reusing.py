"""A kept layout is proven again before it is used: whatever happened to the file, nothing wrong is cut."""

import json
import re
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from armature.leaves.nesting.laying import lay_plates, with_spares
from armature.leaves.nesting.plates import Layout, Rules, layout_text, plate_faults, stored_layout
from armature.leaves.nesting.reusing import layout_faults
from tests.leaves.designs import family

DESIGNS = family(3)
COUNTS = [4, 4, 4]
SIZES = [(304.8, 304.8)]
OFFCUTS = [(200.0, 150.0)]
RULES = Rules(seconds=0.0)
FIRST = lay_plates(DESIGNS, COUNTS, SIZES, RULES, OFFCUTS)

Edit = Callable[[dict[str, Any]], None]


def again(text: str) -> Layout:
    return lay_plates(DESIGNS, COUNTS, SIZES, RULES, OFFCUTS, stored=text)


def edited(edit: Edit) -> str:
    """Return the kept text after an edit by hand; the key of the job stays."""
    data = json.loads(layout_text(FIRST))
    edit(data)
    return json.dumps(data)


def nearer(data: dict[str, Any]) -> None:
    data["plates"][1]["shifts"][1] = [v + 1.0 for v in data["plates"][1]["shifts"][0]]


def over_the_edge(data: dict[str, Any]) -> None:
    data["plates"][1]["shifts"][0][0] -= 60.0


def one_leaf_less(data: dict[str, Any]) -> None:
    for row in ("designs", "turns", "shifts"):
        data["plates"][1][row].pop()


def another_design(data: dict[str, Any]) -> None:
    data["plates"][1]["designs"][0] = data["plates"][1]["designs"][0] % 3 + 1


def unknown_design(data: dict[str, Any]) -> None:
    data["plates"][1]["designs"][0] = 77


def larger_plate(data: dict[str, Any]) -> None:
    data["plates"][1]["width"] = 400.0


def offcut_twice(data: dict[str, Any]) -> None:
    data["plates"].append({"width": 200.0, "height": 150.0, "designs": [], "turns": [], "shifts": []})


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (nearer, r"mm apart, the web is 3 mm"),
        (over_the_edge, "over the margin of 5 mm"),
        (one_leaf_less, "leaves of design ., 4 are wanted"),
        (another_design, "leaves of design ., 4 are wanted"),
        (unknown_design, "there is no leaf design 77"),
        (larger_plate, "no plate of 400 x 304.8 mm is left on hand"),
        (offcut_twice, "no plate of 200 x 150 mm is left on hand"),
    ],
)
def test_an_edit_that_breaks_a_rule_is_named_and_the_plates_laid_anew(edit: Edit, words: str) -> None:
    found = again(edited(edit))
    assert len(found.notes) == 1
    assert "\n" not in found.notes[0]
    assert re.search(words, found.notes[0])
    assert layout_text(found) == layout_text(FIRST)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\ufffd\ufffd",
        layout_text(FIRST)[:400],
        "[" * 100_000,
        edited(lambda data: data["plates"][0].pop("turns")),
        edited(lambda data: data["plates"][0]["turns"].append(1.0)),
        edited(lambda data: data["plates"][0]["turns"].__setitem__(0, float("nan"))),
        edited(lambda data: data["plates"][0]["designs"].__setitem__(0, 1.5)),
        edited(lambda data: data["plates"][0]["designs"].__setitem__(0, 10**400)),
        edited(lambda data: data["plates"][0].__setitem__("width", -5)),
    ],
)
def test_a_damaged_file_is_no_layout(text: str) -> None:
    assert stored_layout(text, None) is None


def test_a_damaged_file_is_told_and_the_plates_laid_anew() -> None:
    found = again(layout_text(FIRST)[:400])
    assert "holds no layout" in found.notes[0]
    assert layout_text(found) == layout_text(FIRST)


def test_an_edit_within_the_rules_is_kept() -> None:
    def moved(data: dict[str, Any]) -> None:
        """One leaf of the last plate, which has room, a tenth of a millimetre to the right."""
        data["plates"][-1]["shifts"][-1][0] += 0.1

    text = edited(moved)
    kept = stored_layout(text, None)
    assert kept is not None
    assert not plate_faults(kept.plates[-1], DESIGNS, RULES), "the edit itself must be sound"
    found = again(text)
    assert found.notes == ()
    assert layout_text(found) == layout_text(kept) != layout_text(FIRST)


def test_a_layout_of_another_job_is_left_aside_without_a_word() -> None:
    other = lay_plates(DESIGNS, [4, 4, 3], SIZES, RULES, OFFCUTS, stored=layout_text(FIRST))
    assert other.notes == ()
    assert other.key != FIRST.key


@pytest.mark.parametrize("size", [(600.0, 300.0), (300.0, 600.0)])
def test_grain_is_tested_on_upright_plates_too(size: tuple[float, float]) -> None:
    rules = Rules(seconds=0.0, rotation="grain")
    layout = lay_plates(DESIGNS, COUNTS, [size], rules)
    assert not layout_faults(layout, DESIGNS, COUNTS, [size], [], rules)
    plate = layout.plates[0]
    plate.turns[0] += 90.0
    faults = layout_faults(layout, DESIGNS, COUNTS, [size], [], rules)
    assert any("turned against the rotation `grain`" in f for f in faults)


def test_plates_alike_are_read_back_as_one() -> None:
    layout = Layout((FIRST.plates[1],) * 3, "pressing", "k")
    found = stored_layout(layout_text(layout), "k")
    assert found is not None
    assert found.plates[0] is found.plates[1] is found.plates[2]
    assert np.array_equal(found.plates[0].designs, FIRST.plates[1].designs)


def test_spares_are_rounded_up() -> None:
    assert with_spares(np.array([100, 1, 0, 20]), 0.05).tolist() == [105, 2, 0, 21]
