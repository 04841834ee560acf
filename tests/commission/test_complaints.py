import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from armature.commission import changed, read
from armature.commission.errors_told import telling_of
from armature.commission.model import Commission
from armature.commission.reading import _checked
from armature.edge import ArmatureError, CommissionError, FileError, GrowthError, StockError
from armature.files import load
from tests.commission.commissions import FULL

OUTLINE = 'habit = "outline"\noutline = '
FIVE_COUNTS = "limbs = 5\nbranches = 34\ntwigs = 420"


@pytest.mark.parametrize(
    ("part", "instead", "says"),
    [
        # unknown and missing keys
        ("height", "heigth", "line 7: canopy.heigth: unknown key, did you mean height?"),
        ("title", "titel", "line 1: titel: unknown key, did you mean title?"),
        ("[growth.branch]", "[growth.brunch]", "line 19: growth.brunch: unknown key, did you mean branch?"),
        ("wall", "wal", "line 27: steel.pipes[1].wal: unknown key, did you mean wall?"),
        ("seed = 20261", 'height = "3 m"', "line 2: height: unknown key here; it belongs under [canopy]"),
        ("seed = 20261", "zzz = 1", "line 2: zzz: unknown key; known here: title, seed, units,"),
        ('title = "Reading-garden rowan"', "", "title: is missing and has no default"),
        ("limbs = 5\n", "", "line 12: growth.limbs: is missing and has no default"),
        ("limbs = 5", "limb = 5", "growth.limbs: is missing and has no default; also wrong: growth.limb"),
        # units
        ('"16 ft"', "16", "line 7: canopy.height: needs a number with its unit, in quotes, such as '3.5 m'"),
        ('"16 ft"', '"16"', "line 7: canopy.height: has no unit after '16'"),
        ('"16 ft"', '"16 kg"', "line 7: canopy.height: has 'kg', a unit of mass"),
        ('"16 ft"', '"16 fet"', "line 7: canopy.height: has the unknown unit 'fet'"),
        ('"115 mph"', "115", "line 37: site.wind_speed: needs a number with its unit, in quotes, such as '115 mph'"),
        ('"115 mph"', '"115 ft"', "line 37: site.wind_speed: has 'ft', a unit of length"),
        ('"50 deg"', "50", "line 20: growth.branch.insertion_angle: needs a number with its unit"),
        ('"50 deg"', '"50 mm"', "line 20: growth.branch.insertion_angle: has 'mm', a unit of length"),
        # ranges, NaN, infinity
        ('"16 ft"', '"0 ft"', "canopy.height: must be more than 0 mm and at most 200 m (got '0 ft')"),
        ('"16 ft"', '"-16 ft"', "canopy.height: must be more than 0 mm"),
        ('"16 ft"', '"900 km"', "canopy.height: has the unknown unit 'km'"),
        ('"16 ft"', '"900 m"', "canopy.height: must be more than 0 mm and at most 200 m (got '900 m')"),
        ('"16 ft"', '"nan m"', "canopy.height: must be a finite number (got 'nan m')"),
        ('"16 ft"', '"inf m"', "canopy.height: must be a finite number"),
        ('"16 ft"', "nan", "canopy.height: needs a number with its unit"),
        ("= 2.2", "= nan", "line 16: growth.pipe_exponent: must be a finite number (got nan)"),
        ("= 2.2", "= inf", "growth.pipe_exponent: must be a finite number (got inf)"),
        ("= 2.2", "= -inf", "growth.pipe_exponent: must be a finite number"),
        ("= 2.2", "= 0.5", "growth.pipe_exponent: must be at least 1.2 (got 0.5)"),
        ("= 2.2", '= "2.2"', "growth.pipe_exponent: must be a valid number (got '2.2')"),
        ("sinuosity = 1.10", "sinuosity = 0.9", "growth.branch.sinuosity: must be at least 1 (got 0.9)"),
        ('"14 deg"', '"-14 deg"', "insertion_angle_sd: must be at least 0 deg and at most 60 deg"),
        ('"1/4 in"\n', '"0 in"\n', "growth.clearance: must be more than 0 mm"),
        # counts
        ("twigs = 420", "twigs = 0", "line 15: growth.twigs: must be at least 1 (got 0)"),
        ("twigs = 420", "twigs = -1", "growth.twigs: must be at least 1 (got -1)"),
        ("twigs = 420", "twigs = 10000000000", "growth.twigs: must be at most 1000000 (got 10000000000)"),
        ("twigs = 420", "twigs = 4.5", "growth.twigs: must be a whole number (got 4.5)"),
        ("twigs = 420", "twigs = nan", "growth.twigs: must be a whole number (got nan)"),
        ("twigs = 420", 'twigs = "420"', "growth.twigs: must be a whole number (got '420')"),
        ("twigs = 420", "twigs = true", "growth.twigs: must be a whole number (got True)"),
        ("limbs = 5", "limbs = 0", "growth.limbs: must be at least 1"),
        ("limbs = 5", "limbs = 1000", "growth.limbs: must be at most 200"),
        ("branches = 34", "branches = 3", "line 14: growth.branches: must be no fewer than limbs: each of the 5 limbs"),
        ("twigs = 420", "twigs = 33", "line 15: growth.twigs: must be no fewer than branches"),
        (FIVE_COUNTS, FIVE_COUNTS + "\nbranchlets = 20", "growth.branchlets: must be no fewer than branches"),
        (FIVE_COUNTS, FIVE_COUNTS + "\nbranchlets = 500", "growth.twigs: must be no fewer than branchlets"),
        ("count = 1260", "count = -1", "line 30: leaves.count: must be at least 0"),
        ("count = 1260", "count = 99999999", "leaves.count: must be at most 5000000"),
        ("designs = 9", "designs = 0", "leaves.designs: must be at least 1"),
        ("seed = 20261", "seed = -1", "line 2: seed: must be at least 0"),
        ("seed = 20261", "seed = true", "line 2: seed: must be a whole number"),
        ("seed = 20261", f"seed = {2**63}", "line 2: seed: must be at most"),
        ("twigs = 420\n", "", "line 12: growth.twigs: is missing and has no default"),
        ("designs = 9", "designs = 5000", "line 33: leaves.designs: must be at most 500 (got 5000)"),
        ("[site]", '[shop]\nkerf = "500 mm"\nbar_length = "100 mm"\n[site]', "line 36: shop.kerf: and buying.end_trim"),
        ("seed = 20261", f"seed = {'9' * 5000}", "holds a number that is too long"),
        # bars, pipes, grade, sheet
        ('"4 in", "1/4 in"', '"4 in", "-1/4 in"', "line 26: steel.bars[2]: must be at least 0.5 mm and at most 600 mm"),
        ('"4 in", "1/4 in"', '"4 in", 0.25', "line 26: steel.bars[2]: needs a number with its unit"),
        ("bars = [", "bars = [] # [", "line 26: steel.bars: list must have at least 1 item, not 0"),
        ("bars = [", "bars = 5 # [", "line 26: steel.bars: must be a list in brackets (got 5)"),
        ('wall = "1/4 in"', 'wall = "3 in"', "line 27: steel.pipes[1].wall: must be under half of outside, 114.3 mm"),
        ("pipes = [", 'limbs = "pipe" # [', 'steel.limbs: "pipe" needs steel.pipes: list at least one'),
        ('"A36"', '"A63"', "line 25: steel.grade: 'A63' is no steel grade in the table"),
        ('"A36"', '"A63"', "did you mean 'A36'?"),
        ('"copper"', '"coper"', "line 31: leaves.metal: 'coper' is no sheet metal in the table"),
        ('"24 oz"', '"25 oz"', "line 32: leaves.sheet: '25 oz' is no copper sheet in the table"),
        ('"24 oz"', "24", "line 32: leaves.sheet: must be text in quotes (got 24)"),
        # canopy
        ('"spreading"', '"spreding"', "line 6: canopy.habit: must be one of 'rounded',"),
        ('"spreading"', '"spreding"', "did you mean 'spreading'?"),
        ('"7 ft"', '"17 ft"', "line 9: canopy.clear_stem: must be below height, 4876.8 mm (got '5181.6 mm')"),
        ('"7 ft"', '"16 ft"', "line 9: canopy.clear_stem: must be below height"),
        ('"13 ft", "12 ft"', '"13 ft"', "line 8: canopy.spread[2]: is missing"),
        ('"13 ft", "12 ft"', '"13 ft", "0 ft"', "line 8: canopy.spread[2]: must be more than 0 mm"),
        ('"-1 m", "0 mm"', '"1 m", "0 mm"', "line 10: canopy.keep_out[1].min: must be below max in x (got '1000 mm')"),
        ("max =", "most =", "line 10: canopy.keep_out[1].most: unknown key"),
        ('"spreading"', '"outline"', 'canopy.outline: must be given when the habit is "outline"'),
        ('habit = "spreading"', 'outline = "crown.stl"', 'canopy.outline: must be given when the habit is "outline"'),
        ('habit = "spreading"', OUTLINE + '[["1 m", "1 m"]]', "canopy.outline: list must have at least 2 items, not 1"),
        ('habit = "spreading"', OUTLINE + '[["1 m", "1 m"], ["2 m", 3]]', "line 7: canopy.outline[2][2]: needs"),
        ('habit = "spreading"', OUTLINE + '[["1 m", "1 m"], ["1 m", "1 m"]]', "canopy.outline: heights must rise"),
        ('habit = "spreading"', OUTLINE + '[["1 m", "1 m"], ["9 m", "1 m"]]', "must end at or below height, 4876.8 mm"),
        ('habit = "spreading"', OUTLINE + '[["1 m", "0 m"], ["2 m", "0 m"]]', "outline: needs a radius above zero"),
        ('habit = "spreading"', OUTLINE + '[["1 m", "1 m"], ["2 m", "2 m"]]', "spread: is that of canopy.outline"),
        # site, title, tables
        ('exposure = "C"', 'exposure = "II"', "line 38: site.exposure: of ASCE 7-16 must be one of B, C, D (got 'II')"),
        ('"ASCE 7-16"', '"ASCE 7-10"', "line 36: site.standard: must be one of"),
        ('"Reading-garden rowan"', '"  "', "line 1: title: must be one line of text"),
        ('"Reading-garden rowan"', r'"a\nb"', "line 1: title: must be one line of text"),
        ('"Reading-garden rowan"', "5", "line 1: title: must be text in quotes (got 5)"),
        ("[leaves]", "[pictures]\n[leaves]\n[leaves.x]\n[y]", "leaves.x: unknown key"),
        ("seed = 20261", "site = 5 #", "is not TOML"),
        ("[site]", "[[site]]", "site: must be a table of keys"),
    ],
)  # fmt: skip
def test_a_wrong_key_or_value_is_refused_in_one_line_that_says_where(part: str, instead: str, says: str) -> None:
    assert part in FULL
    with pytest.raises(CommissionError) as refusal:
        read(FULL.replace(part, instead, 1))
    message = str(refusal.value)
    assert says in message
    assert message.startswith("commission: ")
    assert "\n" not in message
    assert "pydantic" not in message.lower()


