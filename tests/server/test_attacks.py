"""What a stranger, a foreign page or a careless upload may try on the house's server, and what comes of it."""

from __future__ import annotations

import asyncio
import base64
import http.client
import json
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from armature.commission import Commission
from armature.edge import ArmatureError, CommissionError
from armature.grow import grow
from armature.leaves import plan_leaves
from armature.pictures.easel import Works
from armature.pictures.easel.server import Easel
from armature.pictures.easel.server import listening as easel_listening
from armature.pictures.easel.studio import MOST_WORKS, Studio
from armature.server import Answer, Asked, Hands, MalformedError, Room, Server, listening, whole_number
from armature.server import lines as server_lines
from armature.server import listening as server_listening
from armature.server import rooms as server_rooms
from armature.tree import Tree
from tests.crew import CREW
from tests.pictures.scenes import SMALL, small
from tests.pictures.test_easel import _make, _settle, _totals
from tests.server.labours import hoard, sleep, spin

GO_ON = threading.Event()


def _answer(asked: Asked) -> Answer:
    if asked.path == "/slow":
        GO_ON.wait(120.0)
    return Answer.of({"path": asked.path, "bytes": len(asked.body)})


def _named(commission: Commission) -> Tree:
    return plan_leaves(commission, grow(commission), plates=False).tree


def _judged(tree: Tree) -> Any:
    from armature.look import judged

    return judged(tree)


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    rooms = {"/": Room(_answer, largest_body=1000, seconds_for_body=0.5), "/ledger": Room(_answer, threads=2)}
    started = listening(rooms, "127.0.0.1", 0)
    running = threading.Thread(target=started.run)
    running.start()
    yield started
    started.stop()
    running.join(120.0)
    assert not running.is_alive()


@pytest.fixture(scope="module")
def easel(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Easel]:
    jobs = tmp_path_factory.mktemp("work") / "jobs"
    works = Works(_named, _judged, _settle, _totals, _make)
    started = easel_listening(small()[0], works, jobs, "127.0.0.1", 0, CREW)
    threading.Thread(target=started.run, daemon=True).start()
    yield started
    started.stop()


def ask(
    server: Server, path: str, body: str | None = None, verb: str = "", **headers: str | None
) -> tuple[int, bytes, dict[str, str]]:
    """Return status, body and headers; a header of None is left out."""
    own: dict[str, str | None] = {
        "Host": f"127.0.0.1:{server.port}",
        "Cookie": f"house-{server.port}={server.cookie}",
        "X-House": "1",
    }
    sent = {**own, **{name.replace("_", "-"): value for name, value in headers.items()}}
    line = http.client.HTTPConnection("127.0.0.1", server.port, timeout=120)
    given = {name: value for name, value in sent.items() if value is not None}
    line.request(verb or ("GET" if body is None else "POST"), path, body, given)
    reply = line.getresponse()
    told = reply.status, reply.read(), dict(reply.getheaders())
    line.close()
    return told


def begun(easel: Easel) -> str:
    return str(json.loads(ask(easel.server, "/api/new", "{}")[1])["session"])


@pytest.mark.parametrize("path", ["/", "/easel.js", "/ledger", "/ledger/x", "/?token=", "/?token=wrong", "/nothing"])
@pytest.mark.parametrize("cookie", [None, "", "house=x", "house-{port}=", "house-{port}={token}", '"'])
def test_without_the_token_nothing_is_answered_on_loopback_either(
    server: Server, path: str, cookie: str | None
) -> None:
    given = cookie and cookie.format(port=server.port, token=server.token)
    status, said, _ = ask(server, path, Cookie=given)
    assert status == 403
    assert b"token" in said
    assert ask(server, path, "{}", Cookie=given)[0] == 403


