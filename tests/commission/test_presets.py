from pathlib import Path

import pytest

from armature.commission import read, write
from armature.commission.presets import preset_path, preset_paths, preset_purpose, start_commission
from armature.edge import CommissionError, FileError
from armature.grow.sizes import bars_for


def test_presets_differ_in_form_and_size() -> None:
    trees = {name: read(path) for name, path in preset_paths().items()}
    assert set(trees) == {"civic", "courtyard", "espalier", "garden", "linden", "maquette", "monumental", "weeping"}
    assert len({tree.canopy.habit for tree in trees.values()}) >= 6
    assert len({tree.canopy.height for tree in trees.values()}) == len(trees)
    assert trees["maquette"].growth.twigs == 60
    assert (trees["garden"].growth.twigs, trees["garden"].leaves.count) == (420, 1260)
    assert trees["monumental"].growth.twigs == 2000
    assert trees["monumental"].steel.trunk == "pipe"
    assert trees["espalier"].canopy.keep_out[0].name == "window"


def test_the_courtyard_tree_has_the_counts_that_its_file_tells() -> None:
    tree = read(preset_path("courtyard"))
    assert (tree.growth.limbs, tree.growth.branches, tree.growth.twigs) == (4, 28, 250)
    assert tree.steel.bars[0] == 6.35
    assert tree.leaves.count == 760


@pytest.mark.parametrize("name", sorted(preset_paths()))
def test_a_preset_says_that_it_is_invented_and_who_might_order_it(name: str) -> None:
    first, second = preset_path(name).read_text(encoding="utf-8").splitlines()[:2]
    assert preset_purpose(preset_path(name)) == first.removeprefix("# ")
    assert second.startswith("# Invented. Who might order it: ")


@pytest.mark.parametrize("name", sorted(preset_paths()))
def test_the_thickest_stock_of_a_preset_can_carry_its_twigs(name: str) -> None:
    # The pipe rule from twigs of the thinnest bar, each limb, branch and branchlet ending in one more: d^n = N d0^n.
    tree = read(preset_path(name))
    growth, steel = tree.growth, tree.steel
    tips = growth.twigs + growth.branchlets + growth.branches + growth.limbs
    trunk = steel.bars[0] * tips ** (1.0 / growth.pipe_exponent)
    thick = [pipe.outside for pipe in steel.pipes] if steel.trunk == "pipe" else steel.bars
    assert bars_for(trunk, thick) >= trunk
    assert (
        15 < tree.canopy.height / trunk < 101
    )  # 101 is the most slender of 31 measured cherry stems (dataset `trees`)


@pytest.mark.parametrize("name", sorted(preset_paths()))
def test_a_preset_survives_being_written(name: str) -> None:
    tree = read(preset_path(name))
    assert read(write(tree)) == tree


def test_an_unknown_preset_is_refused_with_the_nearest() -> None:
    with pytest.raises(CommissionError, match="did you mean garden"):
        preset_path("gardn")


def test_starting_a_commission_copies_the_preset_and_never_overwrites(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    assert start_commission("espalier", file) == [file]
    assert read(file) == read(preset_path("espalier"))
    file.write_text("title = 'kept'")
    with pytest.raises(FileError, match="exists already"):
        start_commission("garden", file)
    assert file.read_text() == "title = 'kept'"


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="cannot be written: No such file or directory"):
        start_commission("garden", tmp_path / "none" / "mine.toml")


def test_a_preset_with_names_brings_them_along(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    assert start_commission("garden", file) == [file, tmp_path / "garden-names.csv"]
    mine, own = read(file), read(preset_path("garden"))
    assert mine == own
    assert mine.leaves.names
    assert own.leaves.names
    assert mine.file(mine.leaves.names).read_bytes() == own.file(own.leaves.names).read_bytes()


def test_a_names_file_that_stands_already_is_never_overwritten(tmp_path: Path) -> None:
    (tmp_path / "garden-names.csv").write_text("name\nAda\n")
    with pytest.raises(FileError, match=r"garden-names\.csv: exists already"):
        start_commission("garden", tmp_path / "mine.toml")
    assert [path.name for path in tmp_path.iterdir()] == ["garden-names.csv"]
    assert (tmp_path / "garden-names.csv").read_text() == "name\nAda\n"
