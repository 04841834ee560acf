"""The mark inside a folder that a run has not done with: which process made it, for which folder, and what is in it.

A folder beside a job is a run's leftover only where its name carries the number of a process and the mark inside names
the same process and the same job; whatever else has such a name is somebody's own.
"""

from __future__ import annotations

import json
import os
import re
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Literal

from armature.job.written import RUN, write_json

try:
    import fcntl
except ImportError:  # not on Windows: there nothing tells a dead run from a living one, so leftovers stay.
    fcntl = None  # type: ignore[assignment]

_FORMAT = "a run of armature"
# new: results in the making. old: the folder that was replaced, with what is still to be carried on.
# moving: results that go one by one into a folder in which another program works.
Role = Literal["new", "old", "moving"]
_ROLES = ("new", "old", "moving")


@dataclass(frozen=True)
class Mark:
    """job: name of the folder that the run is for. process: number of the process. places, gone: as in `Keeping`."""

    role: Role
    job: str
    process: int
    places: dict[str, str] = field(default_factory=dict)
    gone: dict[str, str] = field(default_factory=dict)


def write_mark(folder: Path, mark: Mark) -> None:
    """Put a mark into a folder, in the place of any that it has."""
    aside = folder / f"{RUN}.part"
    write_json(aside, {"format": _FORMAT, **asdict(mark)})
    aside.replace(folder / RUN)


def read_mark(folder: Path) -> Mark | None:
    """Return the mark in a folder, None where there is none that a run wrote."""
    try:
        said = json.loads((folder / RUN).read_text("utf-8"))
        if said.pop("format") != _FORMAT or said["role"] not in _ROLES:
            return None
        mark = Mark(**said)
        places, gone = {str(k): str(v) for k, v in mark.places.items()}, {str(k): str(v) for k, v in mark.gone.items()}
        inside = all(
            not os.path.isabs(one) and ".." not in Path(one).parts for one in (*places, *places.values(), *gone)
        )
        return Mark(mark.role, str(mark.job), int(mark.process), places, gone) if inside else None
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None


def rub_out(folder: Path) -> None:
    """Take the mark out of a folder."""
    (folder / RUN).unlink(missing_ok=True)


def name_aside(target: Path, number: int, role: Literal["new", "old"] = "new") -> Path:
    """Return the path of a folder aside of this process."""
    return target.with_name(f".{target.name}.{os.getpid()}-{number}.{role}")


def leftovers(target: Path) -> list[tuple[Path, Mark]]:
    """Return the folders that runs for `target` have made beside it and not done with, living runs' too."""
    pattern = re.compile(rf"\.{re.escape(target.name)}\.(\d+)-\d+\.(?:new|old)")
    here = []
    for name in sorted(os.listdir(target.parent)):
        match, place = pattern.fullmatch(name), target.parent / name
        if not match or not place.is_dir() or place.is_symlink():
            continue
        mark = read_mark(place) or (Mark("new", target.name, int(match[1])) if is_unbegun(place) else None)
        if mark and mark.process == int(match[1]) and mark.job == target.name:
            here.append((place, mark))
    return here


def lock(folder: Path, wait: bool = False) -> int | None:
    """Return an open file that holds the only lock on a folder, -1 where none can be had, None where a run holds it."""
    if fcntl is None:
        return -1  # type: ignore[unreachable]  # on Windows
    try:
        opened = os.open(folder, os.O_RDONLY)
    except PermissionError:
        return -1
    try:
        fcntl.flock(opened, fcntl.LOCK_EX if wait else fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        os.close(opened)
        return None
    except OSError:  # a file system without locks
        os.close(opened)
        return -1
    return opened


def unlock(opened: int | None) -> None:
    """Give up a lock."""
    if opened is not None and opened >= 0:
        os.close(opened)


def is_living(process: int) -> bool:
    """Return whether a process of this number runs, as far as can be told; so where it cannot."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True


def is_unbegun(folder: Path) -> bool:
    """Return whether nothing is in a folder, but perhaps the mark that a run had no time to write."""
    inside = [path.relative_to(folder).as_posix() for path in folder.rglob("*")]
    return set(inside) <= {str(Path(RUN).parent), f"{RUN}.part"}
