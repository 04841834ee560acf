"""Measures taken in: tables with units, bars fitted to offsets, places found by tapes, one line for what is wrong."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import minimize

from armature.commission import Anvil
from armature.edge import ArmatureError
from armature.made import Steel, met, read_measures, taken_in
from armature.shop import pin_places
from armature.tree import Chains, Tree, bend_list, bent, joints, locate
from tests.made.bars import CHALK, apart, bent_copy, offset_rows, written
from tests.trees import random_tree

TREE = random_tree(8, seed=3)
TAGS = TREE.tags.tolist()
EAST = np.array([[1.0, 0.0, 0.0]])


def took(folder: Path, made: tuple[str, ...] = (), tree: Tree = TREE, **tables: str) -> Steel:
    return taken_in(tree, Anvil(), made, read_measures(written(folder, **tables)), pin_places(tree, "mm"))


def fitted(steel: Steel, at: int) -> Chains:
    return bent(steel.bends.taken(np.array([at])), np.zeros((1, 3)), EAST, CHALK)


def test_offsets_read_to_a_millimetre_give_the_bar_back_within_two(tmp_path: Path) -> None:
    made = bent_copy(TREE, 1, bend=8.0, turn=8.0, feed=12.0, drawn=0.04)
    rows = [0, 1, 4, 9]
    steel = took(tmp_path, offsets=offset_rows(TAGS, made, rows))
    assert steel.tags.tolist() == [TAGS[row] for row in rows]
    for at, row in enumerate(rows):
        chains = fitted(steel, at)
        # Half a millimetre of rounding, a curve between stations 300 mm apart.
        assert apart(chains, made.taken([row])) < 2.0
        assert steel.errors[at] < 2.0
        assert steel.lengths[at] == pytest.approx(float(made.lengths[row]), abs=2.0)
    assert apart(TREE.chains.taken([0]), made.taken([0])) > 30.0


def test_the_way_a_bar_was_rolled_when_it_was_measured_changes_nothing(tmp_path: Path) -> None:
    made = bent_copy(TREE, 2)
    text = offset_rows(TAGS, made, [1], 0.001)
    head, *lines = text.splitlines()
    turned = [head]
    for line in lines:
        tag, along, rise, lift = line.split(",")
        r, f, angle = float(rise), float(lift), np.radians(130.0)
        turned.append(f"{tag},{along},{np.cos(angle) * r - np.sin(angle) * f},{np.sin(angle) * r + np.cos(angle) * f}")
    one, other = took(tmp_path / "a", offsets=text), took(tmp_path / "b", offsets="\n".join(turned))
    assert apart(fitted(one, 0), fitted(other, 0)) < 0.05


def test_inches_fractions_and_cells_with_their_own_units_read_alike(tmp_path: Path) -> None:
    made = bent_copy(TREE, 1)
    text = offset_rows(TAGS, made, [1], 25.4 / 16.0)
    rows = [line.split(",") for line in text.splitlines()[1:]]
    inches = "tag,along_in,rise (in),lift in\n" + "\n".join(
        ",".join([tag, *(f"{round(float(v) / 25.4 * 16.0)}/16" for v in values)]) for tag, *values in rows
    )
    marked = "tag;along;rise;lift\n" + "\n".join(
        ";".join([tag, *(f'{round(float(v) / 25.4 * 16.0)}/16"' for v in values)]) for tag, *values in rows
    )
    own = [took(tmp_path / name, offsets=each) for name, each in (("a", text), ("b", inches), ("c", marked))]
    for each in own[1:]:
        np.testing.assert_allclose(each.bends.bends, own[0].bends.bends, atol=1e-3)


def test_a_bar_told_by_three_lengths_keeps_its_planned_form_and_takes_those_lengths(tmp_path: Path) -> None:
    made = bent_copy(TREE, 5, drawn=0.03)
    chord = float(np.linalg.norm(made.vertices[made.offsets[2] - 1] - made.vertices[made.offsets[1]]))
    lengths = f"A,length,,{made.lengths[1]:.1f} mm\nA,chord,,{chord:.1f} mm\n"
    steel = took(tmp_path, tapes="tag,what,to,distance\n" + lengths)
    assert steel.lengths[0] == pytest.approx(float(made.lengths[1]), abs=1.0)
    ends = fitted(steel, 0).vertices
    assert float(np.linalg.norm(ends[-1] - ends[0])) == pytest.approx(chord, abs=1.0)


def test_tapes_meet_where_another_solver_finds_them(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    points, place = rng.uniform(-2000.0, 2000.0, (5, 3)), np.array([300.0, -500.0, 2500.0])
    read = np.linalg.norm(points - place, axis=1) + rng.normal(0.0, 3.0, 5)
    found, over = met(points, read, place + 200.0)
    # Nelder and Mead's simplex knows no slopes: scipy's own, another way to the same least squares.
    other = minimize(  # type: ignore[call-overload]
        lambda p: float(((np.linalg.norm(points - p, axis=1) - read) ** 2).sum()),
        place,
        method="Nelder-Mead",
        options={"xatol": 1e-7, "fatol": 1e-9, "maxiter": 5000},
    )
    np.testing.assert_allclose(found, other.x, atol=1e-3)
    assert np.abs(over).max() < 12.0


def tape_rows(row: int, place: np.ndarray, wrong: dict[str, float] | None = None, what: str = "tip") -> str:
    pins = pin_places(TREE, "mm") | {"post": np.array([2500.0, 1800.0, 1900.0])}
    lines = [
        f"{TAGS[row]},{what},{name},{np.linalg.norm(place - at) + (wrong or {}).get(name, 0.0):.0f} mm"
        for name, at in pins.items()
    ]
    return "tag,what,to,distance\n" + "\n".join(lines) + "\n"


POST = "point,x,y,z\npost,2.5 m,1800 mm,190 cm\n"


def test_a_tip_is_where_the_tapes_from_the_pins_meet(tmp_path: Path) -> None:
    place = TREE.tips[1] + [40.0, -25.0, 30.0]
    steel = took(tmp_path, tapes=tape_rows(1, place), points=POST)
    # Tapes are read to a millimetre.
    np.testing.assert_allclose(steel.tips[0], place, atol=2.0)
    assert steel.welded[0]


def test_a_tape_that_contradicts_the_others_is_named(tmp_path: Path) -> None:
    text = tape_rows(1, TREE.tips[1] + [10.0, 5.0, 0.0], {"pin E": 180.0})
    with pytest.raises(
        ArmatureError, match=r"tapes\.csv: line 3: distance: contradicts the other tapes to the tip of A"
    ):
        took(tmp_path, tapes=text, points=POST)


def test_diameters_are_told_as_shares_of_the_plan(tmp_path: Path) -> None:
    text = "tag,along,rise,lift,diameter\n"
    read = offset_rows(TAGS, TREE.chains, [1], 0.01).splitlines()[1:]
    half = len(read) // 2
    along = float(read[half].split(",")[1]) / float(read[-1].split(",")[1])
    planned = float(TREE.diameters_at([1], [along * float(TREE.lengths[1])])[0])
    cells = [line.split(",") for line in read]
    text += "\n".join(
        f"{tag},{a} mm,{r} mm,{f} mm,{f'{planned * 0.9:.6f} mm' if n == half else ''}"
        for n, (tag, a, r, f) in enumerate(cells)
    )
    steel = took(tmp_path, offsets=text)
    assert steel.sizes.tolist() == pytest.approx([0.9], abs=1e-6)
    assert steel.size_shares.tolist() == pytest.approx([along])


def test_what_is_made_as_planned_and_what_was_measured_are_one_record(tmp_path: Path) -> None:
    listed = joints(TREE)
    welds = f"child,at_mm,clock,lean_deg,roll\nB,{listed.feet[2]:.0f},12 deg,61,\n"
    steel = took(tmp_path, made=("A01", "A"), joints=welds)
    assert steel.tags.tolist() == ["A", "B", "A01"]
    assert steel.measured.tolist() == [False, True, False]
    assert steel.welded.tolist() == [False, True, False]
    assert steel.clocks[1] == 12.0
    assert np.isnan(steel.rolls[1])
    planned = bend_list(TREE.chains.taken([1, 2]))
    np.testing.assert_array_equal(steel.bends.bends[:4], planned.bends)


def test_a_later_table_takes_the_place_of_what_an_earlier_one_says_of_a_member(tmp_path: Path) -> None:
    first, second = bent_copy(TREE, 1), bent_copy(TREE, 2)
    folder = written(tmp_path, offsets=offset_rows(TAGS, first, [0, 1]))
    (folder / "offsets-2.csv").write_text(offset_rows(TAGS, second, [1]))
    steel = taken_in(TREE, Anvil(), (), read_measures(folder), {})
    assert apart(fitted(steel, 0), first.taken([0])) < 2.0
    assert apart(fitted(steel, 1), second.taken([1])) < 2.0


GOOD = offset_rows(TAGS, TREE.chains, [1])
LAST = GOOD.splitlines()[-1]


@pytest.mark.parametrize(
    ("table", "text", "says"),
    [
        ("offsets", GOOD.replace("A,", "A0,"), "is no member of this tree: did you mean A01?"),
        ("offsets", GOOD.replace(LAST.split(",")[1], "nan"), "must be a finite number"),
        (
            "offsets",
            GOOD.replace("along_mm", "along_cm").replace("lift_mm", "lift_cm"),
            "times that: another unit or bar",
        ),
        ("offsets", GOOD.replace("rise_mm", "rise_m"), "must be at most 100 m"),
        ("offsets", GOOD.replace("along_mm", "along"), "has no unit after"),
        ("offsets", GOOD.replace("rise_mm", "rise_kg"), "has columns tag, along, rise, lift, diameter and no others"),
        ("offsets", "tag,along_mm\nA,300\n", "needs a column `rise`"),
        ("offsets", GOOD.rsplit("\n", 2)[0] + "\nA,1400,60,0\n", "the last row of A is its tip"),
        ("offsets", GOOD + GOOD.splitlines()[3] + "\n", "stands twice for A"),
        ("tapes", "tag,what,to,distance\nA,tip,pin N,2 m\n", "three tapes or more fix the tip of A"),
        ("tapes", "tag,what,to,distance\nA,tip,pin Q,2 m\n", "must be a point of points.csv or one of pin E"),
        ("tapes", "tag,what,to,distance\nA,girth,,2 m\n", "must be one of length, chord, rise, mid, tip"),
        ("tapes", "tag,what,to,distance\nA,length,,15 m\n", "times that: another unit or bar"),
        ("tapes", "tag,what,to,distance\nA,length,,12 mm 3 in\n", "write the larger unit first"),
        ("joints", "child,at,clock,lean,roll\nA,1 m,400 deg,,\n", "must be at most 360 degrees"),
        ("joints", "child,at,clock,lean,roll\nA,1 m,,190 deg,\n", "must be 0 to 180 deg"),
        ("joints", "child,at,clock,lean,roll\nA,1 m,,,\nA,1 m,,,\n", "stands twice"),
    ],
)
def test_a_figure_that_cannot_be_so_is_told_in_one_line(tmp_path: Path, table: str, text: str, says: str) -> None:
    with pytest.raises(ArmatureError) as told:
        taken_in(TREE, Anvil(), (), read_measures(written(tmp_path, **{table: text})), pin_places(TREE, "mm"))
    assert says in str(told.value)
    assert f"{table}.csv" in str(told.value)
    assert "\n" not in str(told.value)


def test_a_misread_offset_is_found_and_its_place_told(tmp_path: Path) -> None:
    cells = [line.split(",") for line in GOOD.splitlines()]
    along = cells[4][1]
    cells[4][2] = f"{float(cells[4][2]) + 150.0:g}"
    with pytest.raises(ArmatureError, match=rf"A at {along} mm along is read \d+ mm off any bar of 2 bends"):
        took(tmp_path, offsets="\n".join(",".join(row) for row in cells))


def test_half_way_along_a_bar_is_found_by_tapes_too(tmp_path: Path) -> None:
    middle = locate(TREE.chains, [1], [float(TREE.lengths[1]) / 2.0])[0][0] + [12.0, 0.0, -9.0]
    text = tape_rows(1, TREE.tips[1]) + tape_rows(1, middle, what="mid").split("\n", 1)[1]
    np.testing.assert_allclose(took(tmp_path, tapes=text, points=POST).mids[0], middle, atol=2.0)
