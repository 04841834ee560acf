"""One room of the server, asked as the server would ask it."""

from __future__ import annotations

import asyncio
import json
from typing import Any

from armature.edge import CommissionError
from armature.server import Answer, Asked, MalformedError, Room


def asked(room: Room, body: bytes = b"", said: object = None) -> tuple[int, Any]:
    """Return status and content of what a room answers to a body; said: its length as the head tells it."""
    sent: list[dict[str, Any]] = []
    starts = range(0, max(len(body), 1), 40)
    parts = [{"type": "http.request", "body": body[at : at + 40], "more_body": at + 40 < len(body)} for at in starts]

    async def receive() -> dict[str, Any]:
        return parts.pop(0) if parts else {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        sent.append(message)

    length = str(len(body) if said is None else said).encode()
    heads = [(b"content-length", length), (b"host", b"127.0.0.1")]
    scope = {"type": "http", "method": "POST", "path": "/", "query_string": b"", "headers": heads, "root_path": ""}
    asyncio.run(room(scope, receive, send))
    text = b"".join(each.get("body", b"") for each in sent)
    return sent[0]["status"], json.loads(text)


def _counts(asked: Asked) -> Answer:
    return Answer.of(len(asked.body))


def _raises(error: Exception) -> Room:
    def answer(_asked: Asked) -> Answer:
        raise error

    return Room(answer)


def test_a_body_as_large_as_is_allowed_is_answered_and_one_letter_more_refused() -> None:
    assert asked(Room(_counts, largest_body=100), b"x" * 100) == (200, 100)
    assert asked(Room(_counts, largest_body=100), b"x" * 101)[0] == 413
    assert asked(Room(_counts, largest_body=100), b"x" * 101, said=100)[0] == 413, "what was announced binds nobody"
    assert asked(Room(_counts), b"x" * 100, said="9" * 12)[0] == 413
    assert asked(Room(_counts), b"x" * 100, said="")[0] == 411


def test_six_million_letters_are_the_most() -> None:
    assert asked(Room(_counts), b"", said=6_000_000) == (200, 0)
    assert asked(Room(_counts), b"", said=6_000_001) == (413, {"wrong": "too much at once: at most 6 MB"})


def test_a_broken_request_is_told_in_three_hundred_letters_at_most() -> None:
    status, told = asked(_raises(ValueError("y" * 500)))
    assert (status, told["wrong"]) == (500, "ValueError: " + "y" * 288)


def test_what_is_wrong_with_a_request_and_with_a_commission_are_told_apart() -> None:
    assert asked(_raises(MalformedError("request", "must be a whole number", "x")))[0] == 400
    assert asked(_raises(CommissionError("seed", "is unlucky here", 13)))[0] == 422