def test_all_faults_are_named_the_first_in_full() -> None:
    text = FULL.replace("twigs = 420", "twigs = 0").replace("A36", "pewter").replace('"C3"', '"C9"')
    with pytest.raises(CommissionError) as refusal:
        read(text)
    assert str(refusal.value).startswith("commission: line 15: growth.twigs: must be at least 1; also wrong: ")
    assert "steel.grade" in str(refusal.value)
    assert "site.corrosivity" in str(refusal.value)


@pytest.mark.parametrize("text", ["growth = {limbs = 2, branches = 6}\n", "growth = {}\n", "seed = 1\n"])
def test_leaves_are_not_called_wrong_where_their_twigs_are_missing(text: str) -> None:
    with pytest.raises(CommissionError) as refusal:
        read(text)
    assert "leaves" not in str(refusal.value)


def test_there_are_no_more_designs_than_leaves() -> None:
    text = FULL.replace("count = 1260", "count = 40")
    assert read(text.replace("designs = 9", "designs = 40")).leaves.designs == 40
    with pytest.raises(CommissionError, match=r"line 33: leaves\.designs: must be no more than the leaves, 40"):
        read(text.replace("designs = 9", "designs = 41"))


def test_a_tree_with_few_leaves_keeps_the_usual_designs() -> None:
    assert read(FULL.replace("count = 1260", "count = 3")).leaves.designs == 9


