"""The easel's server: what it shows and keeps, and that one work never meets another."""

from __future__ import annotations

import json
import threading
from pathlib import Path

import pytest

from armature.commission import read
from armature.grow import grow
from armature.pictures.easel.server import Easel, listening
from tests.crew import CREW
from tests.pictures.asking import Caller, started, works
from tests.pictures.scenes import SMALL, small


def test_a_moved_control_gives_a_new_tree_and_undo_brings_the_old_one_back(easel: Easel) -> None:
    page = Caller(easel)
    work = page.begun()
    first = page.told(f"/api/{work}/state")
    assert first["members"] == len(small()[1])
    moved = page.told(f"/api/{work}/move", {"values": {"growth.twigs": 50, "canopy.spread.0": 1.8}, "keep": True})
    assert moved["members"] == first["members"] + 10
    assert moved["values"]["canopy.spread.0"] == 1.8
    assert moved["values"]["canopy.spread.1"] == first["values"]["canopy.spread.1"]
    assert moved["undo"]
    back = page.told(f"/api/{work}/undo", {})
    assert back["values"] == first["values"]
    assert page.told(f"/api/{work}/redo", {})["values"] == moved["values"]
    assert page.ask(f"/api/{work}/redo", {})[0] == 422


@pytest.mark.parametrize("fine", ["0", "1"])
def test_leaves_of_each_metal_look_their_own(easel: Easel, fine: str) -> None:
    page = Caller(easel)
    work = page.begun()
    looks = []
    for sheet in ('metal = "copper"\nsheet = "24 oz"', 'metal = "brass"\nsheet = "20 ga"'):
        opened = page.told(f"/api/{work}/open", {"commission": f"{SMALL}[leaves]\ncount = 12\n{sheet}\n"})
        status, scene = page.ask(f"/api/{work}/scene?tree={opened['tree']}&fine={fine}")
        assert status == 200
        head = json.loads(scene[4 : 4 + int.from_bytes(scene[:4], "little")])
        body = 4 + (int.from_bytes(scene[:4], "little") + 3) // 4 * 4
        _, place, size = head["tones"]["new"]
        looks.append(scene[body + place : body + place + size])
    assert len(looks[0]) == len(looks[1]) > 0
    assert looks[0] != looks[1]


def test_two_pages_do_not_mix_their_trees(easel: Easel) -> None:
    pages = [Caller(easel), Caller(easel)]
    works = [page.begun() for page in pages]
    for page, work, twigs in zip(pages, works, (44, 55), strict=True):
        page.told(f"/api/{work}/move", {"values": {"growth.twigs": twigs}, "keep": True})
    seen = [page.told(f"/api/{work}/state")["values"]["growth.twigs"] for page, work in zip(pages, works, strict=True)]
    assert seen == [44, 55]


def test_a_work_outlives_the_program(tmp_path: Path) -> None:
    easel = started(tmp_path / "jobs")
    work = Caller(easel).begun()
    kept = Caller(easel).told(f"/api/{work}/move", {"values": {"seed": 99}, "keep": True})["values"]
    easel.stop()
    again = started(tmp_path / "jobs")
    page = Caller(again)
    assert page.told("/api/earlier")["sessions"] == [work]
    assert page.told(f"/api/{work}/state")["values"] == kept
    assert page.told(f"/api/{work}/undo", {})["values"]["seed"] == 7
    again.stop()


def test_what_make_would_read_is_what_the_easel_writes(easel: Easel, tmp_path: Path) -> None:
    page = Caller(easel)
    work = page.begun()
    page.told(
        f"/api/{work}/move", {"values": {"growth.branch.insertion_angle": 61, "canopy.height": 2.55}, "keep": True}
    )
    path = Path(page.told(f"/api/{work}/save", {"name": "mine"})["path"])
    commission = read(path)
    assert commission.growth.branch.insertion_angle == 61.0
    assert commission.canopy.height == 2550.0
    assert read(page.ask(f"/api/{work}/commission.toml")[1].decode()) == commission
    for name in ("../x", "a/b", ".hidden", "", "x\\y", "CON", "com1.toml", "<b>", "x\u202ey", "x.", "a" * 201, 'a"b'):
        assert page.ask(f"/api/{work}/save", {"name": name})[0] == 422
    assert sorted(each.name for each in (tmp_path / "jobs").iterdir()) == [".easel", "mine.toml"]


def test_writing_it_keeps_what_another_hand_has_put_there(easel: Easel, tmp_path: Path) -> None:
    page, jobs = Caller(easel), tmp_path / "jobs"
    work, other = page.begun(), page.begun()
    jobs.mkdir(exist_ok=True)
    (jobs / "mine.toml").write_text("# by hand\n")
    assert page.told(f"/api/{work}/save", {"name": "mine"})["kept"] == "mine.kept.toml"
    assert (jobs / "mine.kept.toml").read_text() == "# by hand\n"
    page.told(f"/api/{work}/move", {"values": {"seed": 21}, "keep": True})
    assert page.told(f"/api/{work}/save", {"name": "mine"})["kept"] == ""
    assert read(jobs / "mine.toml").seed == 21
    assert page.told(f"/api/{other}/save", {"name": "mine"})["kept"] == "mine.kept-2.toml"
    assert read(jobs / "mine.kept-2.toml").seed == 21
    assert sorted(each.name for each in jobs.glob("*.toml")) == ["mine.kept-2.toml", "mine.kept.toml", "mine.toml"]
    (jobs / "box.toml").mkdir()
    assert page.ask(f"/api/{work}/save", {"name": "box"})[0] == 422


def test_an_outline_beside_the_commission_can_be_chosen_and_left(tmp_path: Path) -> None:
    import trimesh

    ball = trimesh.creation.icosphere(subdivisions=3, radius=800.0)
    ball.apply_translation([0.0, 0.0, 1500.0]).export(tmp_path / "ball.stl")
    (tmp_path / "tree.toml").write_text(SMALL)
    easel = listening(read(tmp_path / "tree.toml"), works(), tmp_path / "jobs", "127.0.0.1", 0, CREW)
    threading.Thread(target=easel.run, daemon=True).start()
    page = Caller(easel)
    work = page.begun()
    assert page.told(f"/api/{work}/state")["habits"][-1] == "outline: ball.stl"
    moved = page.told(f"/api/{work}/move", {"values": {"canopy.habit": "outline: ball.stl"}, "keep": True})
    assert moved["values"]["canopy.habit"] == "outline: ball.stl"
    for wrong in ("outline: ../tree.toml", "outline: none.stl", "outline"):
        assert page.ask(f"/api/{work}/move", {"values": {"canopy.habit": wrong}, "keep": True})[0] == 422
    saved = Path(page.told(f"/api/{work}/save", {"name": "mine"})["path"])
    assert grow(read(saved)).same_as(easel.studio.session(work).present().tree)
    back = page.told(f"/api/{work}/move", {"values": {"canopy.habit": "rounded"}, "keep": True})
    assert back["values"]["canopy.habit"] == "rounded"
    easel.stop()