def test_the_printed_address_opens_and_the_token_leaves_the_address(server: Server) -> None:
    assert len(server.token) >= 24
    assert server.address.endswith(f"/?token={server.token}")
    status, _, headers = ask(server, f"/?token={server.token}", Cookie=None)
    assert (status, headers["location"]) == (303, "/")
    kept = headers["set-cookie"]
    assert "HttpOnly" in kept
    assert "samesite=strict" in kept.lower()
    assert server.token not in kept
    assert ask(server, "/", Cookie=kept.split(";")[0])[0] == 200


def test_the_token_leads_to_no_foreign_place(server: Server) -> None:
    for path in ("//evil.example", "/\\evil.example", "///evil.example/"):
        status, _, headers = ask(server, f"{path}?token={server.token}", Cookie=None)
        assert status == 303
        assert headers["location"].startswith("/")
        assert not headers["location"].startswith(("//", "/\\", "/%5C"))


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "easel.example"}, {"Host": "127.0.0.1:1"}, {"Host": "127.0.0.1.evil.example:{port}"},
        {"Host": "user@127.0.0.1:{port}"}, {"Host": "@127.0.0.1:{port}"}, {"Host": "127.0.0.1:{port}/x"},
        {"Host": "127.0.0.1:{port}?x"}, {"Host": "127.0.0.1:{port}#x"}, {"Host": "127.0.0.1:0{port}"},
        {"Host": "192.0.2.7:{port}"},
        {"Origin": "http://evil.example"}, {"Origin": "null"}, {"Origin": "https://127.0.0.1:{port}"},
        {"Origin": "http://127.0.0.1:1"}, {"X-House": None}, {"X-House": "0"},
        {"Sec_Fetch_Site": "cross-site"}, {"Sec_Fetch_Site": "same-site"},
    ],
)  # fmt: skip
def test_foreign_names_and_foreign_pages_change_nothing(server: Server, headers: dict[str, str | None]) -> None:
    given = {name: value and value.format(port=server.port) for name, value in headers.items()}
    assert ask(server, "/", "{}", "", **given)[0] == 403


def test_a_foreign_page_cannot_take_a_script_or_a_state_in(server: Server) -> None:
    assert ask(server, "/", Sec_Fetch_Site="cross-site", Sec_Fetch_Mode="no-cors")[0] == 403
    assert ask(server, "/", Sec_Fetch_Site="same-site", Sec_Fetch_Mode="cors")[0] == 403
    assert ask(server, "/", Sec_Fetch_Site="same-origin", Sec_Fetch_Mode="cors")[0] == 200
    status, _, headers = ask(server, "/")
    assert status == 200
    assert headers["x-frame-options"] == "DENY"
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert not any(name.lower() in ("server", "access-control-allow-origin") for name in headers)


@pytest.mark.parametrize("host", ["[::1", "127.0.0.1:x", "127.0.0.1:99999999"])
def test_a_name_that_cannot_be_read_is_answered(server: Server, host: str) -> None:
    assert ask(server, "/", Host=host)[0] in (400, 403)


@pytest.mark.parametrize("verb", ["PUT", "DELETE", "OPTIONS", "TRACE", "HEAD", "PATCH"])
def test_only_two_verbs_are_answered(server: Server, verb: str) -> None:
    assert ask(server, "/", verb=verb)[0] == 405


def test_two_rooms_stand_behind_one_door(server: Server) -> None:
    assert json.loads(ask(server, "/ledger/day/3")[1]) == {"path": "/day/3", "bytes": 0}
    assert json.loads(ask(server, "/ledgers")[1])["path"] == "/ledgers"
    assert json.loads(ask(server, "/ledger/", "abc")[1]) == {"path": "/", "bytes": 3}
    assert ask(server, "/ledger")[2]["location"] == "/ledger/"


