"""Single files: read only where they end, and written whole or not at all."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from armature.edge.errors import FileError


def without_devices(path: Path) -> Path:
    """Return the path, or raise FileError where it is a device or a pipe: reading it might never end."""
    if path.exists() and not path.is_file() and not path.is_dir():
        raise FileError(path, "is a device, where a file is wanted")
    return path


def read_bytes(path: Path, most: int, what: str, pipes: bool = False) -> bytes:
    """Return what is in a file of at most `most` bytes; `what` names it in errors: `list of names`.

    pipes: whether one is read too. Raises FileError where it is missing, a folder, a device, larger, or cannot be read.
    """
    try:
        if path.is_dir():
            raise FileError(path, f"is a folder, where a {what} is wanted")
        with (path if pipes else without_devices(path)).open("rb") as stream:
            # Not by the size that the system tells: some files have none, and no end either.
            content = stream.read(most + 1)
    except FileNotFoundError:
        raise FileError(path, "no such file") from None
    except FileError:
        raise
    except (OSError, ValueError) as error:
        raise FileError(path, f"cannot be read: {getattr(error, 'strerror', None) or error}") from None
    if len(content) > most:
        raise FileError(path, f"is no {what}: larger than {most / 1e6:g} MB")
    return content


def write_whole(path: Path, content: bytes) -> Path:
    """Return the path, with the content in it: written aside in the same folder, then moved into place in one step.

    A link is followed, and rights are kept. Raises FileError in one line, the old file untouched and nothing left
    beside it, where the file cannot be written or is a folder or a device.
    """
    try:
        place = Path(os.path.realpath(path))
        if place.exists() and not place.is_file():
            raise FileError(path, "is a folder or a device, where a file is wanted")
        _replaced(place, content)
    except FileError:
        raise
    except (OSError, ValueError) as error:
        raise FileError(path, f"cannot be written: {getattr(error, 'strerror', None) or error}") from None
    return path


def _replaced(place: Path, content: bytes) -> None:
    aside = place.with_name(f".{place.name[:100]}.{os.getpid()}.part")
    try:
        with aside.open("wb") as stream:
            stream.write(content)
            stream.flush()
            # A full disk may tell only now, and after a power cut the new name must not hold an empty file.
            os.fsync(stream.fileno())
        if place.exists():
            shutil.copymode(place, aside)
        aside.replace(place)
    except BaseException:
        aside.unlink(missing_ok=True)
        raise
