"""Runs that the easel starts: a make told, stopped or failed, and a tree settled."""

from __future__ import annotations

import threading
import time
from pathlib import Path
from typing import Any

from armature.pictures.easel import serve
from armature.pictures.easel.server import Easel
from tests.pictures.asking import Caller, finished, make, works
from tests.pictures.scenes import small


def test_make_reports_its_progress_and_offers_its_files_and_no_path_outside_its_folder(
    easel: Easel, tmp_path: Path
) -> None:
    page = Caller(easel)
    work = page.begun()
    (tmp_path / "secret.txt").write_text("secret")
    page.told(f"/api/{work}/make", {})
    found = finished(page, work)
    assert ["summary.md", 13] in found["files"]
    assert page.ask(f"/job/{work}/summary.md") == (200, b"# Test alder\n")
    (tmp_path / "jobs" / f"easel-{work}" / "link").symlink_to(tmp_path / "secret.txt")
    for name in ("../../secret.txt", "..%2f..%2fsecret.txt", "%2e%2e/%2e%2e/secret.txt", "/etc/passwd", "link"):
        assert page.ask(f"/job/{work}/{name}")[0] == 404, name


def test_a_make_that_fails_is_said_and_the_easel_goes_on(easel: Easel) -> None:
    page = Caller(easel)
    work = page.begun()
    page.told(f"/api/{work}/move", {"values": {"seed": 13}, "keep": True})
    page.told(f"/api/{work}/make", {})
    assert finished(page, work)["wrong"] == "seed: is unlucky here (got 13)"
    assert page.told(f"/api/{work}/state")["values"]["seed"] == 13


def test_a_make_is_stopped_at_once_and_leaves_what_was_there(easel: Easel, tmp_path: Path) -> None:
    page = Caller(easel)
    work = page.begun()
    make(small()[0], tmp_path / "jobs" / f"easel-{work}", lambda _what, _share: None)
    page.told(f"/api/{work}/move", {"values": {"seed": 15}, "keep": True})
    page.told(f"/api/{work}/make", {})
    for _ in range(4800):
        if page.told(f"/api/{work}/progress")["what"] == "lists":
            break
        time.sleep(0.05)
    assert page.ask(f"/api/{work}/make", {})[0] == 422
    found = page.told(f"/api/{work}/stop", {})
    assert (found["state"], found["wrong"]) == ("wrong", "stopped: nothing was written")
    jobs = tmp_path / "jobs"
    assert sorted(each.name for each in jobs.iterdir() if each.is_dir()) == [".easel", f"easel-{work}"]
    assert (jobs / f"easel-{work}" / "summary.md").is_file()
    page.told(f"/api/{work}/move", {"values": {"seed": 16}, "keep": True})
    page.told(f"/api/{work}/make", {})
    assert finished(page, work)["state"] == "done"


def test_an_easel_put_away_leaves_nothing_half_made(tmp_path: Path) -> None:
    ready = threading.Event()
    servers: list[Easel] = []

    def heard(easel: Easel) -> None:
        servers.append(easel)
        ready.set()

    serving = threading.Thread(target=serve, args=(small()[0], works(), tmp_path / "jobs", "127.0.0.1", 0, heard))
    serving.start()
    assert ready.wait(120.0)
    page = Caller(servers[0])
    work = page.begun()
    page.told(f"/api/{work}/move", {"values": {"seed": 15}, "keep": True})
    page.told(f"/api/{work}/make", {})
    while page.told(f"/api/{work}/progress")["what"] != "lists":
        time.sleep(0.05)
    servers[0].stop()
    serving.join(timeout=120.0)
    assert not serving.is_alive()
    assert [each.name for each in (tmp_path / "jobs").iterdir()] == [".easel"]


def test_a_tree_is_settled_once_and_shown_as_settled(easel: Easel) -> None:
    page = Caller(easel)
    work = page.begun()
    number = page.told(f"/api/{work}/state")["tree"]
    first = page.told(f"/api/{work}/panel?tree={number}")
    assert not first["settled"]
    assert first["standing"] is None
    found = page.told(f"/api/{work}/settle?tree={number}")
    assert found["standing"] == {"stands": True, "says": "Stands.", "reasons": ["not checked for ice"], "rows": []}
    assert found["changes"] == ["mending moved 2 members"]
    assert page.told(f"/api/{work}/panel?tree={number}") == found


def test_settling_ends_when_the_page_has_gone_on(easel: Easel) -> None:
    page = Caller(easel)
    work = page.begun()
    slow = page.told(f"/api/{work}/move", {"values": {"seed": 14}, "keep": True})["tree"]
    heard: list[dict[str, Any]] = []
    waiting = threading.Thread(target=lambda: heard.append(page.told(f"/api/{work}/settle?tree={slow}")))
    waiting.start()
    time.sleep(0.2)
    page.told(f"/api/{work}/move", {"values": {"seed": 3}, "keep": True})
    waiting.join(timeout=120.0)
    assert heard == [{"tree": slow, "gone": True}]
