"""Heads, bodies and lines without end or sense, and rooms whose threads are taken."""

from __future__ import annotations

import asyncio
import http.client
import json
import socket
import threading
import time
from typing import Any

import pytest

from armature.pictures.easel.server import Easel
from armature.server import Room, Server
from armature.server import lines as server_lines
from tests.server.asking import GO_ON, answered, ask, begun, gone, raw


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
    asyncio.run(Room(answered, largest_body=1000)(scope, more, sent))
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
