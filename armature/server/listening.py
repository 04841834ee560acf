"""The server itself: one address, one port, all rooms, and an end to lines that are only held open."""

from __future__ import annotations

import logging
import secrets
import socket
import sys
from collections.abc import Mapping

import uvicorn
from starlette.types import ASGIApp

from armature.edge import CommissionError
from armature.server.lines import KNOWN, STRANGERS, Line
from armature.server.rooms import house

_LARGEST_HEAD = 16_384


class Server:
    """Rooms served on a bound socket; `address` opens them in a browser and holds the token."""

    def __init__(self, rooms: Mapping[str, ASGIApp], bound: socket.socket, host: str) -> None:
        self.token = secrets.token_urlsafe(24)
        # What the browser keeps is not what stands in the printed address.
        self.cookie = secrets.token_urlsafe(24)
        self.host, self.port = host, int(bound.getsockname()[1])
        self._bound = bound
        app = house(rooms, self.token, self.cookie, host, self.port)
        config = uvicorn.Config(
            app,
            http=Line,
            ws="none",
            loop="asyncio",
            lifespan="off",
            log_config=None,
            # A stranger must not write on the terminal of the house.
            log_level=logging.CRITICAL + 1,
            access_log=False,
            server_header=False,
            proxy_headers=False,
            timeout_keep_alive=30,
            timeout_graceful_shutdown=2,
            h11_max_incomplete_event_size=_LARGEST_HEAD,
        )
        self._server = uvicorn.Server(config)

    @property
    def address(self) -> str:
        """The address to open in a browser."""
        host = self._bound.getsockname()[0]
        if host in ("0.0.0.0", "::"):
            host = socket.gethostname()
        name = f"[{host}]" if ":" in host else host
        return f"http://{name}:{self.port}/?token={self.token}"

    def run(self) -> None:
        """Serve until stopped; from the main thread an interrupt stops it, and is raised again."""
        try:
            self._server.run(sockets=[self._bound])
        finally:
            self._bound.close()

    def stop(self) -> None:
        """End serving, from any thread."""
        self._server.should_exit = True


def listening(rooms: Mapping[str, ASGIApp], host: str, port: int) -> Server:
    """Return a server of rooms by their paths, bound to its port; raises CommissionError where it cannot be had."""
    if not 0 <= port <= 65535:
        raise CommissionError("port", "must be from 0 to 65535", port)
    try:
        family, kind, _, _, place = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)[0]
        bound = socket.socket(family, kind)
        try:
            # On Windows the option of the same name would let two programs share a port.
            option = "SO_EXCLUSIVEADDRUSE" if sys.platform == "win32" else "SO_REUSEADDR"
            bound.setsockopt(socket.SOL_SOCKET, getattr(socket, option), 1)
            bound.bind(place)
            bound.listen(STRANGERS + KNOWN)
        except BaseException:
            bound.close()
            raise
    except (OSError, UnicodeError) as error:
        reason = getattr(error, "strerror", None) or error
        raise CommissionError("port", f"cannot listen on {host}: {reason}", port) from None
    return Server(rooms, bound, host)