def test_a_room_whose_threads_are_taken_refuses_and_leaves_the_others_theirs(server: Server) -> None:
    GO_ON.clear()

    def until_served() -> None:
        # A thread may be taken by the question whether all are.
        while ask(server, "/ledger/slow")[0] == 503:
            time.sleep(0.01)

    slow = [threading.Thread(target=until_served) for _ in range(2)]
    for each in slow:
        each.start()
    until = time.monotonic() + 120.0
    while ask(server, "/ledger/quick")[0] != 503 and time.monotonic() < until:
        time.sleep(0.02)
    status, said, _ = ask(server, "/ledger/quick")
    assert (status, b"busy" in said) == (503, True)
    assert ask(server, "/quick")[0] == 200
    GO_ON.set()
    for each in slow:
        each.join(120.0)
    assert ask(server, "/ledger/quick")[0] == 200


def test_a_body_too_large_unmeasured_or_late_is_refused(server: Server) -> None:
    assert ask(server, "/", "x" * 1000)[0] == 200
    assert ask(server, "/", "x" * 1001)[0] == 413
    head = f"POST / HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nX-House: 1\r\n"
    head += f"Cookie: house-{server.port}={server.cookie}\r\n"
    for length, status in (
        ("", b"411"), ("Content-Length: 9" + 11 * "9", b"413"), ("Content-Length: -1", b"400"),
        ("Content-Length: 3\r\nContent-Length: 5", b"400"), ("Transfer-Encoding: chunked", b"411"),
        ("Content-Length: 2\r\nTransfer-Encoding: chunked", b"400"), ("Content-Length: ٣", b"400"),
        ("Content-Length: 50", b"408"),
    ):  # fmt: skip
        said = raw(server, f"{head}{length}{chr(13) + chr(10) if length else ''}\r\n{{".encode())
        assert said.split(b" ", 2)[1] == status, length


def raw(server: Server, sent: bytes) -> bytes:
    """Return all that comes back on one connection until the other side closes it."""
    with socket.create_connection(("127.0.0.1", server.port), timeout=120.0) as line:
        line.sendall(sent)
        heard = bytearray()
        while part := line.recv(65536):
            heard += part
            if b"\r\n\r\n" in heard:
                break
        return bytes(heard)


def test_a_head_that_never_ends_is_closed_and_a_huge_one_refused(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server_lines, "_SECONDS_FOR_HEAD", 0.3)
    for sent in (b"", b"GET / HT", b"GET / HTTP/1.1\r\nHost: x\r\n"):
        assert raw(server, sent) == b""
    assert raw(server, b"GET / HTTP/1.1\r\nX: " + b"y" * 40_000).split(b" ", 2)[1] in (b"400", b"431")
    # One that has been answered, and then begins a second head.
    whole = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n\r\n".encode()
    with socket.create_connection(("127.0.0.1", server.port), timeout=120.0) as line:
        line.sendall(whole)
        heard = b""
        while not heard.endswith(b"}"):
            heard += line.recv(65536)
        assert heard.split(b" ", 2)[1] == b"403"
        line.sendall(b"GET")
        assert line.recv(65536) == b""


def test_a_body_that_is_longer_than_announced_is_read_no_further_than_the_limit() -> None:
    """What the server above hands on is counted, whatever the head has said of it."""
    taken: list[int] = []

    async def more() -> dict[str, Any]:
        taken.append(400)
        return {"type": "http.request", "body": b"x" * 400, "more_body": len(taken) < 9}

    heard: list[Any] = []

    async def sent(message: Any) -> None:
        heard.append(message)

    scope = {"type": "http", "method": "POST", "path": "/", "query_string": b"", "headers": [(b"content-length", b"2")]}
    asyncio.run(Room(_answer, largest_body=1000)(scope, more, sent))
    assert heard[0]["status"] == 413
    assert (b"connection", b"close") in heard[0]["headers"]
    assert sum(taken) == 1200


