"""What people measured on steel that exists, as the tables in a job's `measured/` folder tell it.

Size letters: K rows of a table. Lengths are mm, angles degrees; what a row leaves empty is NaN.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import numpy as np

from armature.edge import CommissionError, FileError, read_bytes
from armature.made.tables import LARGEST, Row, read_table
from armature.tree import Floats

OFFSETS, TAPES, POINTS, JOINTS = "offsets.csv", "tapes.csv", "points.csv", "joints.csv"
TWIGS, BARS = "twigs.csv", "bars.csv"
TABLES = (OFFSETS, TAPES, POINTS, JOINTS, TWIGS, BARS)
# What a tape is stretched along: the bar, START to tip, the largest rise off that line, or from one of these places.
ALONE, FROM = ("length", "chord", "rise"), ("mid", "tip")
# No folder holds more tables of one kind.
_MOST = 999
# With fewer points along it nothing is known of how a bar is bent.
_FEWEST = 3


@dataclass(frozen=True, eq=False)
class Offsets:
    """Offsets of one bar as it lies on its base line: alongs, rises, lifts (K,) mm, the tip last; diameters (K,) mm.
    where: the line of the table with its tip."""

    tag: str
    alongs: Floats
    rises: Floats
    lifts: Floats
    diameters: Floats
    where: str


@dataclass(frozen=True, eq=False)
class Line:
    """Points along one bar where it stands, START first: points (P, 3) mm on the grid, diameters (P,) mm."""

    tag: str
    points: Floats
    diameters: Floats
    where: str


@dataclass(frozen=True)
class Tape:
    """One tape: what it is stretched along or from, to which named place (none for lengths of the bar itself)."""

    tag: str
    what: str
    to: str
    distance: float
    where: str


@dataclass(frozen=True)
class Weld:
    """A joint as welded: `at` mm, where along its parent START lies; clock, lean, roll deg; NaN where as planned."""

    tag: str
    at: float
    clock: float
    lean: float
    roll: float
    where: str


@dataclass(frozen=True, eq=False)
class Measures:
    """All that was measured. points: (3,) mm of each named fixed point. felt: offsets of bars that were forged by feel
    and not by a card, under the tags of the seats that they got. lines: points along bars where they stand."""

    offsets: tuple[Offsets, ...] = ()
    tapes: tuple[Tape, ...] = ()
    points: dict[str, Floats] | None = None
    felt: tuple[Offsets, ...] = ()
    lines: tuple[Line, ...] = ()
    welds: tuple[Weld, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.offsets or self.tapes or self.welds or self.felt or self.lines)

    def tags(self) -> Iterator[tuple[str, str]]:
        """Yield the tag of everything measured with where it stands."""
        for own in (self.offsets, self.tapes, self.welds, self.felt, self.lines):
            yield from ((each.tag, each.where) for each in own)


def read_measures(folder: Path) -> Measures:
    """Return what the tables of a `measured/` folder tell; nothing where there is no folder.

    A table may go on in further files, offsets-2.csv and so on: what is measured anew there takes the place of what an
    earlier one says of the same tag. Raises FileError for a file that is no table, CommissionError naming file, line
    and column where a rule is broken.
    """
    offsets = {bar.tag: bar for path in files_of(folder, OFFSETS) for bar in offsets_in(path)}
    lines = {line.tag: line for path in files_of(folder, BARS) for line in _lines(path)}
    felt = {bar.tag: bar for path in files_of(folder, TWIGS) for bar in offsets_in(path)}
    tapes: dict[str, list[Tape]] = {}
    for path in files_of(folder, TAPES):
        fresh: dict[str, list[Tape]] = {}
        for row in _tape_rows(path):
            fresh.setdefault(row.texts["tag"], []).append(_tape(row))
        tapes |= fresh
    points = {name: place for path in files_of(folder, POINTS) for name, place in _points(path).items()}
    welds = {weld.tag: weld for path in files_of(folder, JOINTS) for weld in _welds(path)}
    every = tuple(tape for own in tapes.values() for tape in own)
    return Measures(
        offsets=tuple(offsets.values()),
        tapes=every,
        points=points,
        felt=tuple(felt.values()),
        lines=tuple(lines.values()),
        welds=tuple(welds.values()),
    )


def files_of(folder: Path, table: str) -> list[Path]:
    """Return the files of a `measured/` folder that hold one table, in the order in which they were taken in."""
    stem = Path(table).stem
    found = {}
    for path in folder.glob(f"{stem}*.csv"):
        match = re.fullmatch(rf"{stem}(?:-(\d{{1,3}}))?\.csv", path.name)
        if match:
            found[int(match[1] or 1)] = path
    return [found[number] for number in sorted(found)]


def next_file(folder: Path, table: str) -> Path:
    """Return where the next table of a kind is kept: offsets.csv, then offsets-2.csv and so on."""
    here = [path.name for path in files_of(folder, table)]
    stem = Path(table).stem
    names = [table, *(f"{stem}-{number}.csv" for number in range(2, _MOST + 1))]
    last = max((names.index(name) for name in here if name in names), default=-1)
    if last + 1 == len(names):
        raise FileError(folder, f"holds {len(names)} tables {table} already")
    return folder / names[last + 1]


def table_of(path: Path) -> str:
    """Return which table a file is, by its headings; raises CommissionError where it is none."""
    head = read_bytes(path, LARGEST, "table of measures").decode("utf-8-sig", "replace").partition("\n")[0].lower()
    names = {re.split(r"[ _(]", cell.strip())[0] for cell in re.split(r"[,;\t]", head)}
    for sign, table in (("rise", OFFSETS), ("what", TAPES), ("point", POINTS), ("child", JOINTS), ("z", BARS)):
        if sign in names:
            return table
    raise CommissionError(str(path), f"has the headings of {', '.join(TABLES)}, or it is none of them", head.strip())


def offsets_in(path: Path) -> Iterator[Offsets]:
    """Yield the bars of one table of offsets; raises as `read_measures` does."""
    rows = read_table(
        path,
        {"tag": "text", "along": "length", "rise": "length", "lift": "length", "diameter": "length"},
        ("tag", "along", "rise"),
    )
    bars: dict[str, list[Row]] = {}
    for row in rows:
        bars.setdefault(row.texts["tag"], []).append(row)
    for tag, own in bars.items():
        own.sort(key=lambda row: _told(row, "along"))
        last = own[-1]
        for before, after in pairwise(own):
            if _told(after, "along") - _told(before, "along") < 1e-6:
                raise CommissionError(f"{after.where}: along", f"stands twice for {tag}", after.texts["along"])
        if _told(own[0], "along") < 0.0:
            raise CommissionError(
                f"{own[0].where}: along", "counts from START and is not negative", own[0].texts["along"]
            )
        if len(own) < 2 or abs(_told(last, "rise")) > 1e-6 or abs(_told(last, "lift")) > 1e-6:
            rule = f"the last row of {tag} is its tip, on the base line: rise 0, lift 0"
            raise CommissionError(last.where, rule, last.texts["rise"])
        alongs, rises, lifts = (np.array([_told(row, name) for row in own]) for name in ("along", "rise", "lift"))
        thick = np.array([_told(row, "diameter", np.nan) for row in own])
        yield Offsets(tag, alongs, rises, lifts, thick, last.where)


def _lines(path: Path) -> Iterator[Line]:
    kinds = {"tag": "text", "x": "length", "y": "length", "z": "length", "diameter": "length"}
    bars: dict[str, list[Row]] = {}
    for row in read_table(path, kinds, ("tag", "x", "y", "z")):  # type: ignore[arg-type]
        bars.setdefault(row.texts["tag"], []).append(row)
    for tag, own in bars.items():
        points = np.array([[_told(row, axis) for axis in "xyz"] for row in own])
        if len(own) < _FEWEST or float(np.linalg.norm(points[-1] - points[0])) < 1.0:
            raise CommissionError(
                own[0].where, f"{tag} needs {_FEWEST} points or more, from START to its tip", len(own)
            )
        yield Line(tag, points, np.array([_told(row, "diameter", np.nan) for row in own]), own[0].where)


def _told(row: Row, name: str, blank: float = 0.0) -> float:
    value = row.figures.get(name)
    return blank if value is None else value


def _tape_rows(path: Path) -> list[Row]:
    kinds = {"tag": "text", "what": "text", "to": "text", "distance": "length"}
    return read_table(path, kinds, ("tag", "what", "distance"))  # type: ignore[arg-type]


def _tape(row: Row) -> Tape:
    what, to, distance = row.texts["what"].lower(), row.texts.get("to", ""), _told(row, "distance")
    if what not in (*ALONE, *FROM):
        raise CommissionError(f"{row.where}: what", f"must be one of {', '.join((*ALONE, *FROM))}", what)
    if what in FROM and not to:
        raise CommissionError(f"{row.where}: to", f"must name the point that the {what} is measured to")
    if what in ALONE and to:
        raise CommissionError(f"{row.where}: to", f"stays empty: {what} is measured on the bar itself", to)
    if distance < 0.0 or (distance == 0.0 and what != "rise"):
        raise CommissionError(f"{row.where}: distance", "must be more than nothing", row.texts["distance"])
    return Tape(row.texts["tag"], what, to, distance, row.where)


def _points(path: Path) -> dict[str, Floats]:
    rows = read_table(path, {"point": "text", "x": "length", "y": "length", "z": "length"}, ("point", "x", "y", "z"))
    points: dict[str, Floats] = {}
    for row in rows:
        if row.texts["point"] in points:
            raise CommissionError(f"{row.where}: point", "stands twice", row.texts["point"])
        points[row.texts["point"]] = np.array([_told(row, axis) for axis in "xyz"])
    return points


def _welds(path: Path) -> Iterator[Weld]:
    rows = read_table(
        path,
        {"child": "text", "at": "length", "clock": "angle", "lean": "angle", "roll": "angle"},
        ("child",),
    )
    seen: set[str] = set()
    for row in rows:
        tag = row.texts["child"]
        if tag in seen:
            raise CommissionError(f"{row.where}: child", "stands twice", tag)
        seen.add(tag)
        lean = _told(row, "lean", np.nan)
        if lean < 0.0 or lean > 180.0:
            raise CommissionError(f"{row.where}: lean", "must be 0 to 180 deg", row.texts["lean"])
        at, clock, roll = (_told(row, name, np.nan) for name in ("at", "clock", "roll"))
        yield Weld(tag, at, clock, lean, roll, row.where)
