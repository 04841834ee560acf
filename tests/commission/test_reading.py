import os
import tomllib
from dataclasses import FrozenInstanceError
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from armature.commission import Commission, changed, read, write
from armature.commission.canopy import Habit
from armature.edge import ArmatureError, CommissionError, FileError
from tests.commission.commissions import FIVE_LINES, FULL

HABITS: list[Habit] = ["rounded", "spreading", "columnar", "pendulous", "espalier"]


def test_five_lines_are_enough() -> None:
    assert len(FIVE_LINES.splitlines()) == 5
    tree = read(FIVE_LINES)
    assert (tree.growth.limbs, tree.growth.branches, tree.growth.branchlets, tree.growth.twigs) == (3, 14, 0, 120)
    assert tree.leaves.count == 360
    assert tree.canopy.height == 3000.0
    assert 0 < tree.canopy.clear_stem < tree.canopy.height
    assert all(side > 0 for side in tree.canopy.spread)
    assert (tree.seed, tree.units, tree.steel.grade, len(tree.steel.bars)) == (1, "mm", "S235", 13)


def test_values_are_kept_in_mm_degrees_and_metres_a_second() -> None:
    tree = read(FULL)
    assert tree.canopy.spread == pytest.approx((3962.4, 3657.6), abs=1e-9)
    assert tree.canopy.keep_out[0].min == (-1000.0, 0.0, 1000.0)
    assert tree.growth.clearance == 6.35
    assert tree.growth.branch.insertion_angle == 50.0
    assert tree.site.wind_speed == pytest.approx(51.4096, abs=1e-9)  # 115 x 0.44704 m/s
    assert tree.steel.pipes[0].outside == pytest.approx(114.3, abs=1e-9)
    assert tree.leaves.thickness == pytest.approx(0.82042, abs=1e-9)  # 0.0323 in
    assert tree.steel.density == 7850.0


def test_a_rank_keeps_its_own_defaults_for_what_its_table_leaves_out() -> None:
    tree = read(FULL)
    assert (tree.growth.branch.sinuosity, tree.growth.branch.bends) == (1.10, 5)
    usual = read(FIVE_LINES).growth
    assert (tree.growth.limb, tree.growth.twig) == (usual.limb, usual.twig)
    assert usual.limb.insertion_angle < usual.branch.insertion_angle < usual.twig.insertion_angle


def test_bars_are_thinnest_first_and_listed_once() -> None:
    bars = read(FULL).steel.bars
    assert bars == tuple(sorted(set(bars)))
    assert (len(bars), bars[0], bars[-1]) == (9, 6.35, 101.6)


@pytest.mark.parametrize("habit", HABITS)
def test_every_habit_has_a_crown_of_its_own_proportions(habit: Habit) -> None:
    tree = read(FIVE_LINES + f'canopy.habit = "{habit}"\n')
    width, depth = tree.canopy.spread
    assert depth < width
    assert (habit == "espalier") == (depth < 0.2 * width)
    assert (habit == "columnar") == (width < 0.5 * tree.canopy.height)


def test_proportions_follow_the_height() -> None:
    small, large = read(FIVE_LINES), read(FIVE_LINES.replace("3 m", "6 m"))
    assert large.canopy.spread == pytest.approx([2 * side for side in small.canopy.spread], rel=1e-12)
    assert large.canopy.clear_stem == pytest.approx(2 * small.canopy.clear_stem, rel=1e-12)


def test_an_outline_gives_the_spread_and_the_clear_stem() -> None:
    outline = 'canopy.habit = "outline"\ncanopy.outline = [["1 m", "0.5 m"], ["2 m", "0.9 m"], ["3 m", "0 m"]]\n'
    tree = read(FIVE_LINES + outline)
    assert tree.canopy.outline == ((1000.0, 500.0), (2000.0, 900.0), (3000.0, 0.0))
    assert tree.canopy.spread == (1800.0, 1800.0)
    assert tree.canopy.clear_stem == 1000.0


def test_an_outline_can_be_a_mesh_file_beside_the_commission(tmp_path: Path) -> None:
    file = tmp_path / "tree.toml"
    file.write_text(FIVE_LINES + 'canopy.habit = "outline"\ncanopy.outline = "crown.stl"\n')
    with pytest.raises(
        CommissionError, match=r"canopy\.outline: no such file beside the commission \(got 'crown.stl'\)"
    ):
        read(file)
    (tmp_path / "crown.stl").write_text("solid crown\nendsolid crown\n")
    tree = read(file)
    assert tree.file("crown.stl") == tmp_path / "crown.stl"
    assert tree.canopy.outline == "crown.stl"


def test_a_file_reads_as_its_text_does_and_the_folder_is_no_part_of_the_value(tmp_path: Path) -> None:
    file = tmp_path / "tree.toml"
    file.write_text(FULL, encoding="utf-8")
    assert read(file) == read(str(file)) == read(FULL) == read(FULL, folder=tmp_path)
    assert hash(read(file)) == hash(read(FULL))
    assert read(file).folder == tmp_path
    assert str(tmp_path) not in write(read(file))