def test_of_a_flood_of_pieces_next_to_nothing_is_taken(server: Server) -> None:
    head = (
        f"POST / HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nX-House: 1\r\nContent-Length: 2\r\n"
        f"Cookie: house-{server.port}={server.cookie}\r\nTransfer-Encoding: chunked\r\n\r\n"
    )
    piece = b"F4240\r\n" + b" " * 1_000_000 + b"\r\n"
    with socket.create_connection(("127.0.0.1", server.port), timeout=120.0) as line:
        line.sendall(head.encode())
        # Far more than what both ends' buffers hold.
        with pytest.raises(ConnectionError):
            line.sendall(60 * piece)


def test_idle_lines_of_strangers_shut_no_page_out_and_the_longest_held_goes(server: Server) -> None:
    lines = [socket.create_connection(("127.0.0.1", server.port), timeout=120.0) for _ in range(130)]
    assert ask(server, "/")[0] == 200
    assert gone(lines[0])
    assert not gone(lines[-1])
    for line in lines:
        line.close()


def gone(line: socket.socket) -> bool:
    """Return whether the other side has closed a line; one that says nothing for a moment has not."""
    line.settimeout(0.3)
    try:
        return line.recv(1) == b""
    except ConnectionError:
        return True
    except TimeoutError:
        return False


def test_lines_of_pages_give_way_when_idle_and_the_last_is_told_so_in_the_house_s_words(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server_lines, "KNOWN", 2)
    kept = [http.client.HTTPConnection("127.0.0.1", server.port, timeout=120) for _ in range(3)]
    own = {"Host": f"127.0.0.1:{server.port}", "Cookie": f"house-{server.port}={server.cookie}"}
    for each in kept:
        each.request("GET", "/", headers=own)
        assert each.getresponse().read()
    held = [each.sock for each in kept]
    assert [gone(line) for line in held if line is not None] == [True, False, False]
    GO_ON.clear()
    for each in kept[1:]:
        each.request("GET", "/slow", headers=own)
    until, status, said = time.monotonic() + 120.0, 200, b""
    while status != 503 and time.monotonic() < until:
        status, said, _ = ask(server, "/")
    assert (status, json.loads(said)) == (503, {"wrong": "busy with other pages: try again in a moment"})
    # A stranger is told that he is one, full or not.
    assert ask(server, "/", Cookie=None)[0] == 403
    GO_ON.set()
    for each in kept[1:]:
        assert each.getresponse().status == 200
        each.close()
    kept[0].close()


def test_nothing_that_a_stranger_sends_is_written_on_the_terminal(
    server: Server, capfd: pytest.CaptureFixture[str], caplog: pytest.LogCaptureFixture
) -> None:
    name = f"Host: 127.0.0.1:{server.port}\r\n"
    broken = f"POST / HTTP/1.1\r\n{name}Transfer-Encoding: chunked\r\n\r\n"
    for sent, status in (
        (b"\x16\x03\x01\x02\x00\x01\r\n\r\n", b"400"),
        (f"GET / HTTP/1.1\r\n{name}Upgrade: websocket\r\nConnection: Upgrade\r\n\r\n".encode(), b"403"),
        (broken.encode() + b"zz\r\n", b"4"),
    ):
        said = raw(server, sent)
        assert said.split(b" ", 2)[1].startswith(status)
        assert b"uvicorn" not in said
    assert b'{"wrong": "this is no request that can be read"}' in raw(server, b"\x16\r\n\r\n")
    # Answered, and then broken in what is left of it.
    with socket.create_connection(("127.0.0.1", server.port), timeout=120.0) as line:
        line.sendall(broken.encode())
        assert line.recv(65536)
        line.sendall(b"zz\r\n")
        while line.recv(65536):
            pass
    assert capfd.readouterr() == ("", "")
    # What a log is told reaches a terminal too where nobody else takes it.
    assert caplog.messages == []


@pytest.mark.parametrize("given", ["1_0", "٣", "+1", " 1", "1 ", "", "1.0", "-", "9" * 5000, True, None, 1.0, 1.5, [1]])
def test_only_plain_digits_are_a_whole_number(given: Any) -> None:
    with pytest.raises(MalformedError, match=r"^request: must be a whole number"):
        whole_number(given)


