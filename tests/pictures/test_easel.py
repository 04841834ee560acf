"""The easel's server: who may ask, what it keeps, and that one work never meets another."""

from __future__ import annotations

import http.client
import json
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from armature.commission import Commission, read
from armature.errors import CommissionError
from armature.grow import grow
from armature.look import judged
from armature.pictures.easel import Standing, Works
from armature.pictures.easel.server import Easel, listening
from armature.progress import Told
from tests.pictures.scenes import SMALL, small


def _make(commission: Commission, folder: Path, told: Told) -> None:
    if commission.seed == 13:
        raise CommissionError("seed", "is unlucky here", 13)
    folder.mkdir(parents=True, exist_ok=True)
    told("lists", 0.5)
    (folder / "summary.md").write_text(f"# {commission.title}\n", encoding="utf-8")


def _works() -> Works:
    return Works(grow, judged, lambda _c, _t: Standing(True, "stands"), lambda _c, t: [("Members", str(len(t)))], _make)


class Caller:
    """A page that asks the easel."""

    def __init__(self, easel: Easel, host: str | None = None, headers: dict[str, str] | None = None) -> None:
        self.port = int(easel.server_address[1])
        self.headers = {"Host": host or f"127.0.0.1:{self.port}", "X-Easel": "1", **(headers or {})}

    def ask(self, path: str, body: Any = None) -> tuple[int, bytes]:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        text = body if isinstance(body, str) or body is None else json.dumps(body)
        line.request("GET" if body is None else "POST", path, text, self.headers)
        reply = line.getresponse()
        found = reply.status, reply.read()
        line.close()
        return found

    def told(self, path: str, body: Any = None) -> dict[str, Any]:
        status, text = self.ask(path, body)
        assert status == 200, text
        return dict(json.loads(text))

    def begun(self) -> str:
        return str(self.told("/api/new", {})["session"])


def _started(jobs: Path, host: str = "127.0.0.1") -> Easel:
    easel = listening(small()[0], _works(), jobs, host, 0)
    threading.Thread(target=easel.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True).start()
    return easel


@pytest.fixture
def easel(tmp_path: Path) -> Iterator[Easel]:
    started = _started(tmp_path / "jobs")
    yield started
    started.shutdown()
    started.server_close()


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


def test_two_pages_do_not_mix_their_trees(easel: Easel) -> None:
    pages = [Caller(easel), Caller(easel)]
    works = [page.begun() for page in pages]
    for page, work, twigs in zip(pages, works, (44, 55), strict=True):
        page.told(f"/api/{work}/move", {"values": {"growth.twigs": twigs}, "keep": True})
    seen = [page.told(f"/api/{work}/state")["values"]["growth.twigs"] for page, work in zip(pages, works, strict=True)]
    assert seen == [44, 55]


def test_a_work_outlives_the_program(tmp_path: Path) -> None:
    easel = _started(tmp_path / "jobs")
    work = Caller(easel).begun()
    kept = Caller(easel).told(f"/api/{work}/move", {"values": {"seed": 99}, "keep": True})["values"]
    easel.shutdown()
    easel.server_close()
    again = _started(tmp_path / "jobs")
    page = Caller(again)
    assert page.told("/api/earlier")["sessions"] == [work]
    assert page.told(f"/api/{work}/state")["values"] == kept
    assert page.told(f"/api/{work}/undo", {})["values"]["seed"] == 7
    again.shutdown()
    again.server_close()


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
    for name in ("../x", "a/b", ".hidden", "", "x\\y"):
        assert page.ask(f"/api/{work}/save", {"name": name})[0] == 422
    assert sorted(each.name for each in (tmp_path / "jobs").iterdir()) == [".easel", "mine.toml"]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("title = ", "is not TOML"),
        ("title = 'x'\n[canopy]\nheight = '-3 m'", "height"),
        ("\0", "TOML"),
        (SMALL + "limbz = 3", "limbz"),
    ],
)
def test_a_broken_commission_is_said_on_the_page_and_the_tree_stays(easel: Easel, text: str, says: str) -> None:
    page = Caller(easel)
    work = page.begun()
    before = page.told(f"/api/{work}/state")
    status, reply = page.ask(f"/api/{work}/open", text)
    assert status == 422
    assert says in json.loads(reply)["wrong"]
    assert page.told(f"/api/{work}/state") == before


