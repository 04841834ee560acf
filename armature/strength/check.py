"""One check as a row for a reader."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Check:
    """One clause at its worst place: value against limit in `unit`, their ratio, member and case, members over 1.

    aside: why it does not count for the verdict; empty where it does.
    """

    clause: str
    title: str
    value: float
    limit: float
    unit: str
    ratio: float
    member: str
    case: str
    over: tuple[str, ...]
    aside: str = ""
