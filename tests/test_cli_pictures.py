from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import typer
from PIL import Image
from typer.testing import CliRunner

from armature.cli.pictures import show
from armature.commission import changed, read
from armature.edge import ArmatureError
from armature.files.design import design_json
from armature.grow import grow
from armature.leaves import plan_leaves
from armature.pictures import Showing
from armature.pictures.scene import Scene
from tests.pictures.scenes import SMALL


def _run(*arguments: str) -> str:
    app = typer.Typer()
    app.command()(show)
    return CliRunner().invoke(app, list(arguments), catch_exceptions=False).output


def test_show_writes_the_picture_asked_for_and_says_how_it_was_drawn(tmp_path: Path) -> None:
    (tmp_path / "tree.toml").write_text(SMALL, encoding="utf-8")
    said = _run(str(tmp_path / "tree.toml"), "--size", "160x120", "--view", "quarter", "--out", str(tmp_path / "q.png"))
    assert "pictures are drawn" in said
    with Image.open(tmp_path / "q.png") as seen:
        assert seen.size == (160, 120)


@pytest.mark.parametrize("name", ["tree.toml", "TREE.txt", "view", "none/q.png"])
def test_show_writes_over_no_file_that_is_not_a_picture(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("tree.toml").write_text(SMALL, encoding="utf-8")
    Path("TREE.txt").write_text("letters", encoding="utf-8")
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    with pytest.raises(ArmatureError):
        _run("tree.toml", "--size", "160x120", "--out", name)
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_show_never_draws_over_the_commission_it_reads(tmp_path: Path) -> None:
    for name in ("odd.png", "tree.toml"):
        (tmp_path / name).write_text(SMALL, encoding="utf-8")
    (tmp_path / "link.png").symlink_to("tree.toml")
    for source, out in (("odd.png", "odd.png"), ("tree.toml", "link.png")):
        with pytest.raises(ArmatureError, match="drawn from"):
            _run(str(tmp_path / source), "--size", "160x120", "--out", str(tmp_path / out))
    assert (tmp_path / "odd.png").read_text() == (tmp_path / "tree.toml").read_text() == SMALL


@pytest.mark.parametrize("wrong", [("--size", "0x9"), ("--size", "big"), ("--size", "100000x9"), ("--view", "inside")])
def test_show_refuses_what_cannot_be_drawn(tmp_path: Path, wrong: tuple[str, str]) -> None:
    (tmp_path / "tree.toml").write_text(SMALL, encoding="utf-8")
    with pytest.raises(ArmatureError):
        _run(str(tmp_path / "tree.toml"), *wrong, "--out", str(tmp_path / "q.png"))
    assert not (tmp_path / "q.png").exists()


def test_a_design_is_shown_as_it_hangs_with_its_own_dish(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No leaf is moved, and the blades are hollowed as the commission says; a commission says that it is only grown."""
    tree = grow(read(SMALL))
    # Two leaves at one place strike each other, and planned anew one of them would move.
    stations = tree.leaves.stations.copy()
    first = np.flatnonzero(np.diff(tree.leaves.twigs) == 0)[0]
    stations[first + 1] = stations[first] + 1.0
    tight = tree.hung(replace(tree.leaves, stations=stations))
    dished = changed(read(SMALL), {"leaves.outline.dish": 0.4})
    (tmp_path / "design.json").write_text(design_json(tight, dished), encoding="utf-8")
    seen: list[Showing] = []
    whole = Showing.scene

    def overheard(own: Showing, leaves: bool = True) -> Scene:
        seen.append(own)
        return whole(own, leaves)

    monkeypatch.setattr(Showing, "scene", overheard)
    said = _run(str(tmp_path / "design.json"), "--size", "160x120", "--out", str(tmp_path / "d.png"))
    assert "the design as it stands" in said
    assert seen[0].tree.same_as(tight)
    assert not plan_leaves(dished, tight, plates=False).tree.same_as(tight)
    flat = plan_leaves(read(SMALL), tight, plates=False).meshes(0.0, dished.leaves.outline.curl)[0].vertices
    blade = seen[0].blades[0].vertices if seen[0].blades else flat
    assert np.ptp(blade[:, 1] - flat[:, 1]) > 0.05 * np.ptp(flat[:, 0])
    (tmp_path / "tree.toml").write_text(SMALL, encoding="utf-8")
    said = _run(str(tmp_path / "tree.toml"), "--size", "160x120", "--out", str(tmp_path / "c.png"))
    assert "as grown, before mending and sizing" in said
