"""What no page sends, and what no page may: each is answered in a line, and the work stays."""

from __future__ import annotations

import json
import socket
import struct
import time
from pathlib import Path
from typing import Any

import pytest

from armature.edge import CommissionError, FileError
from armature.pictures.easel.server import Easel, listening
from tests.pictures.asking import Caller, works
from tests.pictures.scenes import SMALL, small


@pytest.mark.parametrize("taken", ["jobs", "jobs/.easel"])
def test_an_easel_without_a_folder_for_its_jobs_does_not_start(tmp_path: Path, taken: str) -> None:
    (tmp_path / taken).parent.mkdir(exist_ok=True)
    (tmp_path / taken).write_text("no folder")
    with pytest.raises(FileError, match="where a folder is wanted"):
        listening(small()[0], works(), tmp_path / "jobs", "127.0.0.1", 0)


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


def test_foreign_names_pages_and_plain_posts_are_turned_away(easel: Easel) -> None:
    assert Caller(easel, host="easel.example:80").ask("/")[0] == 403
    assert Caller(easel, headers={"Origin": "http://evil.example"}).ask("/api/new", {})[0] == 403
    assert Caller(easel, headers={"X-House": "0"}).ask("/api/new", {})[0] == 403
    assert Caller(easel).ask("/api/0123456789abcdef/state")[0] == 422
    assert Caller(easel).ask("/api/../state")[0] in (404, 422)


def test_a_port_in_use_or_out_of_range_is_one_line(easel: Easel, tmp_path: Path) -> None:
    for port in (easel.server.port, 70_000):
        with pytest.raises(CommissionError, match=r"^port: "):
            listening(small()[0], works(), tmp_path, "127.0.0.1", port)
