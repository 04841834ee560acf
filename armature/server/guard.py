"""Who may ask: the right name of this machine, a page of our own, and the token that was printed with the address."""

from __future__ import annotations

import hmac
import ipaddress
import re
import socket
from urllib.parse import parse_qs, urlsplit

from starlette.datastructures import Headers
from starlette.requests import cookie_parser
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from armature.server.lines import Line

# Pages of the house send it with every change; a form on a foreign page cannot.
PAGE_HEADER = "x-house"
_HEADERS = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cache-control", b"no-store"),
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
)


_NAMED = re.compile(r"(\[[0-9A-Fa-f:.]+\]|[\w.-]+)(?::([0-9]+))?", re.ASCII)


class Guard:
    """The door in front of all rooms: lets in who holds the token, on loopback too.

    token: printed with the address; a browser that comes with it is given `cookie`, which opens from then on.
    """

    def __init__(self, app: ASGIApp, token: str, cookie: str, host: str, port: int) -> None:
        self.app, self.token, self.cookie = app, token, cookie
        self.host, self.port = host, port
        # One cookie for each port: two servers on one machine must not put out each other's.
        self.cookie_name = f"house-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a refusal, or let the rooms answer."""
        if scope["type"] != "http":
            return
        try:
            reply = self._reply(scope)
        except ValueError:
            reply = _refusal(400, "the address, its host or its origin cannot be read")
        if reply is None and not _has_place(scope):
            reply = _refusal(503, "busy with other pages: try again in a moment")
            reply.headers["Connection"] = "close"
        await (reply or self.app)(scope, receive, _with_headers(send))

    def _reply(self, scope: Scope) -> Response | None:
        """Return what is answered at the door, nothing where the request may go in."""
        verb, headers = scope["method"], Headers(scope=scope)
        if verb not in ("GET", "POST"):
            return _refusal(405, "only GET and POST are answered")
        if not self._is_named_rightly(headers.get("host", "")):
            return _refusal(403, "answers only on this machine's own address and name")
        foreign = self._is_foreign(verb, headers)
        if foreign:
            return _refusal(403, foreign)
        query = parse_qs(scope["query_string"].decode("latin-1"), max_num_fields=20)
        token = query.get("token", [""])[-1]
        if token and verb == "GET" and _same(token, self.token):
            moved = RedirectResponse("/" + scope["path"].lstrip("/\\"), 303)
            moved.set_cookie(self.cookie_name, self.cookie, httponly=True, samesite="strict")
            return moved
        if not _same(cookie_parser(headers.get("cookie", "")).get(self.cookie_name, ""), self.cookie):
            return _refusal(403, "open the address with the token that was printed where the program was started")
        return None

    def _is_named_rightly(self, named: str) -> bool:
        """Whether a Host header names this machine: a foreign name that leads here may belong to a foreign page."""
        host = urlsplit(f"//{named}").hostname or ""
        # A name and a port, and nothing else that an address may hold.
        plain = _NAMED.fullmatch(named)
        if plain is None or (plain[2] or "80") != str(self.port):
            return False
        if is_loopback(self.host):
            return is_loopback(host)
        try:
            ipaddress.ip_address(host)
        except ValueError:
            own = socket.gethostname().lower()
            return host in ("localhost", self.host.lower(), own) or host.startswith(f"{own}.")
        return True

    def _is_foreign(self, verb: str, headers: Headers) -> str:
        """Return why a request is not one of our own pages', nothing where it is."""
        origin, site = headers.get("origin"), headers.get("sec-fetch-site", "same-origin")
        if origin is not None and origin != f"http://{headers.get('host', '')}":
            urlsplit(origin)
            return "asked from a foreign page"
        if verb == "POST":
            if site != "same-origin":
                return "asked from a foreign page"
            return "" if headers.get(PAGE_HEADER) == "1" else "not asked by a page of this house"
        going = headers.get("sec-fetch-mode", "navigate") == "navigate"
        return "" if site in ("same-origin", "none") or going else "asked from a foreign page"


def is_loopback(host: str) -> bool:
    """Return whether a host name or address is this machine's own alone."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _same(given: str, wanted: str) -> bool:
    # Compared in constant time: a token must not be guessed letter by letter.
    return hmac.compare_digest(given.encode(), wanted.encode())


def _has_place(scope: Scope) -> bool:
    """Whether the line of a request that may go in has its place; a request that came by none always has."""
    line = scope.get("state", {}).get("line")
    return not isinstance(line, Line) or line.let_in()


def _refusal(status: int, says: str) -> Response:
    return JSONResponse({"wrong": says}, status)


def _with_headers(send: Send) -> Send:
    async def sent(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message["headers"], *_HEADERS]
        await send(message)

    return sent
