"""Lines to browsers: those that have shown the cookie and strangers have shares of their own, so that neither keeps
the other out.
"""

from __future__ import annotations

import asyncio
import json
from itertools import count
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

# Strangers: a new line is one until its request was let in. The longest held of them goes when one more comes.
STRANGERS, KNOWN = 60, 100
_SECONDS_FOR_HEAD = 5.0
_UNREADABLE = json.dumps({"wrong": "this is no request that can be read"}).encode()
_ARRIVALS = count()


class Line(H11Protocol):
    """A connection that is closed where no whole head of a request comes in time, or where it is in the way."""

    _patience: asyncio.TimerHandle | None = None
    is_known = False

    def connection_made(self, transport: Any) -> None:
        """Begin to wait for the first head; the longest held stranger makes place."""
        # What stands at the door finds the line of a request by it.
        self.app_state = {**self.app_state, "line": self}
        self._arrival = next(_ARRIVALS)
        super().connection_made(transport)
        self._wait()
        strangers = self._all(is_known=False)
        for line in strangers[:-STRANGERS]:
            line.end()

    def let_in(self) -> bool:
        """Return whether there is place for a line that has shown the cookie; an idle one that is held longest goes
        for it."""
        if not self.is_known:
            known = self._all(is_known=True)
            idle = [line for line in known if line.is_waiting()]
            if len(known) >= KNOWN and not idle:
                return False
            if len(known) >= KNOWN:
                idle[0].end()
            self.is_known = True
        return True

    def data_received(self, data: bytes) -> None:
        """Wait on where a head is not whole yet."""
        super().data_received(data)
        if not self.is_waiting():
            self._forget()
        elif self._patience is None:
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._forget()
        super().connection_lost(exc)

    def send_400_response(self, msg: str) -> None:
        """Say in the house's words that a request cannot be read; nothing where an answer has begun."""
        if self.cycle is None or not self.cycle.response_started or self.cycle.response_complete:
            head = f"HTTP/1.1 400 Bad Request\r\ncontent-type: application/json\r\ncontent-length: {len(_UNREADABLE)}"
            self.transport.write(f"{head}\r\nconnection: close\r\n\r\n".encode() + _UNREADABLE)
        self.transport.close()

    def is_waiting(self) -> bool:
        """Return whether no request is under way."""
        return self.cycle is None or bool(self.cycle.response_complete)

    def end(self) -> None:
        """Close the line at once; it counts no longer."""
        self.connections.discard(self)
        self.transport.abort()

    def _all(self, is_known: bool) -> list[Line]:
        """Return all lines of strangers or of the known, the longest held first."""
        lines = [line for line in self.connections if isinstance(line, Line) and line.is_known == is_known]
        return sorted(lines, key=lambda line: line._arrival)

    def _wait(self) -> None:
        self._patience = self.loop.call_later(_SECONDS_FOR_HEAD, self._close)

    def _forget(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
            self._patience = None

    def _close(self) -> None:
        self._patience = None
        if self.is_waiting() and not self.transport.is_closing():
            self.transport.close()