def test_plain_digits_are_a_whole_number() -> None:
    assert [whole_number(given) for given in ("0", "17", "-1", 17)] == [0, 17, -1, 17]


def test_a_giant_number_is_refused_in_the_house_s_words() -> None:
    for digits in (21, 5000, 100_000):
        with pytest.raises(MalformedError) as told:
            Asked("POST", "/", {}, b'{"seed": ' + b"9" * digits + b"}").values()
        assert str(told.value) == "request: holds a number of more than 20 digits"
    assert Asked("POST", "/", {}, b'{"seed": 9223372036854775807}').values() == {"seed": 2**63 - 1}


def test_work_that_takes_too_long_is_ended_and_others_work_on() -> None:
    own = Hands(count=2, seconds=3.0)
    own.work(sleep, 0.0)
    said: list[str] = []

    def overlong() -> None:
        try:
            own.work(spin, 60.0)
        except CommissionError as error:
            said.append(str(error))

    stuck = threading.Thread(target=overlong)
    stuck.start()
    assert own.work(sleep, 0.0) == "woken"
    assert stuck.is_alive()
    stuck.join(120.0)
    assert said == ["this: takes more than 3 s: ask for less"]
    assert own.work(sleep, 0.0) == "woken"
    own.put_away()


def test_work_that_takes_too_much_memory_is_refused_and_the_next_is_done() -> None:
    hands = Hands(count=1, gigabytes=2.0)
    with pytest.raises(ArmatureError, match=r"^this: needs more memory|^this: needs more than"):
        hands.work(hoard, 6.0)
    assert hands.work(hoard, 0.1) == 100_000_000
    hands.put_away()


NAMES = "[leaves]\ncount = 12\nnames = '{}'\n"


@pytest.mark.parametrize("where", ["absolute", "up", "link", "names.csv", "", ".", "..", "c:names.csv", "~/names.csv"])
def test_no_file_is_opened_that_only_a_page_has_named(easel: Easel, tmp_path: Path, where: str) -> None:
    """A private list of another user: as the names of a commission that is handed over, in every spelling."""
    secret = tmp_path / "secret.csv"
    secret.write_text("name\nPin 4711\n")
    work = begun(easel)
    own = easel.studio.session(work).handed_over
    name = {"absolute": str(secret), "up": f"../../../{secret.name}", "link": "link.csv"}.get(where, where)
    status, said, _ = ask(easel.server, f"/api/{work}/open", json.dumps({"commission": SMALL + NAMES.format(name)}))
    assert status == 422
    assert b"4711" not in said
    assert len(said) < 300
    handed = {"commission": SMALL + NAMES.format("a.csv"), "files": {name: base64.b64encode(b"name\nIda\n").decode()}}
    if where not in ("link", "names.csv"):
        assert ask(easel.server, f"/api/{work}/open", json.dumps(handed))[0] in (400, 422)
    assert not own.exists() or {path.name for path in own.iterdir()} <= {"link.csv", "names.csv"}
    tree = json.loads(ask(easel.server, f"/api/{work}/state")[1])["tree"]
    told = ask(easel.server, f"/api/{work}/member?tree={tree}&part=leaves&row=0")[1]
    assert b"4711" not in told


def test_a_file_that_the_browser_hands_over_is_read(easel: Easel) -> None:
    work = begun(easel)
    names = base64.b64encode(b"name\nIda Rowan\n").decode()
    asked = json.dumps({"commission": SMALL + NAMES.format("n.csv"), "files": {"n.csv": names}})
    status, said, _ = ask(easel.server, f"/api/{work}/open", asked)
    assert status == 200, said
    tree, rows = json.loads(said)["tree"], range(12)
    told = [ask(easel.server, f"/api/{work}/member?tree={tree}&part=leaves&row={row}")[1] for row in rows]
    assert sum(b"Ida Rowan" in each for each in told) == 1
    back = json.loads(ask(easel.server, f"/api/{work}/undo", "{}")[1])
    assert back["tree"] != tree


