"""The job folder: made aside, filled, and put in place of the old one whole, or not at all.

    with job_folder("jobs/rowan") as aside:
        (aside / "members.csv").write_text(...)

Everything written into `aside` appears under the target when the block ends; an error inside the block leaves the
old folder as it was and nothing else behind. What a run wrote stands in a list that only the program writes
(`written`); all else is the user's, and stays (`keeping`).
"""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from armature.edge import FileError
from armature.job.keeping import DESIGN, MOVED, SUMS, Keeping, Leftovers, is_users_own, kept, moved_csv
from armature.job.marks import unlock
from armature.job.swap import discard, make_aside, one_at_a_time, put_right, swap_in
from armature.job.written import INNER, LIST, Written, digest_at, files_below, read_written, write_written

# What stands in the folder of a part that a run may leave out.
_PARTS = {
    "plates": ("leaves/plates.csv",),
    "strength": ("strength.md", "strength"),
    "shop": ("bars.csv", "shop"),
    "papers": ("shop/packet.pdf", "leaves/stamping.pdf", "care"),
    "mesh": ("mesh",),
    "pictures": ("view",),
}
_DISK = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EROFS, errno.EIO, errno.EFBIG})


@contextmanager
def job_folder(
    path: str | os.PathLike[str], at_once: bool = True, leftovers: Leftovers = "go", said: list[str] | None = None
) -> Iterator[Path]:
    """Yield an empty folder to fill; when the block ends without error it stands whole at `path`.

    at_once: exchange old and new in one step where the system can; see `swap`. leftovers: what becomes of results of an
    earlier run that this one does not write: they go, stay, or stay where the design fits and are moved to `earlier/`
    where it does not. said: gets a line for what was moved there. Raises FileError before the block runs where no
    folder can be made or replaced at `path`.
    """
    target = _checked(path)
    missing = [folder for folder in [target.parent, *target.parent.parents] if not folder.exists()]
    aside, lock = _opened(target)
    try:
        yield aside
        with one_at_a_time(target):
            keeping = _complete(aside, target, leftovers)
            swap_in(aside, target, keeping, at_once)
        if said is not None:
            said += keeping.said
    except FileError as error:
        raise _told_of(error, aside, target) from None
    except OSError as error:
        if error.errno not in _DISK:
            raise
        raise FileError(target, f"cannot be written: {error.strerror}") from error
    finally:
        unlock(lock)
        discard(aside)
        if not target.exists():
            _remove_empty(missing)


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
    if (target / LIST).is_file() or (target / DESIGN).is_file():
        return True
    return not any(entry.is_dir() for entry in target.iterdir())


def _opened(target: Path) -> tuple[Path, int]:
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with one_at_a_time(target):
            put_right(target)
        return make_aside(target)
    except OSError as error:
        raise FileError(target, f"cannot be written: {(error.strerror or 'unknown').lower()}") from None


def _complete(aside: Path, target: Path, leftovers: Leftovers) -> Keeping:
    """Return what becomes of the old folder's files; all that is new, lists of it too, is on the disk then."""
    stands = target.is_dir()
    for name in files_below(aside):
        # Only the user writes these, and what the user has keeps its place.
        if is_users_own(name) and stands and os.path.lexists(target / name):
            (aside / name).unlink()
    keeping = kept(target, aside, leftovers) if stands else Keeping(written=Written(_results(aside)))
    written = keeping.written
    files = {name: digest for name, digest in written.files.items() if not is_users_own(name)}
    if written.earlier:
        listed = aside / keeping.home / MOVED
        listed.parent.mkdir(exist_ok=True)
        listed.write_text(moved_csv(written), "utf-8", newline="\n")
        files[f"{keeping.home}/{MOVED}"] = digest_at(listed)
    files.pop(SUMS, None)
    lines = [f"{digest}  {name}\n" for name, digest in sorted(files.items()) if "\n" not in name]
    (aside / SUMS).write_text("".join(lines), "utf-8", newline="\n")
    files[SUMS] = digest_at(aside / SUMS)
    for name in files_below(aside):
        with suppress(FileNotFoundError):
            if name not in INNER and (target / name).is_file() and not (target / name).is_symlink():
                shutil.copymode(target / name, aside / name)
        _flush(aside / name)
    write_written(aside, Written(files, written.earlier))
    return keeping


def _results(aside: Path) -> dict[str, str]:
    return {name: digest_at(aside / name) for name in files_below(aside) if name not in INNER}


def _flush(path: Path) -> None:
    """See a file onto the disk: after a power cut the new folder must not hold empty files."""
    opened = os.open(path, os.O_RDONLY)
    try:
        os.fsync(opened)
    finally:
        os.close(opened)


def _remove_empty(folders: list[Path]) -> None:
    for folder in folders:
        try:
            folder.rmdir()
        except OSError:
            return


def still_standing(folder: Path, skip: Collection[str]) -> list[str]:
    """Return a line for the results of parts left out that stand from an earlier run of the same design."""
    names = {name for part in skip for name in _PARTS.get(part, ())}
    stand = [name for name in sorted(names) if (folder / name).exists() and _holds(written_files(folder), name)]
    return [f"left out this time, kept from an earlier run of the same design: {', '.join(stand)}"] if stand else []


def _holds(files: dict[str, str], name: str) -> bool:
    return any(file == name or file.startswith(f"{name}/") for file in files)


def written_files(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of each file that a run wrote into a folder, by path; empty where no run has written."""
    return read_written(folder).files
