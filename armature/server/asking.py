"""A request to a room of the house, and a reply."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from typing import Any, NoReturn

from armature.edge import CommissionError

_LONGEST = 20
_DIGITS = re.compile(rf"-?[0-9]{{1,{_LONGEST}}}")


class MalformedError(CommissionError):
    """A request that no page of the house sends."""


@dataclass(frozen=True)
class Asked:
    """One request."""

    verb: str
    path: str
    query: dict[str, str]
    body: bytes

    def values(self) -> dict[str, Any]:
        """Return the request's JSON object."""
        try:
            told = json.loads(self.body or b"{}", parse_constant=_refuse, parse_int=_short)
        except MalformedError:
            raise
        except (ValueError, RecursionError):
            raise MalformedError("request", "is not JSON") from None
        if not isinstance(told, dict):
            raise MalformedError("request", "must be an object")
        return told


@dataclass(frozen=True)
class Answer:
    """One reply."""

    status: int
    kind: str
    body: bytes
    headers: dict[str, str] = field(default_factory=dict)

    @staticmethod
    def of(value: Any) -> Answer:
        """Return a reply in JSON."""
        return Answer(200, "application/json", json.dumps(value, separators=(",", ":"), allow_nan=False).encode())

    @staticmethod
    def wrong(status: int, message: str) -> Answer:
        """Return a refusal with one line that the page shows."""
        return Answer(status, "application/json", json.dumps({"wrong": message}).encode())


def whole_number(given: Any) -> int:
    """Return a whole number of a request, in plain digits; raises MalformedError for what is none."""
    if isinstance(given, int) and not isinstance(given, bool):
        return given
    if isinstance(given, str) and _DIGITS.fullmatch(given):
        return int(given)
    raise MalformedError("request", "must be a whole number", given)


def _short(digits: str) -> int:
    if len(digits) > _LONGEST:
        raise MalformedError("request", f"holds a number of more than {_LONGEST} digits")
    return int(digits)


def _refuse(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number")
