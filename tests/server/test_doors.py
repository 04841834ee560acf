"""Who may ask: tokens, names, foreign pages, verbs, and one page beside another."""

from __future__ import annotations

import json
import socket
import threading

import pytest

from armature.pictures.easel.server import Easel
from armature.server import Server
from armature.server import listening as server_listening
from armature.server import rooms as server_rooms
from tests.server.asking import answered, ask, begun


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


def test_a_page_hears_nothing_of_another_page(easel: Easel) -> None:
    works = [begun(easel), begun(easel)]
    for work in works:
        asked = json.dumps({"values": {"seed": 5}, "keep": True})
        assert ask(easel.server, f"/api/{work}/move", asked)[0] == 200
    assert json.loads(ask(easel.server, "/api/earlier")[1])["sessions"] == []
    assert len(set(works)) == 2
    assert ask(easel.server, f"/job/{works[0]}/../{works[1]}/x")[0] in (403, 404)


def test_off_loopback_the_same_token_is_asked_for_and_names_of_this_machine_serve() -> None:
    started = server_listening({"/": server_rooms.room(answered)}, "0.0.0.0", 0)
    threading.Thread(target=started.run, daemon=True).start()
    own = socket.gethostname()
    assert started.token in started.address
    assert ask(started, "/", Cookie=None)[0] == 403
    for host, status in ((own, 200), (f"{own}.local", 200), ("192.0.2.7", 200), ("evil.example", 403)):
        assert ask(started, "/", Host=f"{host}:{started.port}")[0] == status, host
    started.stop()