@pytest.mark.parametrize(
    "files",
    [
        {"a": 3},
        {"a": "%%"},
        {"a/b": ""},
        {".x": ""},
        {str(k): "" for k in range(41)},
        [1],
        {"CON": ""},
        {"nul.csv": ""},
        {"x.csv ": ""},
        {"x\u202e.csv": ""},
        {"\ud800.csv": ""},
        {"x.": ""},
        {"é" * 110: ""},
    ],
)
def test_files_that_cannot_be_what_they_say_are_refused(easel: Easel, files: Any) -> None:
    asked = json.dumps({"commission": SMALL, "files": files})
    assert ask(easel.server, f"/api/{begun(easel)}/open", asked)[0] == 400


def test_works_begun_without_end_take_the_longest_unasked_ones_place(tmp_path: Path) -> None:
    studio = Studio(small()[0], Works(_named, _judged, _settle, _totals, _make), tmp_path, CREW)
    first, second = studio.new(), studio.new()
    second.moved({"seed": 5}, keep=True)
    for _ in range(MOST_WORKS):
        studio.new()
    assert len(studio.sessions) == MOST_WORKS
    with pytest.raises(CommissionError, match="no such work"):
        studio.session(first.name)
    # What was kept of a work comes back from its file.
    assert second.name not in studio.sessions
    assert studio.session(second.name).at == 1
    assert len(studio.sessions) == MOST_WORKS


def test_a_small_upload_that_asks_for_a_forest_is_refused_in_a_line(easel: Easel) -> None:
    work = begun(easel)
    for text in (SMALL.replace("twigs = 40", "twigs = 900000"), SMALL + "[leaves]\ncount = 5000000\n"):
        status, said, _ = ask(easel.server, f"/api/{work}/open", json.dumps({"commission": text}))
        assert status == 422
        assert b"the easel shows at most" in said


def test_one_page_cannot_take_every_thread(easel: Easel) -> None:
    work, other = begun(easel), begun(easel)
    session = easel.studio.session(work)
    with session.lock:

        def wait() -> None:
            while b"at once" in ask(easel.server, f"/api/{work}/undo", "{}")[1]:
                time.sleep(0.02)

        waiting = [threading.Thread(target=wait) for _ in range(8)]
        for each in waiting:
            each.start()
        until = time.monotonic() + 120.0
        while ask(easel.server, f"/api/{work}/progress")[0] != 422 and time.monotonic() < until:
            time.sleep(0.02)
        assert b"at once" in ask(easel.server, f"/api/{work}/progress")[1]
        assert ask(easel.server, f"/api/{other}/progress")[0] == 200
    for each in waiting:
        each.join(120.0)


def test_a_page_hears_nothing_of_another_page(easel: Easel) -> None:
    works = [begun(easel), begun(easel)]
    for work in works:
        asked = json.dumps({"values": {"seed": 5}, "keep": True})
        assert ask(easel.server, f"/api/{work}/move", asked)[0] == 200
    assert json.loads(ask(easel.server, "/api/earlier")[1])["sessions"] == []
    assert len(set(works)) == 2
    assert ask(easel.server, f"/job/{works[0]}/../{works[1]}/x")[0] in (403, 404)


def test_off_loopback_the_same_token_is_asked_for_and_names_of_this_machine_serve() -> None:
    started = server_listening({"/": server_rooms.room(_answer)}, "0.0.0.0", 0)
    threading.Thread(target=started.run, daemon=True).start()
    own = socket.gethostname()
    assert started.token in started.address
    assert ask(started, "/", Cookie=None)[0] == 403
    for host, status in ((own, 200), (f"{own}.local", 200), ("192.0.2.7", 200), ("evil.example", 403)):
        assert ask(started, "/", Host=f"{host}:{started.port}")[0] == status, host
    started.stop()