def test_an_error_that_names_a_key_is_told_with_the_commissions_file(tmp_path: Path) -> None:
    (tmp_path / "tree.toml").write_text(FULL, encoding="utf-8")
    tree = changed(read(tmp_path / "tree.toml"), {"seed": 7})

    def told(commission: Commission, error: ArmatureError) -> str:
        with pytest.raises(type(error)) as refusal, telling_of(commission):
            raise error
        return str(refusal.value)

    assert told(tree, GrowthError("canopy: no room")) == f"{tmp_path / 'tree.toml'}: canopy: no room"
    assert (
        told(tree, CommissionError("steel.bars[2]", "is bad", 3))
        == f"{tmp_path / 'tree.toml'}: steel.bars[2]: is bad (got 3)"
    )
    assert told(tree, FileError("canopy.stl", "is bad")) == "canopy.stl: is bad"
    assert told(tree, StockError("nothing on hand")) == "nothing on hand"
    assert told(read(FULL), GrowthError("canopy: no room")) == "canopy: no room"


def test_a_long_value_is_cut_short() -> None:
    with pytest.raises(CommissionError) as refusal:
        read(FULL.replace('"A36"', f'"{"A" * 500}"'))
    assert len(str(refusal.value)) < 1000


@settings(max_examples=300)
@given(
    st.integers(0, len(FULL) - 1),
    st.integers(0, 12),
    st.sampled_from(
        [
            "",
            "x",
            '"',
            "'",
            "[",
            "]",
            "{",
            "}",
            "=",
            ".",
            "\n",
            "\t",
            "nan",
            "-1",
            "1e999",
            "2020-01-01",
            '"""',
            "#",
            "é",
            "\x00",
        ]
    ),
)
def test_a_garbled_commission_is_read_or_refused_in_one_line(place: int, length: int, instead: str) -> None:
    text = FULL[:place] + instead + FULL[place + length :]
    assert len(_refusal(lambda: read(text)).splitlines()) == 1


