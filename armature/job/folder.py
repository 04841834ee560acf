"""The job folder: made aside, filled, and put in place of the old one whole, or not at all.

    with job_folder("jobs/rowan") as aside:
        (aside / "members.csv").write_text(...)

Everything written into `aside` appears under the target when the block ends; an error inside the block leaves the
old folder as it was and nothing else behind. `SHA256SUMS` lists what a run wrote, so that the next run can tell the
program's files from the user's own: those it did not write are carried over (made.csv, notes, photographs), and one
that it wrote but the user has changed since is kept beside the new one as `NAME.edited.EXT`. A file or folder of the
user's at the place of a new result stands beside it as `NAME.kept.EXT`.
"""

from __future__ import annotations

import errno
import hashlib
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from armature.errors import FileError
from armature.job.swap import make_aside, put_right, swap_in, unlock

SUMS = "SHA256SUMS"
# Lists that only the user keeps; a run reads them and never replaces them.
USERS_OWN = frozenset({"made.csv"})
_DISK = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EIO, errno.EFBIG})


@contextmanager
def job_folder(path: str | os.PathLike[str], at_once: bool = True) -> Iterator[Path]:
    """Yield an empty folder to fill; when the block ends without error it stands whole at `path`.

    at_once: exchange old and new in one step where the system can; see `swap`. Raises FileError before the block runs
    where no folder can be made or replaced at `path`.
    """
    target = _checked(path)
    missing = [folder for folder in [target.parent, *target.parent.parents] if not folder.exists()]
    aside, lock = _opened(target)
    try:
        yield aside
        _complete(aside, target)
        swap_in(aside, target, at_once)
    except FileError as error:
        raise _told_of(error, aside, target) from None
    except OSError as error:
        if error.errno not in _DISK:
            raise
        raise FileError(target, f"cannot be written: {error.strerror}") from error
    finally:
        unlock(lock)
        shutil.rmtree(aside, ignore_errors=True)
        if not target.exists():
            _remove_empty(missing)


def sums(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of each file that a run wrote into a job folder, by path; empty where no run has written."""
    try:
        lines = (folder / SUMS).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        return {}
    return {line[66:]: line[:64] for line in lines if len(line) > 66 and _is_inside(line[66:])}


def _is_inside(name: str) -> bool:
    path = PurePosixPath(name)
    return not path.is_absolute() and ".." not in path.parts and "\0" not in name


def _told_of(error: FileError, aside: Path, target: Path) -> FileError:
    """Return an error about a file of the folder aside as one about its place in the target: the other name is gone."""
    path = Path(str(error.path))
    return FileError(target / path.relative_to(aside), error.rule) if path.is_relative_to(aside) else error


def _checked(path: str | os.PathLike[str]) -> Path:
    try:
        target = Path(os.path.realpath(path))
        stands = target.exists()
    except (OSError, ValueError) as error:
        raise FileError(path, f"is no path for a folder: {error}") from None
    if not os.fspath(path) or target == target.parent or os.path.ismount(target):
        raise FileError(path or "''", "cannot be replaced whole: name a folder inside it")
    if stands and not target.is_dir():
        raise FileError(path, "is a file where a folder is wanted")
    if Path.cwd().is_relative_to(target):
        raise FileError(path, "is the folder you are in or above it, and cannot be replaced from there")
    if stands and not os.access(target, os.W_OK | os.X_OK):
        raise FileError(path, "cannot be written: permission denied")
    if stands and not _is_ours(target):
        raise FileError(path, "holds other folders and no job: name a new folder")
    return target


def _is_ours(target: Path) -> bool:
    """Return whether a folder holds a job, or at most some loose files such as a commission."""
    if (target / SUMS).is_file() or (target / "design.json").is_file():
        return True
    return not any(entry.is_dir() for entry in target.iterdir())


def _opened(target: Path) -> tuple[Path, int]:
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        put_right(target)
        return make_aside(target)
    except OSError as error:
        raise FileError(target, f"cannot be written: {(error.strerror or 'unknown').lower()}") from None


def _complete(aside: Path, target: Path) -> None:
    """List what was written, carry over the user's own files, and see that all of it is on the disk."""
    written = [path for path in _files(aside) if str(path) not in USERS_OWN]
    lines = [f"{_digest(aside / path)}  {path.as_posix()}\n" for path in written]
    (aside / SUMS).write_text("".join(lines), "utf-8")
    for path in [*written, Path(SUMS)]:
        _flush(aside / path)
    if target.is_dir():
        _carry_over(target, aside)
        shutil.copymode(target, aside)


def _carry_over(old: Path, new: Path) -> None:
    program, homes = sums(old), {Path(): new}
    # The user's own first, so that a changed result cannot take one of their names.
    for path in sorted(_files(old), key=lambda path: path.as_posix() in program):
        name = path.as_posix()
        if name == SUMS or (name in program and _digest(old / path) == program[name]):
            continue
        if name in USERS_OWN:
            (new / path).unlink(missing_ok=True)
        place = _home(path.parent, homes) / path.name
        keep(old / path, _free(place, "edited" if name in program else "kept", name in program))
    for folder, inner, files in os.walk(old):
        if not inner and not files:
            _home(Path(folder).relative_to(old), homes)


def _home(folder: Path, homes: dict[Path, Path]) -> Path:
    """Return where a folder of the user's stands from now on: beside its place where that is a file of this run."""
    if folder not in homes:
        place = _home(folder.parent, homes) / folder.name
        homes[folder] = place if place.is_dir() else _free(place, "kept", False)
        homes[folder].mkdir(exist_ok=True)
    return homes[folder]


def keep(source: Path, place: Path) -> None:
    """Give a file a second name in the new folder, or copy it where the file system has no second names."""
    place.parent.mkdir(parents=True, exist_ok=True)
    if source.is_symlink():
        place.symlink_to(os.readlink(source))
        return
    try:
        os.link(source, place)
    except OSError:
        shutil.copy2(source, place)


def _free(place: Path, word: str, always: bool) -> Path:
    """Return the place, or one beside it with a word before its ending where it is taken or always so."""
    number, found = 0, place
    while os.path.lexists(found) or (always and not number):
        number += 1
        found = place.with_name(f"{place.stem}.{word}{'' if number == 1 else -number}{place.suffix}")
    return found


def _files(folder: Path) -> list[Path]:
    """Return the paths of all files and links below a folder, relative to it, in order of name."""
    found: list[Path] = []
    for here, inner, files in os.walk(folder):
        links = [name for name in inner if os.path.islink(os.path.join(here, name))]
        found += [Path(here, name).relative_to(folder) for name in [*files, *links]]
    return sorted(found)


def _digest(path: Path) -> str:
    if not path.is_file():
        return ""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _flush(path: Path) -> None:
    """See a file onto the disk: after a power cut the new folder must not hold empty files."""
    held = os.open(path, os.O_RDONLY)
    try:
        os.fsync(held)
    finally:
        os.close(held)


def _remove_empty(folders: list[Path]) -> None:
    for folder in folders:
        try:
            folder.rmdir()
        except OSError:
            return
