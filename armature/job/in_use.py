"""Whether another program works in a folder: then none of its files may change places, not even for an instant."""

from __future__ import annotations

import os
from pathlib import Path

# Files that a program keeps beside one that it has open: a data base, a document.
_BESIDE = ("-journal", "-wal", "-shm", ".lock", ".lck")
_PROCESSES = Path("/proc")


def in_use(folder: Path, names: list[str]) -> bool:
    """Return whether a program has a file below a folder open, or works in it; so also where the system does not tell.

    names: the paths of the files below it.
    """
    if any(name.endswith(_BESIDE) or Path(name).name.startswith((".~lock", "~$")) for name in names):
        return True
    if not (_PROCESSES / "self" / "fd").is_dir():
        return True
    return any(_works_in(process, str(folder)) for process in _PROCESSES.iterdir() if process.name.isdecimal())


def _works_in(process: Path, folder: str) -> bool:
    try:
        links = [process / "cwd", *(process / "fd").iterdir()]
    except OSError:
        return False  # it has ended, or it is another user's
    return any(_leads_into(link, folder) for link in links)


def _leads_into(link: Path, folder: str) -> bool:
    try:
        place = os.readlink(link)
    except OSError:
        return False
    return place == folder or place.startswith(folder + os.sep)
