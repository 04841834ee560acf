"""A server and an easel for tests, and what is sent to them."""

from __future__ import annotations

import http.client
import json
import socket
import threading

from armature.commission import Commission
from armature.grow import grow
from armature.leaves import plan_leaves
from armature.look import judged
from armature.pictures.easel import Works
from armature.pictures.easel.server import Easel
from armature.server import Answer, Asked, Server
from armature.tree import Tree
from tests.pictures.asking import make, settle, totals

GO_ON = threading.Event()


def answered(asked: Asked) -> Answer:
    if asked.path == "/slow":
        GO_ON.wait(120.0)
    return Answer.of({"path": asked.path, "bytes": len(asked.body)})


def named(commission: Commission) -> Tree:
    return plan_leaves(commission, grow(commission), plates=False).tree


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


def gone(line: socket.socket) -> bool:
    """Return whether the other side has closed a line; one that says nothing for a moment has not."""
    line.settimeout(0.3)
    try:
        return line.recv(1) == b""
    except ConnectionError:
        return True
    except TimeoutError:
        return False


def begun(easel: Easel) -> str:
    return str(json.loads(ask(easel.server, "/api/new", "{}")[1])["session"])


def works() -> Works:
    return Works(named, judged, settle, totals, make)
