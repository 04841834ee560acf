"""Results moved one by one into a folder in which another program works: no file of the user's changes its place.

What has to be done is written into the mark first; a run killed in between is finished by the next one.
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from armature.job.keeping import Keeping
from armature.job.marks import Mark, rub_out, write_mark
from armature.job.written import INNER, LIST, Written, digest_at, files_below, read_written


def moved_in(aside: Path, target: Path, keeping: Keeping) -> None:
    """Move the results in `aside` into `target`, and what they replace to where `keeping` has it."""
    mark = Mark("moving", target.name, _process(aside), keeping.places, keeping.gone)
    write_mark(aside, mark)
    names = [name for name in files_below(aside) if name not in INNER]
    fresh = read_written(aside) if (aside / LIST).is_file() else read_written(target)
    for name, place in keeping.places.items():
        # Once its result stands in its place, what stands there is no longer what had to move.
        if name != place and not os.path.lexists(target / place) and os.path.lexists(target / name):
            (target / place).parent.mkdir(parents=True, exist_ok=True)
            (target / name).rename(target / place)
    for name, digest in keeping.gone.items():
        # One that a result replaces stays until then: the folder lacks it at no moment.
        if name not in names and digest_at(target / name) == digest and not _is_new(fresh, target, name):
            (target / name).unlink()
    _clear(target, {Path(name).parent for name in (*keeping.gone, *keeping.places)})
    for name in [*names, LIST]:
        there = target / name
        if not os.path.lexists(aside / name):
            continue
        if os.path.lexists(there) and name != LIST and digest_at(there) != keeping.gone.get(name, "none"):
            # It was written while this run was ending.
            arrive(there, there, target, leave=True)
        there.parent.mkdir(parents=True, exist_ok=True)
        (aside / name).replace(there)
    rub_out(target)
    write_mark(aside, replace(mark, role="new"))


def _process(aside: Path) -> int:
    return int(aside.name.rsplit(".", 2)[-2].partition("-")[0])


def _is_new(fresh: Written, target: Path, name: str) -> bool:
    """Return whether what stands in the target is a result that a killed run has moved in already."""
    return fresh.files.get(name, "none") == digest_at(target / name)


def arrive(source: Path, place: Path, folder: Path, leave: bool = False) -> None:
    """Move a file into its place in a folder, or beside it as `NAME.late.EXT` where that is taken.

    leave: the file stands in that place itself, and is to make room.
    """
    number, there = 0, place
    while os.path.lexists(there) or leave or not _has_room(there, folder):
        leave, number = False, number + 1
        base = place if _has_room(place, folder) else folder / place.name
        there = base.with_name(f"{base.stem}.late{'' if number == 1 else f'-{number}'}{base.suffix}")
    there.parent.mkdir(parents=True, exist_ok=True)
    source.rename(there)


def _has_room(there: Path, folder: Path) -> bool:
    """Return whether all above a place are folders or nothing yet."""
    above = [parent for parent in there.parents if parent.is_relative_to(folder)]
    return all(parent.is_dir() or not os.path.lexists(parent) for parent in above)


def _clear(target: Path, folders: set[Path]) -> None:
    """Remove folders that have become empty, so that a file may stand in their place."""
    for folder in sorted(folders, key=lambda path: -len(path.parts)):
        for place in [folder, *folder.parents]:
            if place != Path():
                with suppress(OSError):
                    (target / place).rmdir()
