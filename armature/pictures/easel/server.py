"""The easel's own small web server: the standard library's, on loopback unless told otherwise."""

from __future__ import annotations

import hmac
import ipaddress
import secrets
import sys
from collections.abc import Callable
from http.cookies import CookieError, SimpleCookie
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

from armature.commission import Commission
from armature.errors import ArmatureError, CommissionError
from armature.job import open_folder
from armature.pictures.easel.answers import answer
from armature.pictures.easel.asking import Answer, Asked, MalformedError
from armature.pictures.easel.studio import Studio
from armature.pictures.easel.works import Works

_COOKIE = "easel"
_LARGEST = 6_000_000
_HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cache-Control": "no-store",
    "X-Frame-Options": "DENY",
}


def serve(
    commission: Commission,
    works: Works,
    jobs: Path,
    host: str = "127.0.0.1",
    port: int = 8437,
    ready: Callable[[str, ThreadingHTTPServer], None] = lambda _address, _server: None,
) -> None:
    """Serve the easel until it is stopped; pages start from the commission, and job folders go below `jobs`.

    ready: hears the address to open once the server listens. Off loopback the address carries a token that every page
    needs.
    """
    server = listening(commission, works, jobs, host, port)
    try:
        ready(server.address, server)
        server.serve_forever(poll_interval=0.2)
    finally:
        server.studio.put_away()
        server.server_close()


class Easel(ThreadingHTTPServer):
    """The server with its studio and the token that opens it, empty on loopback."""

    daemon_threads = True

    def __init__(self, place: tuple[str, int], studio: Studio, token: str) -> None:
        self.studio, self.token = studio, token
        super().__init__(place, _Handler)

    def handle_error(self, request: Any, client_address: Any) -> None:
        """Say nothing of a page that went away in the middle; whatever else went wrong is shown."""
        if not isinstance(sys.exception(), ConnectionError | TimeoutError):
            super().handle_error(request, client_address)

    @property
    def address(self) -> str:
        """The address to open in a browser."""
        host, port = self.server_address[:2]
        name = f"[{host!s}]" if ":" in str(host) else str(host)
        return f"http://{name}:{port}/" + (f"?token={self.token}" if self.token else "")


def listening(commission: Commission, works: Works, jobs: Path, host: str, port: int) -> Easel:
    """Return the server, bound to its port; raises where the port, the host or the folder of jobs cannot be had."""
    for folder in (jobs, jobs / ".easel"):
        open_folder(folder)
    if not 0 <= port <= 65535:
        raise CommissionError("port", "must be from 0 to 65535", port)
    token = "" if _is_loopback(host) else secrets.token_urlsafe(24)
    try:
        return Easel((host, port), Studio(commission, works, jobs), token)
    except OSError as error:
        raise CommissionError("port", f"cannot listen on {host}: {error.strerror or error}", port) from None


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


class _Handler(BaseHTTPRequestHandler):
    server: Easel
    protocol_version = "HTTP/1.1"
    # Python and version are nobody's business on a network.
    server_version, sys_version = "easel", ""
    # A small answer after its head must not wait for the other side's acknowledgement.
    wbufsize = 65536
    disable_nagle_algorithm = True
    timeout = 60.0

    def do_GET(self) -> None:
        """Answer a page, a file or a state."""
        self._answer("GET", b"")

    def do_POST(self) -> None:
        """Answer a change."""
        try:
            length = int(self.headers.get("Content-Length", ""))
        except ValueError:
            self._send(Answer.wrong(411, "the length is missing"))
            return
        if not 0 <= length <= _LARGEST:
            self.close_connection = True
            self._send(Answer.wrong(413, "too much at once"))
            return
        self._answer("POST", self.rfile.read(length))

    def log_message(self, *_: object) -> None:
        """Say nothing: the terminal belongs to the artist."""

    def _answer(self, verb: str, body: bytes) -> None:
        try:
            split = urlsplit(self.path)
            query = {key: values[-1] for key, values in parse_qs(split.query).items()}
            refused = self._refused(verb, query)
        except ValueError:
            refused = Answer.wrong(400, "the address, its host or its origin cannot be read")
        if refused is not None:
            self._send(refused)
            return
        if self.server.token and "token" in query and verb == "GET" and split.path == "/":
            self._send(Answer.moved("/", f"{_COOKIE}={self.server.token}; HttpOnly; SameSite=Strict; Path=/"))
            return
        asked = Asked(verb, split.path, query, body, self.headers.get("Accept-Encoding", ""))
        try:
            found = answer(self.server.studio, asked)
        except MalformedError as error:
            found = Answer.wrong(400, str(error))
        except ArmatureError as error:
            found = Answer.wrong(422, str(error))
        except Exception as error:  # one broken request must not end the easel
            found = Answer.wrong(500, f"{type(error).__name__}: {error}")
        self._send(found)

    def _refused(self, verb: str, query: dict[str, str]) -> Answer | None:
        """Return why a request is turned away: a foreign page, a foreign name of this machine, or no token."""
        named = self.headers.get("Host", "")
        host = urlsplit(f"//{named}").hostname or ""
        if not self.server.token and not _is_loopback(host):
            return Answer.wrong(403, "the easel answers on this machine's own address only")
        origin = self.headers.get("Origin")
        if origin is not None and verb == "POST" and urlsplit(origin).netloc != named:
            return Answer.wrong(403, "asked from a foreign page")
        if verb == "POST" and self.headers.get("X-Easel") != "1":
            return Answer.wrong(403, "not asked by the easel's page")
        if self.server.token and not self._knows_token(query):
            return Answer.wrong(403, "open the address with the token that the easel printed")
        return None

    def _knows_token(self, query: dict[str, str]) -> bool:
        given = query.get("token", "")
        try:
            cookie = SimpleCookie(self.headers.get("Cookie", "")).get(_COOKIE)
        except CookieError:
            cookie = None
        # Compared in constant time: a token must not be guessed letter by letter.
        return any(
            hmac.compare_digest(each.encode(), self.server.token.encode())
            for each in (given, cookie.value if cookie else "")
        )

    def _send(self, found: Answer) -> None:
        try:
            self.send_response(found.status)
            for name, value in {**_HEADERS, **found.headers}.items():
                self.send_header(name, value)
            self.send_header("Content-Type", found.kind)
            self.send_header("Content-Length", str(len(found.body)))
            self.end_headers()
            self.wfile.write(found.body)
            self.wfile.flush()
        except (BrokenPipeError, ConnectionResetError):
            # A page that was closed in the middle is no fault.
            self.close_connection = True