scalars = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5) | st.just("3 m") | st.dates()
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


def _refusal(reading: Callable[[], Commission]) -> str:
    """Return what a refusal says, or "read"; any other error goes through."""
    try:
        reading()
    except ArmatureError as refusal:
        return str(refusal)
    return "read"


def _paths(table: dict[str, Any], path: tuple[str, ...] = ()) -> list[tuple[str, ...]]:
    found = []
    for key, value in table.items():
        found.append((*path, key))
        if isinstance(value, dict):
            found += _paths(value, (*path, key))
    return found


@settings(max_examples=300)
@given(st.sampled_from(_paths(tomllib.loads(FULL))), st.none() | st.text(max_size=5), values)
def test_any_value_under_any_key_is_read_or_refused_in_one_line(
    path: tuple[str, ...], name: str | None, value: Any
) -> None:
    tables = tomllib.loads(FULL)
    table = tables
    for part in path[:-1]:
        table = table[part]
    table[path[-1] if name is None else name] = value
    assert len(_refusal(lambda: _checked(tables, "commission", "", Path())).splitlines()) == 1


def test_a_number_of_too_many_digits_is_told_without_advice_to_programmers(tmp_path: Path) -> None:
    digits = "9" * 5000
    with pytest.raises(CommissionError) as told:
        read(f"seed = {digits}\n")
    assert str(told.value).endswith(": holds a number that is too long")
    (tmp_path / "design.json").write_text(f'{{"format": {digits}}}')
    with pytest.raises(FileError) as unread:
        load(tmp_path / "design.json")
    assert str(unread.value).endswith("design.json: holds a number that is too long")
