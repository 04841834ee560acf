"""Pieces of work that ask too much, in a module that a process takes in at once."""

from __future__ import annotations

import time


def sleep(seconds: float) -> str:
    time.sleep(seconds)
    return "woken"


def spin(seconds: float) -> None:
    """Count in calls that let no other thread of the process in."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        pow(7, 200_000)


def hoard(gigabytes: float) -> int:
    return len(b"\1" * int(gigabytes * 1e9))
