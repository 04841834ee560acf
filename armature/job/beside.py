"""Folders for results that stand beside a job, and are never put in its place; some are the user's own folders too."""

from __future__ import annotations

import os
from collections.abc import Collection, Mapping
from contextlib import suppress
from pathlib import Path

from armature.edge import FileError, write_whole
from armature.job.written import Written, digest_at, digest_of, read_written, write_written


def beside_a_job(out: Path) -> Path:
    """Return the folder for results of one part; raises FileError where it holds a job, whose files would go."""
    if os.path.isfile(out / "design.json"):
        raise FileError(out, "holds a job, which would be replaced: name another folder")
    return out


def open_folder(out: Path) -> Path:
    """Return a folder that results may be written into, made or not; raises FileError where none can be there."""
    try:
        with suppress(FileNotFoundError, NotADirectoryError):
            # A name that is too long, or no name at all, is told here.
            os.lstat(out)
        stands = next(place for place in (out, *out.absolute().parents) if os.path.lexists(place))
        if not stands.is_dir():
            raise FileError(stands, "is a file where a folder is wanted")
        if not os.access(stands, os.W_OK | os.X_OK):
            raise FileError(stands, "cannot be written: permission denied")
    except FileError:
        raise
    except (OSError, ValueError) as error:
        raise FileError(out, f"is no path for a folder: {error}") from None
    return out


def write_beside(folder: Path, files: Mapping[str, bytes]) -> list[str]:
    """Write files into a folder, and return the names under which others of the same names are kept beside them.

    What a run wrote there stands in the list that only the program writes (`written`): those it replaces; what the
    user wrote or changed it keeps aside. Raises FileError where the folder cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        before = read_written(folder)
        kept = [kept_aside(folder / n) for n in files if is_foreign(folder / n, (before.files.get(n, ""),))]
    except FileError:
        raise
    except OSError as error:
        raise FileError(folder, f"cannot be written: {error.strerror or error}") from None
    for name, content in files.items():
        write_whole(folder / name, content)
    written = before.files | {name: digest_of(content) for name, content in files.items()}
    try:
        write_written(folder, Written(written, before.earlier))
    except OSError as error:
        raise FileError(folder, f"cannot be written: {error.strerror or error}") from None
    return kept


def is_foreign(path: Path, own: Collection[str]) -> bool:
    """Return whether something else than a file with one of our own digests stands at a path."""
    if path.is_file() and not path.is_symlink():
        return digest_at(path) not in own
    return os.path.lexists(path)


def kept_aside(path: Path) -> str:
    """Return the name that a file has from now on, out of the way of a new one: `NAME.kept.EXT`, or the next that is
    free.

    Raises FileError for a folder, which is left where it is.
    """
    if path.is_dir() and not path.is_symlink():
        raise FileError(path, "is a folder, where a file is wanted")
    number, place = 1, path.with_name(f"{path.stem}.kept{path.suffix}")
    while os.path.lexists(place):
        number += 1
        place = path.with_name(f"{path.stem}.kept-{number}{path.suffix}")
    path.rename(place)
    return place.name
