"""What a survey has grown, one line of JSON a seed: an interrupted one goes on from it."""

from __future__ import annotations

import json
import os
from dataclasses import asdict
from pathlib import Path

from armature.edge import FileError, read_bytes
from armature.look import Character, Grown

RESULTS = "survey.jsonl"
# Bytes: some hundred thousand seeds.
_LARGEST = 400_000_000


def read_survey(folder: Path) -> list[Grown]:
    """Return what a folder holds already; a line cut short by an interruption is passed over, to be grown again."""
    file, found = folder / RESULTS, []
    if not file.is_file():
        return []
    for line in read_bytes(file, _LARGEST, "list of grown seeds").decode("utf-8", "replace").splitlines():
        try:
            row = json.loads(line)
            row |= {"faults": tuple(row["faults"]), "sketch": tuple(row["sketch"])}
            row["character"] = Character(**row["character"]) if row["character"] else None
            found.append(Grown(**row))
        except (ValueError, TypeError, KeyError, RecursionError):
            continue
    return found


def add_to_survey(folder: Path, grown: Grown) -> None:
    """Add one result to a folder's list; raises FileError where it cannot be written."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with (folder / RESULTS).open("ab+") as file:
            # A line cut short by an interruption must not swallow the one that follows.
            if file.seek(0, os.SEEK_END):
                file.seek(-1, os.SEEK_END)
                file.write(b"" if file.read(1) == b"\n" else b"\n")
            file.write(json.dumps(asdict(grown), ensure_ascii=False).encode() + b"\n")
    except OSError as fault:
        raise FileError(folder / RESULTS, f"cannot be written: {fault.strerror or fault}") from None
