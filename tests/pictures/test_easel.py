"""The easel's server: who may ask, what it keeps, and that one work never meets another."""

from __future__ import annotations

import http.client
import json
import socket
import struct
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from armature.commission import Commission, read
from armature.edge import CommissionError, FileError
from armature.grow import grow
from armature.job import Standing
from armature.job.folder import job_folder
from armature.look import judged
from armature.pictures.easel import Settled, Works, serve
from armature.pictures.easel.server import Easel, listening
from armature.progress import Told
from armature.tree import Tree
from tests.crew import CREW
from tests.pictures.scenes import SMALL, small


def _make(commission: Commission, folder: Path, told: Told) -> None:
    if commission.seed == 13:
        raise CommissionError("seed", "is unlucky here", 13)
    with job_folder(folder) as aside:
        (aside / "summary.md").write_text(f"# {commission.title}\n", encoding="utf-8")
        for share in range(1200 if commission.seed == 15 else 1):
            told("lists", share / 1200.0)
            time.sleep(0.05 if commission.seed == 15 else 0.0)


def _settle(commission: Commission, _folder: Path, told: Told) -> Settled:
    for share in range(40 if commission.seed == 14 else 1):
        told("mending", share / 40.0)
        time.sleep(0.05 if commission.seed == 14 else 0.0)
    tree = grow(commission)
    return Settled(
        tree, judged(tree), Standing(True, "Stands.", ("not checked for ice",)), ("mending moved 2 members",)
    )


def _totals(_commission: Commission, tree: Tree) -> list[tuple[str, str]]:
    return [("Members", str(len(tree)))]


def _works() -> Works:
    return Works(grow, judged, _settle, _totals, _make)


class Caller:
    """A page that asks the easel."""

    def __init__(self, easel: Easel, host: str | None = None, headers: dict[str, str] | None = None) -> None:
        self.port = easel.server.port
        own = {
            "Host": host or f"127.0.0.1:{self.port}",
            "X-House": "1",
            "Cookie": f"house-{self.port}={easel.server.cookie}",
        }
        self.headers = {**own, **(headers or {})}

    def ask(self, path: str, body: Any = None) -> tuple[int, bytes]:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
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
    easel = listening(small()[0], _works(), jobs, host, 0, CREW)
    threading.Thread(target=easel.run, daemon=True).start()
    return easel


@pytest.fixture
def easel(tmp_path: Path) -> Iterator[Easel]:
    started = _started(tmp_path / "jobs")
    yield started
    started.stop()


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
    easel = _started(tmp_path / "jobs")
    work = Caller(easel).begun()
    kept = Caller(easel).told(f"/api/{work}/move", {"values": {"seed": 99}, "keep": True})["values"]
    easel.stop()
    again = _started(tmp_path / "jobs")
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


@pytest.mark.parametrize("taken", ["jobs", "jobs/.easel"])
def test_an_easel_without_a_folder_for_its_jobs_does_not_start(tmp_path: Path, taken: str) -> None:
    (tmp_path / taken).parent.mkdir(exist_ok=True)
    (tmp_path / taken).write_text("no folder")
    with pytest.raises(FileError, match="where a folder is wanted"):
        listening(small()[0], _works(), tmp_path / "jobs", "127.0.0.1", 0)


_DEEP = "[" * 100_000 + "]" * 100_000


@pytest.mark.parametrize(
    ("path", "body"),
    [
        ("/job/{}/%00", None),
        ("/job/{}/" + "a" * 5000, None),
        ("/api/{}/scene?tree=1e999", None),
        ("/api/{}/back", '{"tree": 1e999}'),
        ("/api/{}/down", '{"tree": NaN}'),
        ("/api/{}/move", _DEEP),
        ("/api/{}/move", "{" + f'"values": {_DEEP}' + "}"),
        ("http://[/", None),
    ],
)
def test_a_request_that_no_page_sends_is_answered_in_a_line(easel: Easel, path: str, body: str | None) -> None:
    page = Caller(easel)
    status, said = page.ask(path.format(page.begun()), body)
    assert status == (404 if path.startswith("http") else 400)
    assert len(said) < 300
    assert b"\n" not in said


