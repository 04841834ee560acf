"""What stands in a job folder because a run wrote it: a list that only the program writes, with the hash of each file.

`.armature/written.json` is the proof; `SHA256SUMS`, which people may refresh, is none. A file that the list does not
name, or whose bytes are no longer those of the list, is the user's.
"""

from __future__ import annotations

import hashlib
import json
import os
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath
from typing import Any

HOME = ".armature"
LIST, RUN = f"{HOME}/written.json", f"{HOME}/run.json"
# What a run keeps for itself in a folder: no result, and nothing of the user's.
INNER = (LIST, RUN, f"{RUN}.part")
_FORMAT, _VERSION = "armature.written", 2
# Version 1, which had no number.
_OLDER = "files that armature wrote"
_LARGEST = 50_000_000


@dataclass(frozen=True)
class Moved:
    """A file that gave way: its SHA-256 where it was the program's own, else empty, and why it was moved."""

    digest: str
    why: str


@dataclass(frozen=True)
class Written:
    """files: SHA-256 of each file that a run wrote, by path. earlier: what gave way, by number and then by path."""

    files: dict[str, str] = field(default_factory=dict)
    earlier: dict[int, dict[str, Moved]] = field(default_factory=dict)


def read_written(folder: Path) -> Written:
    """Return the list of a folder; empty where it has none, or one that is broken: then nothing is the program's."""
    try:
        place = folder / LIST
        if place.is_symlink() or place.stat().st_size > _LARGEST:
            return Written()
        said = json.loads(place.read_text("utf-8"))
        if said["format"] != _OLDER and (said["format"], said["version"]) != (_FORMAT, _VERSION):
            return Written()
        files = {_inside(name): _hex(digest) for name, digest in said["files"].items()}
        earlier = {
            int(number): {_inside(name): Moved(str(digest), str(why)) for name, (digest, why) in rows.items()}
            for number, rows in said["earlier"].items()
        }
        return Written(files, earlier)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return Written()


def write_written(folder: Path, written: Written) -> None:
    """Write the list of a folder, in one order whatever the order of writing was."""
    earlier = {
        str(number): {name: [moved.digest, moved.why] for name, moved in sorted(rows.items())}
        for number, rows in sorted(written.earlier.items())
    }
    files = dict(sorted(written.files.items()))
    write_json(folder / LIST, {"format": _FORMAT, "version": _VERSION, "files": files, "earlier": earlier})


def write_json(place: Path, said: Any) -> None:
    """Write JSON, on the disk when this returns."""
    place.parent.mkdir(exist_ok=True)
    with place.open("w", encoding="utf-8", newline="\n") as stream:
        stream.write(json.dumps(said, indent=1) + "\n")
        stream.flush()
        os.fsync(stream.fileno())


def digest_at(path: Path) -> str:
    """Return the SHA-256 of a file as hex digits; empty for a link, and for what is no file."""
    if path.is_symlink() or not path.is_file():
        return ""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def digest_of(content: bytes) -> str:
    """Return the SHA-256 of a file's content, as hex digits."""
    return hashlib.sha256(content).hexdigest()


def files_below(folder: Path) -> list[str]:
    """Return the paths of all files and links below a folder, in order of name."""
    paths: list[str] = []
    for here, inner, files in os.walk(folder):
        links = [name for name in inner if os.path.islink(os.path.join(here, name))]
        paths += [Path(here, name).relative_to(folder).as_posix() for name in [*files, *links]]
    return sorted(paths)


def _inside(name: str) -> str:
    path = PurePosixPath(name)
    if path.is_absolute() or ".." in path.parts or "\0" in name or not path.parts:
        raise ValueError(name)
    return name


def _hex(digest: str) -> str:
    if len(digest) != 64:
        raise ValueError(digest)
    return digest
