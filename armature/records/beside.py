"""Folders for results that stand beside a job, and are never put in its place; some are the user's own folders too."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping
from pathlib import Path

from armature.errors import FileError
from armature.saving import write_whole


def beside_a_job(out: Path) -> Path:
    """Return the folder for results of one part; raises FileError where it holds a job, whose files would go."""
    if (out / "design.json").is_file():
        raise FileError(out, "holds a job, which would be replaced: name another folder")
    return out


def open_folder(out: Path) -> Path:
    """Return a folder that results may be written into, made or not; raises FileError where none can be there."""
    try:
        beside_a_job(out)
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
        kept = [_kept(folder / name) for name in files if _is_foreign(folder / name, own.get(name, ""))]
    except OSError as error:
        raise FileError(folder, f"cannot be written: {error.strerror or error}") from None
    for name, content in files.items():
        write_whole(folder / name, content)
    lines = [f"{hashlib.sha256(content).hexdigest()}  {name}\n" for name, content in sorted(files.items())]
    write_whole(folder / listed, "".join(lines).encode())
    return kept


def _listed(file: Path) -> dict[str, str]:
    """Return digests by name, as an earlier run has listed them."""
    lines = file.read_text("utf-8", errors="replace").splitlines() if file.is_file() else []
    return {line[66:]: line[:64] for line in lines}


def _is_foreign(path: Path, digest: str) -> bool:
    if path.is_file() and not path.is_symlink():
        return hashlib.sha256(path.read_bytes()).hexdigest() != digest
    return os.path.lexists(path)


def _kept(path: Path) -> str:
    number, place = 1, path.with_name(f"{path.stem}.kept{path.suffix}")
    while os.path.lexists(place):
        number += 1
        place = path.with_name(f"{path.stem}.kept-{number}{path.suffix}")
    path.rename(place)
    return place.name
