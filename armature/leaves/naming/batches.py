"""Batches of names to strike, dealt to people: one letter size a batch, a set of stamps a person, days of even
length."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from armature.leaves.naming.stamping import Stamping

BATCH = 24


@dataclass(frozen=True)
class Batch:
    """A batch of leaves (rows) of one letter size and way of striking: its number, letters to strike, hours, who does
    it (from 1), on which day (from 1)."""

    number: int
    rows: tuple[int, ...]
    height: float
    method: str
    letters: int
    hours: float
    person: int
    day: int


@dataclass(frozen=True)
class Station:
    """Work that can be handed over: skill, tools, minutes a leaf (0 where counted otherwise), to whom; whether leaves
    are counted as cut or as hung."""

    name: str
    skill: str
    tools: str
    minutes: float
    hand_over: str
    counts: str = "cut"


def stations() -> tuple[Station, ...]:
    """Return the stations of leaf work in their order."""
    return tuple(Station(**row) for row in _table()["station"])


def batches(settings: Sequence[Stamping | None], tags: Sequence[str], most: int = BATCH) -> list[list[int]]:
    """Return the rows of the leaves to stamp, in batches of one letter size, struck one way, `most` leaves at most."""
    rows = [(s.height, s.method, tags[k], k) for k, s in enumerate(settings) if s is not None]
    rows.sort(key=lambda r: (-r[0], r[1], r[2]))
    heaps: list[list[int]] = []
    last: tuple[float, str] | None = None
    for height, method, _, row in rows:
        if (height, method) != last or len(heaps[-1]) == most:
            heaps.append([])
        heaps[-1].append(row)
        last = height, method
    return heaps


def dealt_batches(settings: Sequence[Stamping | None], tags: Sequence[str], people: int) -> list[Batch]:
    """Return the batches dealt to `people` who strike at the same time.

    The longest batch goes to whoever has least to do. Sets of one size: as many as people who strike it on one day.
    """
    whole = []
    for number, rows in enumerate(batches(settings, tags), 1):
        first = settings[rows[0]]
        assert first is not None
        letters, hours = _work([settings[k] for k in rows])
        whole.append((number, rows, first.height, first.method, letters, hours))
    busy = [0.0] * people
    person = {}
    for number, _, _, _, _, hours in sorted(whole, key=lambda w: (-w[5], w[0])):
        least = min(range(people), key=lambda p: (round(busy[p], 6), p))
        person[number] = least
        busy[least] += hours
    spent = [0.0] * people
    dealt = []
    for number, rows, height, method, letters, hours in whole:
        who = person[number]
        dealt.append(
            Batch(number, tuple(rows), height, method, letters, hours, who + 1, int(spent[who] // _strike()["day"]) + 1)
        )
        spent[who] += hours
    return dealt


def _work(settings: Sequence[Stamping | None]) -> tuple[int, float]:
    """Letters and hours of some leaves."""
    minutes, letters = 0.0, 0
    for setting in settings:
        if setting is None:
            continue
        count = sum(1 for line in setting.lines for sign in line if not sign.isspace())
        each = _strike()["chase"] if setting.method == "chase" else _strike()["stamp"]
        minutes += _strike()["leaf"] + count * each + (_strike()["accent"] if "accent" in setting.method else 0.0)
        letters += count
    return letters, minutes / 60.0


def _strike() -> dict[str, float]:
    return dict(_table()["strike"])


@cache
def _table() -> dict[str, Any]:
    return tomllib.loads(files("armature.data").joinpath("leaf_work.toml").read_text(encoding="utf-8"))
