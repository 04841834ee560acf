"""Pictures that stand alone in a folder of the user's: each carries the proof that this program made it."""

from __future__ import annotations

import zlib
from pathlib import Path

from armature.edge import write_whole
from armature.job.beside import kept_aside
from armature.job.written import digest_of

# A PNG ends with an empty chunk IEND, 12 bytes (PNG, third edition, 11.2.5); a note is a chunk tEXt (11.3.3).
# No picture that this program draws is larger, bytes; what is, is the user's.
_LARGEST = 1_000_000_000
_END, _KEY = 12, b"Comment\0armature "


def write_picture(path: Path, png: bytes) -> str:
    """Write a PNG to a path, and return the name under which another file that stood there is kept, or nothing.

    Only a picture whose mark says that this program wrote it and nobody changed it is written over.
    """
    moved = ""
    if path.is_symlink() or (path.exists() and not _is_own(path)):
        moved = kept_aside(path)
    write_whole(path, png[:-_END] + _note(png[:-_END]) + png[-_END:])
    return moved


def _note(before: bytes) -> bytes:
    content = b"tEXt" + _KEY + digest_of(before).encode()
    return (len(content) - 4).to_bytes(4, "big") + content + zlib.crc32(content).to_bytes(4, "big")


def _is_own(path: Path) -> bool:
    content = path.read_bytes() if path.is_file() and path.stat().st_size <= _LARGEST else b""
    size = len(_note(b""))
    before, note = content[: -size - _END], content[-size - _END : -_END]
    return len(content) > size + _END and note == _note(before)