@pytest.mark.parametrize("values", ['{"seed": 1e999}', '{"canopy.height": 1e999}', '{"leaves.count": -1e999}'])
def test_a_number_past_all_numbers_changes_nothing(easel: Easel, values: str) -> None:
    page = Caller(easel)
    work = page.begun()
    assert page.ask(f"/api/{work}/move", '{"keep": true, "values": ' + values + "}")[0] == 422
    assert page.told(f"/api/{work}/state")["values"]["seed"] == 7


@pytest.mark.parametrize("text", [_DEEP, '{"at": 1e999, "steps": ["x"]}', '{"at": 0, "steps": 3}', "[]", "\0"])
def test_a_broken_file_of_kept_work_is_no_work(easel: Easel, tmp_path: Path, text: str) -> None:
    kept = tmp_path / "jobs" / ".easel" / "00112233aabbccdd.json"
    kept.parent.mkdir(parents=True, exist_ok=True)
    kept.write_text(text)
    status, said = Caller(easel).ask("/api/00112233aabbccdd/state")
    assert status == 422
    assert b"no such work" in said


@pytest.mark.parametrize(("name", "value"), [("Host", "[::1"), ("Origin", "http://[")])
def test_names_that_cannot_be_read_are_answered(easel: Easel, name: str, value: str) -> None:
    assert Caller(easel, headers={name: value}).ask("/api/new", {})[0] == 400


def test_a_page_that_goes_away_in_the_middle_says_nothing(easel: Easel, capfd: pytest.CaptureFixture[str]) -> None:
    port = easel.server.port
    for sent in (b"POST /api/new HTTP/1.1\r\nContent-Length: 50\r\n\r\n{", b"GET / HT", b""):
        line = socket.create_connection(("127.0.0.1", port))
        line.sendall(sent)
        # With no time to linger, closing resets the connection.
        line.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
        line.close()
    assert Caller(easel).ask("/")[0] == 200
    time.sleep(0.2)
    assert capfd.readouterr() == ("", "")


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
    status, reply = page.ask(f"/api/{work}/open", {"commission": text})
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
    assert ["summary.md", 13] in found["files"]
    assert page.ask(f"/job/{work}/summary.md") == (200, b"# Test alder\n")


def test_a_make_that_fails_is_said_and_the_easel_goes_on(easel: Easel) -> None:
    page = Caller(easel)
    work = page.begun()
    page.told(f"/api/{work}/move", {"values": {"seed": 13}, "keep": True})
    page.told(f"/api/{work}/make", {})
    assert _finished(page, work)["wrong"] == "seed: is unlucky here (got 13)"
    assert page.told(f"/api/{work}/state")["values"]["seed"] == 13


def test_a_make_is_stopped_at_once_and_leaves_what_was_there(easel: Easel, tmp_path: Path) -> None:
    page = Caller(easel)
    work = page.begun()
    page.told(f"/api/{work}/make", {})
    assert _finished(page, work)["state"] == "done"
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
    assert _finished(page, work)["state"] == "done"


def test_an_easel_put_away_leaves_nothing_half_made(tmp_path: Path) -> None:
    ready = threading.Event()
    servers: list[Easel] = []

    def heard(easel: Easel) -> None:
        servers.append(easel)
        ready.set()

    serving = threading.Thread(target=serve, args=(small()[0], _works(), tmp_path / "jobs", "127.0.0.1", 0, heard))
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


def test_an_outline_beside_the_commission_can_be_chosen_and_left(tmp_path: Path) -> None:
    import trimesh

    ball = trimesh.creation.icosphere(subdivisions=3, radius=800.0)
    ball.apply_translation([0.0, 0.0, 1500.0]).export(tmp_path / "ball.stl")
    (tmp_path / "tree.toml").write_text(SMALL)
    easel = listening(read(tmp_path / "tree.toml"), _works(), tmp_path / "jobs", "127.0.0.1", 0, CREW)
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


def _finished(page: Caller, work: str) -> dict[str, Any]:
    for _ in range(12000):
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
    assert Caller(easel, headers={"X-House": "0"}).ask("/api/new", {})[0] == 403
    assert Caller(easel).ask("/api/0123456789abcdef/state")[0] == 422
    assert Caller(easel).ask("/api/../state")[0] in (404, 422)


def test_a_port_in_use_or_out_of_range_is_one_line(easel: Easel, tmp_path: Path) -> None:
    for port in (easel.server.port, 70_000):
        with pytest.raises(CommissionError, match=r"^port: "):
            listening(small()[0], _works(), tmp_path, "127.0.0.1", port)
