"""Folders made aside and swapped in whole, so that a run killed at any moment leaves the old folder usable.

The new folder is made beside its target under a hidden name, locked and marked by its run. What stays of the old folder
gets a second name in the new one (a copy, where the file system has no second names). On Linux one call then exchanges
the two names (renameat2 with RENAME_EXCHANGE, Linux manual page rename(2)), so that the target is at every moment
either the old folder or the new one. Where that call is missing the old folder is moved away and the new one moved
in; a run killed between these two leaves the old folder under a hidden name, and the next run first puts it back.
Last, what is in the old folder and not in the new is carried after it: what another program wrote in the meantime, and
the user's own files where there were only copies. From the old folder go only files that are proved to be the
program's, or that stand in the new folder too.

Where another program works in the old folder, nothing of the user's may move even for an instant: there the results go
in one by one (`in_place`).
"""

from __future__ import annotations

import ctypes
import errno
import filecmp
import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from armature.job.in_place import arrive, moved_in
from armature.job.in_use import in_use
from armature.job.keeping import Keeping
from armature.job.marks import (
    Mark,
    is_living,
    is_unbegun,
    leftovers,
    lock,
    name_aside,
    read_mark,
    rub_out,
    unlock,
    write_mark,
)
from armature.job.written import HOME, INNER, LIST, RUN, digest_at, files_below

_TRIES = 100
_AT_FDCWD, _RENAME_EXCHANGE = -100, 2
# The user's files are copied only up to so many bytes: where more cannot have second names, results go in one by one.
_COPIED = 64_000_000


def make_aside(target: Path) -> tuple[Path, int]:
    """Return a new, locked folder beside the target that holds its mark alone, and the open file that holds its lock
    (-1 for none)."""
    trouble: OSError | None = None
    for number in range(_TRIES):
        aside, is_made = name_aside(target, number), False
        try:
            aside.mkdir(0o700)
            is_made = True
            locked = lock(aside)
            if locked is not None and aside.is_dir():
                write_mark(aside, Mark("new", target.name, os.getpid()))
                return aside, locked
        except KeyboardInterrupt:
            # No leftover without a mark, which nobody would dare to remove: writing it may take as long as the disk.
            with suppress(OSError):
                aside.rmdir()
            if is_made:
                discard(aside)
            raise
        except (FileExistsError, FileNotFoundError) as error:
            # The name is taken, or another run took the folder for a leftover before it was locked.
            trouble = error
            continue
        unlock(locked)
    raise trouble or FileNotFoundError(errno.ENOENT, "no room for a folder", str(target.parent))


@contextmanager
def one_at_a_time(target: Path) -> Iterator[None]:
    """Hold the parent's lock: two runs that end together swap one after the other."""
    locked = lock(target.parent, wait=True)
    try:
        yield
    finally:
        unlock(locked)


def swap_in(aside: Path, target: Path, keeping: Keeping | None = None, at_once: bool = True) -> None:
    """Put the folder `aside` in the place of `target`, with what is kept of it.

    at_once: use the system's exchange of two names where it has one.
    """
    keeping = keeping or Keeping()
    if not os.path.lexists(target):
        _open_to_others(aside)
        aside.rename(target)
        rub_out(target)
        return
    carried: list[Path] = []
    names = files_below(target)
    if not (_carried(target, aside, keeping, carried) and not in_use(target, names) and _same(target, names, keeping)):
        for path in carried:
            path.unlink(missing_ok=True)
        moved_in(aside, target, keeping)
        discard(aside)
        return
    mark = Mark("old", target.name, os.getpid(), keeping.places, keeping.gone)
    write_mark(target, mark)
    old = _exchange(aside, target) if at_once else None
    old = old or _two_step(aside, target)
    rub_out(target)
    followed(old, target, mark)


def put_right(target: Path) -> None:
    """Mend what a killed run left beside the target: put an old folder back where none stands, finish what was begun,
    remove the rest. Folders of living runs stay."""
    for left, mark in leftovers(target):
        locked = lock(left)
        if locked is None or (locked < 0 and is_living(mark.process)):
            continue
        try:
            if mark.role == "old" and not os.path.lexists(target):
                left.rename(target)
                rub_out(target)
            elif mark.role == "old":
                followed(left, target, mark)
            elif mark.role == "moving":
                moved_in(left, target, Keeping(mark.places, mark.gone))
                discard(left)
            else:
                discard(left)
        finally:
            unlock(locked)


