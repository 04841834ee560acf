"""Folders made aside and swapped in whole, so that a run killed at any moment leaves the old folder usable.

The new folder is made beside its target under a hidden name, locked by its run. On Linux one call then exchanges
the two names (renameat2 with RENAME_EXCHANGE, Linux manual page rename(2)), so that the target is at every moment
either the old folder or the new one. Where that call is missing the old folder is moved away and the new one moved
in; a run killed between these two leaves the old folder under a hidden name, and the next run first puts it back.
Whatever else a killed run leaves is removed by the next run; the lock tells it from the work of a run still going on.
"""

from __future__ import annotations

import ctypes
import errno
import os
import shutil
import sys
from pathlib import Path

try:
    import fcntl
except ImportError:  # not on Windows: there nothing tells a dead run from a living one, so leftovers stay.
    fcntl = None  # type: ignore[assignment]

_TRIES = 100
_AT_FDCWD, _RENAME_EXCHANGE = -100, 2


def make_aside(target: Path) -> tuple[Path, int]:
    """Return a new, empty, locked folder beside the target, and the open file that holds its lock (-1 for none)."""
    trouble: OSError | None = None
    for number in range(_TRIES):
        aside = target.with_name(f".{target.name}.{os.getpid()}-{number}.new")
        try:
            aside.mkdir()
            lock = _locked(aside)
        except (FileExistsError, FileNotFoundError) as error:
            # The name is taken, or another run took the folder for a leftover before it was locked.
            trouble = error
            continue
        if (fcntl is None or lock >= 0) and aside.is_dir():
            return aside, lock
        unlock(lock)
    raise trouble or FileNotFoundError(errno.ENOENT, "no room for a folder", str(target.parent))


def unlock(lock: int) -> None:
    """Give up a lock from `make_aside`."""
    if lock >= 0:
        os.close(lock)


def swap_in(aside: Path, target: Path, at_once: bool = True) -> None:
    """Put the folder `aside` in the place of `target`, and remove the old folder.

    at_once: use the system's exchange of two names where it has one.
    """
    if not os.path.lexists(target):
        aside.rename(target)
        return
    if at_once and _exchanged(aside, target):
        old = aside
    else:
        old = aside.with_suffix(".old")
        target.rename(old)
        try:
            aside.rename(target)
        except BaseException:
            old.rename(target)
            raise
    # The new folder stands; what cannot be removed now is left to the next run.
    shutil.rmtree(old, ignore_errors=True)


def put_right(target: Path) -> None:
    """Mend what a killed run left beside the target: put an old folder back where none stands, remove the rest."""
    for left in sorted(target.parent.glob(f".{_plain(target.name)}.*.old")):
        if not target.exists():
            left.rename(target)
        else:
            shutil.rmtree(left, ignore_errors=True)
    for left in sorted(target.parent.glob(f".{_plain(target.name)}.*.new")):
        try:
            lock = _locked(left)
        except FileNotFoundError:
            continue
        if lock >= 0:
            shutil.rmtree(left, ignore_errors=True)
            unlock(lock)


def _locked(folder: Path) -> int:
    """Return an open file that holds the only lock on a folder, or -1 where another run holds it or none can be had."""
    if fcntl is None:
        return -1  # type: ignore[unreachable]  # on Windows
    held = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(held)
        return -1
    return held


def _exchanged(one: Path, other: Path) -> bool:
    """Return whether the system has exchanged two names in one step."""
    if not sys.platform.startswith("linux"):
        return False
    renameat2 = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if renameat2 is None:
        return False
    ends = (ctypes.c_int(_AT_FDCWD), os.fsencode(one), ctypes.c_int(_AT_FDCWD), os.fsencode(other))
    return bool(renameat2(*ends, ctypes.c_uint(_RENAME_EXCHANGE)) == 0)


def _plain(name: str) -> str:
    """Return a name in which no letter is a wildcard to `glob`."""
    return "".join(f"[{letter}]" if letter in "*?[" else letter for letter in name)
