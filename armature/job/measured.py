"""The `measured/` folder of a job: tables are added whole, each under a name of its own, and can be taken back."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np

from armature.answer import Seating, answered, free_seats, seated
from armature.commission import Commission
from armature.edge import CommissionError, FileError, read_bytes, write_whole
from armature.grow import given_members
from armature.made import (
    TABLES,
    TWIGS,
    Felt,
    Offsets,
    Steel,
    felt_bars,
    files_of,
    made_tags,
    next_file,
    read_measures,
    table_of,
    taken_in,
)
from armature.shop import pin_places
from armature.tree import Tree

MEASURED, _BACK = "measured", "taken-back"
_LARGEST = 20_000_000  # bytes


def steel_of(plan: Tree, commission: Commission, job: Path, tables: Path | None = None) -> Steel:
    """Return all that exists of a planned tree: what the made.csv of its job lists, and what was measured.

    tables: the folder of tables where it is not the job's own. Raises an ArmatureError in one line for what cannot be
    read, or cannot be so.
    """
    made = existing_tags(job, commission)
    measures = read_measures(job / MEASURED if tables is None else tables)
    return taken_in(plan, commission.shop.anvil, made, measures, pin_places(plan, commission.units))


def existing_tags(job: Path, commission: Commission) -> list[str]:
    """Return the tags of what exists as planned or given: those of the job's made.csv, and of the given steel."""
    given = given_members(commission)
    return [*made_tags(job / "made.csv"), *([] if given is None else given.tags.tolist())]


def seating_of(plan: Tree, commission: Commission, job: Path, table: Path) -> tuple[Felt, Seating]:
    """Return the bars of a table that were forged by feel, and the seats of a job that they best get.

    Raises an ArmatureError in one line for what cannot be read, CommissionError where no seat is free.
    """
    felt = felt_bars(table, commission.shop.anvil)
    made, measures = existing_tags(job, commission), read_measures(job / MEASURED)
    pins = pin_places(plan, commission.units)

    def steel(named: tuple[Offsets, ...]) -> Steel:
        every = replace(measures, felt=(*measures.felt, *named))
        return taken_in(plan, commission.shop.anvil, made, every, pins)

    now = answered(plan, commission, steel(()))
    if not len(free_seats(now.tree, now.exists)):
        raise CommissionError(str(job), "has no twig left to be made: there is no seat")
    return felt, seated(now, commission, felt, steel)


def keep_seats(job: Path, felt: Felt, seating: Seating) -> Path:
    """Write what was read of seated bars, under the tags of their seats, into `measured/`, and return the table."""
    own = job / MEASURED
    lines = ["tag,along_mm,rise_mm,lift_mm,diameter_mm"]
    for bar, seat in zip(seating.bars.tolist(), seating.seats.tolist(), strict=True):
        read, tag = felt.read[bar], str(seating.answer.tree.tags[seat])
        each = np.stack([read.alongs, read.rises, read.lifts, read.diameters], axis=1).tolist()
        lines += [",".join([tag, *("" if np.isnan(value) else f"{value:.3f}" for value in row)]) for row in each]
    try:
        own.mkdir(exist_ok=True)
    except OSError as error:
        raise FileError(own, f"cannot be made: {error.strerror or error}") from None
    return write_whole(next_file(own, TWIGS), ("\n".join(lines) + "\n").encode())


@contextmanager
def add_measures(job: Path, files: Sequence[Path]) -> Iterator[tuple[Path, list[Path]]]:
    """Give a folder with all tables, old and new, to be tried; where nothing is raised the new ones are then kept in
    `measured/`, under the paths of the list that is given with it.

    Raises FileError for a file that cannot be read, CommissionError for one that is no table of measures.
    """
    own = job / MEASURED
    kept: list[Path] = []
    if not files:
        yield own, kept
        return
    with tempfile.TemporaryDirectory(prefix="armature-measured-") as aside:
        trial = Path(aside)
        for table in TABLES:
            for path in files_of(own, table):
                shutil.copyfile(path, trial / path.name)
        contents = []
        for path in files:
            place = next_file(trial, table_of(path))
            contents.append((place.name, read_bytes(path, _LARGEST, "table of measures")))
            place.write_bytes(contents[-1][1])
        kept += [own / name for name, _ in contents]
        yield trial, kept
        try:
            own.mkdir(exist_ok=True)
        except OSError as error:
            raise FileError(own, f"cannot be made: {error.strerror or error}") from None
        for name, content in contents:
            write_whole(own / name, content)


def take_back(job: Path, name: str) -> Path:
    """Move a table out of `measured/` to `measured/taken-back/` and return where it is now.

    Raises CommissionError where there is no table of that name.
    """
    own = job / MEASURED
    here = {path.name: path for table in TABLES for path in files_of(own, table)}
    if name not in here:
        raise CommissionError("--back", f"must be a table in {own}: {', '.join(here) or 'there is none'}", name)
    number, place = 1, own / _BACK / name
    while place.exists():
        number += 1
        place = own / _BACK / f"{Path(name).stem}.{number}.csv"
    try:
        place.parent.mkdir(exist_ok=True)
        here[name].rename(place)
    except OSError as error:
        raise FileError(here[name], f"cannot be moved: {error.strerror or error}") from None
    return place