def discard(aside: Path) -> None:
    """Remove a folder of results that are not wanted; one that holds anything of the user's alone stays."""
    mark = read_mark(aside)
    if (mark and mark.role == "new") or (aside.is_dir() and is_unbegun(aside)):
        shutil.rmtree(aside, ignore_errors=True)


def _carried(old: Path, new: Path, keeping: Keeping, carried: list[Path]) -> bool:
    """Return whether all that stays has a second name, or a copy, in the new folder; `carried` gets what was made."""
    copied, results = 0, {Path(here) for here, _, _ in os.walk(new)}
    for name, place in keeping.places.items():
        source, there = old / name, new / place
        if os.path.lexists(there) or not os.path.lexists(source):
            return False
        there.parent.mkdir(parents=True, exist_ok=True)
        carried.append(there)
        if source.is_symlink():
            there.symlink_to(os.readlink(source))
            continue
        try:
            os.link(source, there)
        except (OSError, NotImplementedError):
            copied += source.stat().st_size
            if not source.is_file() or copied > _COPIED:
                carried.pop()
                return False
            shutil.copy2(source, there)
    _folders_alike(old, new, results)
    return True


def _folders_alike(old: Path, new: Path, results: set[Path]) -> None:
    """Make the empty folders that stay, and give all folders the rights that they had, those without results their
    times too."""
    for here, inner, files in os.walk(old, topdown=False):
        name = Path(here).relative_to(old)
        there = new / name
        if name.parts[:1] == (HOME,):
            continue
        if not (inner or files) and not os.path.lexists(there):
            with suppress(FileExistsError, NotADirectoryError):
                there.mkdir(parents=True)
        if there.is_dir():
            (shutil.copymode if there in results else shutil.copystat)(here, there)


def _open_to_others(folder: Path) -> None:
    """Give a folder the rights of any new one: in the making it is its maker's alone, as names may be in it."""
    mask = os.umask(0o777)
    os.umask(mask)
    folder.chmod(0o777 & ~mask)


def _same(target: Path, names: list[str], keeping: Keeping) -> bool:
    """Return whether the target still holds what it held when it was looked through."""
    known = {*keeping.places, *keeping.gone, *INNER}
    return files_below(target) == names and set(names) <= known


def _exchange(one: Path, other: Path) -> Path | None:
    """Exchange two names in one step and return the one under which the old folder stands now; None where the system
    cannot."""
    if not sys.platform.startswith("linux"):
        return None
    renameat2 = getattr(ctypes.CDLL(None, use_errno=True), "renameat2", None)
    if renameat2 is None:
        return None
    ends = (ctypes.c_int(_AT_FDCWD), os.fsencode(one), ctypes.c_int(_AT_FDCWD), os.fsencode(other))
    return one if renameat2(*ends, ctypes.c_uint(_RENAME_EXCHANGE)) == 0 else None


def _two_step(aside: Path, target: Path) -> Path:
    old = aside.with_suffix(".old")
    target.rename(old)
    try:
        aside.rename(target)
    except BaseException:
        old.rename(target)
        rub_out(target)
        raise
    return old


def followed(old: Path, new: Path, mark: Mark) -> None:
    """Carry what stands in the old folder alone into the new one, and remove the old one as far as it is empty then."""
    for name in files_below(old):
        if name in INNER:
            continue
        source = old / name
        if name in mark.places:
            _carry_last(source, new / mark.places[name], new)
        elif name not in mark.gone or digest_at(source) != mark.gone[name]:
            arrive(source, new / name, new)
        else:
            source.unlink()
    _remove_folders(old)
    # The mark goes last: a run killed before is finished by the next one.
    for name in (LIST, f"{RUN}.part", RUN):
        (old / name).unlink(missing_ok=True)
    _remove_folders(old)


def _remove_folders(old: Path) -> None:
    for here, _, _ in os.walk(old, topdown=False):
        with suppress(OSError):
            os.rmdir(here)


def _carry_last(source: Path, there: Path, new: Path) -> None:
    """Let go of an old name where the new one leads to the same file; a copy gives way to the file itself."""
    if not os.path.lexists(there):
        arrive(source, there, new)
    elif os.path.samestat(source.lstat(), there.lstat()):
        source.unlink()
    elif source.is_symlink() or there.is_symlink() or filecmp.cmp(source, there, shallow=False):
        above = there.parent.stat()
        source.replace(there)
        os.utime(there.parent, ns=(above.st_atime_ns, above.st_mtime_ns))
    elif source.lstat().st_mtime_ns >= there.lstat().st_mtime_ns:
        # Both were written since: the later one keeps the place.
        arrive(there, there, new, leave=True)
        source.replace(there)
    else:
        arrive(source, there, new)
