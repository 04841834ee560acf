"""What has happened to names since they were listed: struck, wrongly struck, late, withdrawn, respelled,
moved, twins."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from armature.edge import CommissionError
from armature.leaves.naming.folding import folded
from armature.leaves.naming.grades import read_table
from armature.leaves.naming.names import NameList, cleaned, controls
from armature.leaves.naming.wishes import read_wish

KINDS = ("struck", "mistake", "late", "withdrawn", "respelled", "moved", "twins")
COLUMNS = ("event", "leaf", "name", "family", "gift", "wish", "was")


@dataclass(frozen=True)
class Event:
    """One thing that happened: what (of KINDS), the leaf's tag, the name; was: its spelling or leaf before, or for a
    mistake the grade of the cut that is spoiled."""

    what: str
    leaf: str = ""
    name: str = ""
    family: str = ""
    gift: str = ""
    wish: str = ""
    was: str = ""


def read_record(file: Path) -> tuple[Event, ...]:
    """Return the events of a record in order; raises CommissionError for a row that is none."""
    if not file.is_file():
        return ()
    events = []
    for number, row in read_table(file, COLUMNS):
        if row[0] not in KINDS:
            raise CommissionError(f"{file}: row {number}", f"event must be one of {', '.join(KINDS)}", row[0])
        events.append(Event(*row))
    return tuple(events)


def record_columns(events: Sequence[Event]) -> dict[str, np.ndarray]:
    """Return a record as columns for a CSV."""
    keys = ("what", *COLUMNS[1:])
    return {
        column: np.array([getattr(event, key) for event in events], dtype=np.str_)
        for column, key in zip(COLUMNS, keys, strict=True)
    }


def checked_name(text: str, where: str) -> str:
    """Return a name as it will be stamped; raises CommissionError for one that is empty or holds control characters."""
    name = cleaned(text)
    if not name or controls(text):
        raise CommissionError(where, "must be a name without control characters", text[:60])
    return name


def recorded(names: NameList | None, events: Sequence[Event]) -> NameList | None:
    """Return the list with what the record adds, takes off and spells anew; None where no name is left or was."""
    if not any(event.what in ("late", "withdrawn", "respelled") for event in events):
        return names
    whole = names or NameList((), (), (), "utf-8", ",", ())
    rows = [
        list(row) for row in zip(whole.texts, whole.families, whole.rows, whole.gifts, whole.wish_texts, strict=True)
    ]
    for event in events:
        if event.what == "late":
            rows.append([event.name, event.family, 0, event.gift, event.wish])
        elif event.what == "withdrawn":
            rows.pop(_row_of(rows, event.name))
        elif event.what == "respelled":
            rows[_row_of(rows, event.was)][0] = event.name
    if not rows:
        return None
    texts, families, numbers, gifts, wishes = (tuple(column) for column in zip(*rows, strict=True))
    return replace(
        whole, texts=texts, families=families, rows=numbers, gifts=gifts, wish_texts=wishes,
        wishes=tuple(read_wish(w) for w in wishes),
    )  # fmt: skip


def _row_of(rows: Sequence[Sequence[object]], name: str) -> int:
    """The last row of a name, as it is spelled or but for capitals."""
    for key in (str, folded):
        for k in range(len(rows) - 1, -1, -1):
            if key(str(rows[k][0])) == key(name):
                return k
    raise CommissionError("leaves/record.csv", "speaks of a name that is not on the list any more", name)


def struck_leaves(events: Iterable[Event]) -> dict[str, str]:
    """Return the name by tag of leaves that are struck and good."""
    struck: dict[str, str] = {}
    for event in events:
        if event.what == "struck":
            struck[event.leaf] = event.name
        elif event.what in ("mistake", "withdrawn", "respelled", "moved"):
            struck.pop(event.was if event.what == "moved" else event.leaf, None)
    return struck


def to_strike(events: Iterable[Event]) -> list[str]:
    """Return tags of leaves whose stamping has changed since the sheets were printed, not struck yet, in order."""
    changed: dict[str, None] = {}
    for event in events:
        if event.what in ("late", "mistake", "respelled", "moved"):
            changed[event.leaf] = None
        if event.what in ("struck", "withdrawn"):
            changed.pop(event.leaf, None)
        if event.what == "moved":
            changed.pop(event.was, None)
    return list(changed)


def spoiled(events: Iterable[Event]) -> Counter[tuple[int, str]]:
    """Return how many cuts of each (design, grade) blows have spoiled: `was` of a mistake is `design grade`."""
    lost: Counter[tuple[int, str]] = Counter()
    for event in events:
        design, _, grade = event.was.partition(" ")
        if event.what in ("mistake", "withdrawn") and design.isdecimal():
            lost[int(design), grade] += 1
    return lost