def test_a_file_with_a_byte_order_mark_or_windows_line_ends_reads_the_same(tmp_path: Path) -> None:
    file = tmp_path / "tree.toml"
    file.write_bytes(b"\xef\xbb\xbf" + FULL.replace("\n", "\r\n").encode())
    assert read(file) == read(FULL)


def test_a_commission_cannot_be_edited_in_place() -> None:
    tree = read(FIVE_LINES)
    with pytest.raises((ValidationError, FrozenInstanceError)):
        tree.growth.limbs = 4  # type: ignore[misc]


def test_changing_a_key_changes_that_key_only_and_checks_it() -> None:
    tree = read(FULL)
    other = changed(tree, {"seed": 5, "growth.branch.insertion_angle": "61 deg"})
    assert (other.seed, other.growth.branch.insertion_angle) == (5, 61.0)
    assert changed(other, {"seed": 20261, "growth.branch.insertion_angle": "50 deg"}) == tree
    assert tree.seed == 20261
    with pytest.raises(CommissionError, match=r"growth\.twigs: must be at least 1 \(got 0\)"):
        changed(tree, {"growth.twigs": 0})
    with pytest.raises(CommissionError, match=r"growth\.twgs: unknown key, did you mean twigs\?"):
        changed(tree, {"growth.twgs": 5})
    with pytest.raises(CommissionError, match=r"seed\.deep: unknown key"):
        changed(tree, {"seed.deep": 5})


@pytest.mark.parametrize("source", [FIVE_LINES, FULL])
def test_what_is_written_reads_back_as_the_same_commission(source: str) -> None:
    tree = read(source)
    text = write(tree)
    assert read(text) == tree
    assert write(read(text)) == text
    tomllib.loads(text)


@given(
    title=st.text(st.characters(exclude_categories=["Cs"]), min_size=1, max_size=40),
    seed=st.integers(0, 2**63 - 1),
    units=st.sampled_from(["inch", "mm"]),
    height=st.integers(2, 60),
    share=st.floats(0.05, 0.9),
    ratio=st.floats(1.0, 1.6),
    limbs=st.integers(1, 200),
    more=st.tuples(st.integers(0, 50), st.integers(0, 5000)),
    bars=st.lists(st.fractions(1, 23, max_denominator=64), min_size=1, max_size=9),
    loss=st.integers(0, 2500),
)
def test_any_commission_survives_being_written(
    title: str, seed: int, units: str, height: int, share: float, ratio: float, limbs: int, more: tuple[int, int],
    bars: list[object], loss: int,
) -> None:  # fmt: skip
    if not title.strip() or not title.isprintable():
        title = "Tree"
    tree = Commission.model_validate(
        {
            "title": title,
            "seed": seed,
            "units": units,
            "canopy": {"height": f"{height} ft", "clear_stem": f"{height * 304.8 * share:.9f} mm"},
            "growth": {
                "limbs": limbs,
                "branches": limbs + more[0],
                "twigs": limbs + sum(more),
                "twig": {"sinuosity": ratio},
            },
            "steel": {"bars": [f"{bar} in" for bar in bars]},
            "shop": {"scale_loss": f"{loss / 100} %"},
        }
    )
    text = write(tree)
    assert read(text) == tree
    assert write(read(text)) == text


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda folder: folder / "none.toml", "none.toml: no such file"),
        (lambda folder: folder, "is a folder"),
        (lambda folder: _file(folder, b"\xff\xfe\x00title"), "is not text in UTF-8"),
        (lambda folder: _file(folder, b"#" * 6_000_000), "larger than 5 MB"),
        (lambda folder: folder / ("x" * 5000), "cannot be read: File name too long"),
        (lambda folder: _file(folder, b"title = "), "is not TOML: Invalid value"),
        (lambda folder: _file(folder, b"title = 'a'\n[canopy\n"), r"line 2: is not TOML: Expected '\]'"),
        (lambda folder: _file(folder, b"a = " + b"[" * 100_000), "is not TOML"),
        (lambda folder: _file(folder, b""), "title: is missing and has no default; also wrong: canopy, growth"),
    ],
)
def test_a_file_that_is_no_commission_is_refused_in_one_line(tmp_path: Path, make: object, says: str) -> None:
    assert callable(make)
    with pytest.raises(ArmatureError, match=says) as refusal:
        read(make(tmp_path))
    assert "\n" not in str(refusal.value)
    assert str(tmp_path) in str(refusal.value)


def test_a_device_without_an_end_is_refused_and_a_pipe_is_read() -> None:
    with pytest.raises(FileError, match="/dev/zero: is no commission: larger than 5 MB"):
        read(Path("/dev/zero"))
    give, take = os.pipe()
    os.write(take, FIVE_LINES.encode())
    os.close(take)
    assert read(Path(f"/dev/fd/{give}")) == read(FIVE_LINES)
    os.close(give)


def test_a_file_that_may_not_be_read_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # The super-user may read anything, so the refusal of the system is made here.
    file = tmp_path / "tree.toml"
    file.write_text(FULL)

    def refuse(*_: object, **__: object) -> str:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(FileError, match="cannot be read: Permission denied"):
        read(file)


def _file(folder: Path, content: bytes) -> Path:
    path = folder / "tree.toml"
    path.write_bytes(content)
    return path
