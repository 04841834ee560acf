"""What the office has signed, name by name, and what has changed since."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from armature.leaves.naming.grades import read_table

COLUMNS = ("leaf", "name", "lines", "by", "on")
_BREAK = " / "


@dataclass(frozen=True)
class Signed:
    """A name as it was signed: the leaf's tag, the name, its lines as struck, by whom and on which day, as told."""

    leaf: str
    name: str
    lines: tuple[str, ...]
    by: str
    on: str


@dataclass(frozen=True)
class Change:
    """What differs from what was signed: `unsigned`, `respelled`, `moved` or `gone`; the name, its leaf, and words."""

    what: str
    name: str
    leaf: str
    words: str


def read_signed(file: Path) -> tuple[Signed, ...]:
    """Return the names that were signed; none where there is no file."""
    if not file.is_file():
        return ()
    return tuple(
        Signed(leaf, name, tuple(lines.split(_BREAK)), by, on)
        for _, (leaf, name, lines, by, on) in read_table(file, COLUMNS)
        if name
    )


def signed_rows(signed: Sequence[Signed]) -> list[tuple[str, ...]]:
    """Return signed names as rows of COLUMNS."""
    return [(s.leaf, s.name, _BREAK.join(s.lines), s.by, s.on) for s in signed]


def changes_since(signed: Sequence[Signed], now: Sequence[tuple[str, str, tuple[str, ...]]]) -> list[Change]:
    """Return what differs from what was signed; nothing where nobody has signed yet.

    now: (leaf, name, lines) of each name. A name is looked for on its own leaf, then on another with the same lines.
    """
    if not signed:
        return []
    left = list(signed)
    rest = []
    for leaf, name, lines in now:
        exact = next((s for s in left if (s.leaf, s.name, s.lines) == (leaf, name, lines)), None)
        if exact is not None:
            left.remove(exact)
        else:
            rest.append((leaf, name, lines))
    changes = []
    for leaf, name, lines in rest:
        moved = next((s for s in left if (s.name, s.lines) == (name, lines)), None)
        other = next((s for s in left if s.leaf == leaf or s.name == name), None)
        if moved is not None:
            left.remove(moved)
            changes.append(Change("moved", name, leaf, f"signed on {moved.leaf}, hangs on {leaf}"))
        elif other is not None:
            left.remove(other)
            was, now_words = _BREAK.join(other.lines), _BREAK.join(lines)
            changes.append(Change("respelled", name, leaf, f"signed as {was} on {other.leaf}, now {now_words}"))
        else:
            changes.append(Change("unsigned", name, leaf, "not signed"))
    changes += [Change("gone", s.name, s.leaf, f"signed on {s.leaf}, hangs no more") for s in left]
    return changes
