"""A room of the house: a plain function from a request to a reply, run in a thread, within limits."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from anyio import CapacityLimiter, to_thread
from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import ClientDisconnect, Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.types import ASGIApp, Receive, Scope, Send

from armature.edge import ArmatureError
from armature.server.asking import Answer, Asked, MalformedError
from armature.server.guard import Guard

LARGEST_BODY = 6_000_000
SECONDS_FOR_BODY = 20.0
SECONDS_FOR_ANSWER = 600.0
_THREADS = 24

Reply = Callable[[Asked], Answer]


@dataclass(eq=False)
class Room:
    """A function that answers requests, as an application that can be mounted; its own threads, so that one room that
    is busy leaves the others theirs.

    Past the largest body, bytes, past its time, s, or with all threads taken, a request is refused in a line.
    """

    answer: Reply
    largest_body: int = LARGEST_BODY
    seconds_for_body: float = SECONDS_FOR_BODY
    threads: int = _THREADS
    _limiter: CapacityLimiter | None = field(default=None, init=False)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        request = Request(scope, receive)
        try:
            answer = await self._answered(request)
        except ClientDisconnect:
            return
        response = Response(answer.body, answer.status, answer.headers, answer.kind)
        if answer.status in (400, 411, 413, 408):
            # What is left of an unread body must not be taken for the next request.
            response.headers["Connection"] = "close"
        await response(scope, receive, send)

    async def _answered(self, request: Request) -> Answer:
        body = await self._body(request)
        if isinstance(body, Answer):
            return body
        if self._limiter is None:
            self._limiter = CapacityLimiter(self.threads)
        if self._limiter.available_tokens < 1:
            return Answer.wrong(503, "busy with other pages: try again in a moment")
        path = request.url.path.removeprefix(request.scope.get("root_path", ""))
        asked = Asked(request.method, path or "/", dict(request.query_params), body)
        try:
            async with asyncio.timeout(SECONDS_FOR_ANSWER):
                return await to_thread.run_sync(
                    _guarded, self.answer, asked, limiter=self._limiter, abandon_on_cancel=True
                )
        except TimeoutError:
            return Answer.wrong(503, "took too long and was given up")

    async def _body(self, request: Request) -> bytes | Answer:
        if request.method != "POST":
            return b""
        told = request.headers.get("content-length", "")
        if told and "transfer-encoding" in request.headers:
            return Answer.wrong(400, "the length is said in two ways")
        if not (told.isascii() and told.isdecimal()):
            return Answer.wrong(411, "the length is missing")
        if len(told) > 12 or int(told) > self.largest_body:
            return self._too_much()
        parts = bytearray()
        try:
            async with asyncio.timeout(self.seconds_for_body):
                async for part in request.stream():
                    # What was announced binds nobody.
                    if len(parts) + len(part) > self.largest_body:
                        return self._too_much()
                    parts += part
        except TimeoutError:
            return Answer.wrong(408, "what was announced did not come in time")
        return bytes(parts)

    def _too_much(self) -> Answer:
        return Answer.wrong(413, f"too much at once: at most {self.largest_body / 1e6:g} MB")


def room(answer: Reply) -> Room:
    """Return a room whose requests a function answers; it may raise ArmatureError with a line for the page."""
    return Room(answer)


def house(rooms: Mapping[str, ASGIApp], token: str, cookie: str, host: str, port: int) -> Starlette:
    """Return the application with all rooms in it, each below its path, longest path first, behind the door."""
    routes: list[BaseRoute] = []
    for path in sorted((path.rstrip("/") for path in rooms), key=lambda path: (-len(path), path)):
        if path:
            routes.append(Route(path, RedirectResponse(f"{path}/")))
        routes.append(Mount(path, app=rooms.get(path) or rooms[f"{path}/"]))
    guard = Middleware(Guard, token=token, cookie=cookie, host=host, port=port)
    return Starlette(routes=routes, middleware=[guard])


def _guarded(answer: Reply, asked: Asked) -> Answer:
    try:
        return answer(asked)
    except MalformedError as error:
        return Answer.wrong(400, str(error))
    except ArmatureError as error:
        return Answer.wrong(422, str(error))
    except Exception as error:  # one broken request must not end the house
        return Answer.wrong(500, f"{type(error).__name__}: {error}"[:300])
