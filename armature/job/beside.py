"""Folders for results that stand beside a job, and are never put in its place; some are the user's own folders too."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Collection, Mapping
from contextlib import suppress
from pathlib import Path

from armature.edge import FileError, write_whole


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


def write_beside(folder: Path, files: Mapping[str, bytes], listed: str) -> list[str]:
    """Write files into a folder, and return the names under which others of the same names are kept beside them.

    listed: a file for the SHA-256 of what was written, so that the next run can tell its own files, which it replaces,
    from those of the user and those that the user has changed. Raises FileError where the folder cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        own = _listed(folder / listed)
        kept = [kept_aside(folder / name) for name in files if is_foreign(folder / name, (own.get(name, ""),))]
    except FileError:
        raise
    except OSError as error:
        raise FileError(folder, f"cannot be written: {error.strerror or error}") from None
    for name, content in files.items():
        write_whole(folder / name, content)
    lines = [f"{digest_of(content)}  {name}\n" for name, content in sorted(files.items())]
    write_whole(folder / listed, "".join(lines).encode())
    return kept


def _listed(file: Path) -> dict[str, str]:
    """Return digests by name, as an earlier run has listed them."""
    lines = file.read_text("utf-8", errors="replace").splitlines() if file.is_file() else []
    return {line[66:]: line[:64] for line in lines}


def digest_of(content: bytes) -> str:
    """Return the SHA-256 of a file's content, as hex digits."""
    return hashlib.sha256(content).hexdigest()


def is_foreign(path: Path, own: Collection[str]) -> bool:
    """Return whether something else than a file with one of our own digests stands at a path."""
    if path.is_file() and not path.is_symlink():
        return digest_of(path.read_bytes()) not in own
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