@pytest.mark.parametrize(
    "values", [{"growth.limbs": 0}, {"growth.limbs": "many"}, {"shop.scale": 1}, {"canopy.height": 1e9}, {"seed": -1}]
)
def test_a_control_out_of_range_changes_nothing(easel: Easel, values: dict[str, Any]) -> None:
    page = Caller(easel)
    work = page.begun()
    before = page.told(f"/api/{work}/state")
    assert page.ask(f"/api/{work}/move", {"values": values, "keep": True})[0] == 422
    assert page.told(f"/api/{work}/state") == before


def test_make_reports_its_progress_and_offers_its_files(easel: Easel) -> None:
    page = Caller(easel)
    work = page.begun()
    page.told(f"/api/{work}/make", {})
    found = _finished(page, work)
    assert found["files"] == [["summary.md", 13]]
    assert page.ask(f"/job/{work}/summary.md") == (200, b"# Test alder\n")


def test_a_make_that_fails_is_said_and_the_easel_goes_on(easel: Easel) -> None:
    page = Caller(easel)
    work = page.begun()
    page.told(f"/api/{work}/move", {"values": {"seed": 13}, "keep": True})
    page.told(f"/api/{work}/make", {})
    assert _finished(page, work)["wrong"] == "seed: is unlucky here (got 13)"
    assert page.told(f"/api/{work}/state")["values"]["seed"] == 13


def _finished(page: Caller, work: str) -> dict[str, Any]:
    for _ in range(200):
        found = page.told(f"/api/{work}/progress")
        if found["state"] != "making":
            return found
        time.sleep(0.02)
    raise AssertionError("make did not end")


@pytest.mark.parametrize(
    "name", ["../../secret.txt", "..%2f..%2fsecret.txt", "%2e%2e/%2e%2e/secret.txt", "/etc/passwd", "link"]
)
def test_no_path_outside_the_job_folder_is_served(easel: Easel, tmp_path: Path, name: str) -> None:
    page = Caller(easel)
    work = page.begun()
    (tmp_path / "secret.txt").write_text("secret")
    page.told(f"/api/{work}/make", {})
    _finished(page, work)
    (tmp_path / "jobs" / f"easel-{work}" / "link").symlink_to(tmp_path / "secret.txt")
    assert page.ask(f"/job/{work}/{name}")[0] == 404


def test_foreign_names_pages_and_plain_posts_are_turned_away(easel: Easel) -> None:
    assert Caller(easel, host="easel.example:80").ask("/")[0] == 403
    assert Caller(easel, headers={"Origin": "http://evil.example"}).ask("/api/new", {})[0] == 403
    assert Caller(easel, headers={"X-Easel": "0"}).ask("/api/new", {})[0] == 403
    assert Caller(easel).ask("/api/0123456789abcdef/state")[0] == 422
    assert Caller(easel).ask("/api/../state")[0] in (404, 422)


def test_off_loopback_nothing_is_answered_without_the_token(tmp_path: Path) -> None:
    open_easel = _started(tmp_path / "jobs", "0.0.0.0")
    assert len(open_easel.token) >= 24
    assert open_easel.token in open_easel.address
    for path in ("/", "/easel.js", "/api/earlier", "/?token=wrong"):
        assert Caller(open_easel).ask(path)[0] == 403
    assert Caller(open_easel).ask(f"/?token={open_easel.token}")[0] == 303
    assert Caller(open_easel, headers={"Cookie": f"easel={open_easel.token}"}).ask("/")[0] == 200
    open_easel.shutdown()
    open_easel.server_close()


def test_a_port_in_use_or_out_of_range_is_one_line(easel: Easel, tmp_path: Path) -> None:
    for port in (int(easel.server_address[1]), 70_000):
        with pytest.raises(CommissionError, match=r"^port: "):
            listening(small()[0], _works(), tmp_path, "127.0.0.1", port)
