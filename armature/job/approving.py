"""The client's word on a design, as the client's page saves it: a yes or a not yet, signed, with notes tied to tags.

It holds for one design alone, told by the hash of its design.json, and is kept among the user's own files.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from armature.edge import FileError, read_bytes, write_whole
from armature.files import load
from armature.job.written import digest_of
from armature.tree import Tree

FORMAT, VERSION = "armature approval", 1
YES, NOT_YET = "yes", "not yet"
_LARGEST = 1_000_000  # bytes
_SHOWN = 70  # letters of a wrong value that are told
_LONGEST_NAME, _LONGEST_NOTE, _MOST_NOTES = 120, 2000, 500
# Signs that would write over what a terminal shows, or turn text about.
_UNSEEN = re.compile(r"[\x00-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")


@dataclass(frozen=True)
class Approval:
    """Who said what on which day, and notes as (tag, text); a note with no tag is on the whole tree."""

    by: str
    on: str
    says: str
    notes: tuple[tuple[str, str], ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """What was said, a line each."""
        count = len(self.notes)
        head = f"{self.by} says {self.says} on {self.on}"
        head += f", with {count} note{'s' * (count != 1)}" if count else ""
        return (head, *(f"{tag or 'the tree'}: {' '.join(text.split())}" for tag, text in self.notes))


def approve(file: Path, job: Path) -> tuple[Approval, Path]:
    """Return what a file from the client's page says, and where it is kept in the job's `approvals/`.

    Raises FileError for a file that is no approval, one of another design, or notes on tags that the tree
    does not have; nothing is written then.
    """
    content = read_bytes(file, _LARGEST, "approval")
    tree, _ = load(job)
    said = _parsed(file, content)
    if said.get("design") != digest_of((job / "design.json").read_bytes()):
        raise _wrong(
            file, "design", f"must be the hash of {job / 'design.json'}, and is of another design", said.get("design")
        )
    approval = _read(file, said, tree)
    place = _place(job / "approvals", approval, content)
    if not place.exists():
        place.parent.mkdir(exist_ok=True)
        write_whole(place, content)
    return approval, place


def _parsed(file: Path, content: bytes) -> dict[str, Any]:
    try:
        said = json.loads(content.decode("utf-8"))
    except (ValueError, RecursionError):
        raise FileError(file, "is no approval: it holds no JSON") from None
    if not isinstance(said, dict) or said.get("format") != FORMAT:
        raise FileError(file, f'is no approval: "format" must be "{FORMAT}"')
    if said.get("version") != VERSION:
        raise _wrong(file, "version", f"must be {VERSION}", said.get("version"))
    return said


def _read(file: Path, said: Mapping[str, Any], tree: Tree) -> Approval:
    by, on, says = (said.get(key) for key in ("by", "on", "says"))
    if not isinstance(by, str) or not 0 < len(by.strip()) <= _LONGEST_NAME or _UNSEEN.search(by):
        raise _wrong(file, "by", f"must be a name of 1 to {_LONGEST_NAME} plain letters", by)
    if not isinstance(on, str) or not _is_day(on):
        raise _wrong(file, "on", "must be a day as in 2026-05-04", on)
    if says not in (YES, NOT_YET):
        raise _wrong(file, "says", f'must be "{YES}" or "{NOT_YET}"', says)
    notes = said.get("notes", [])
    if not isinstance(notes, list) or len(notes) > _MOST_NOTES:
        raise _wrong(file, "notes", f"must be a list of up to {_MOST_NOTES}", notes)
    tags = {"", *tree.tags.tolist(), *tree.leaves.tags.tolist()}
    return Approval(by.strip(), on, says, tuple(_note(file, k, note, tags) for k, note in enumerate(notes)))


def _note(file: Path, k: int, note: Any, tags: set[str]) -> tuple[str, str]:
    tag, text = (note.get("tag"), note.get("text")) if isinstance(note, dict) else (None, None)
    if not isinstance(tag, str) or tag not in tags:
        raise _wrong(file, f"notes[{k}].tag", "must be the tag of a member or leaf of this tree", tag)
    if not isinstance(text, str) or not 0 < len(text) <= _LONGEST_NOTE:
        raise _wrong(file, f"notes[{k}].text", f"must be text of 1 to {_LONGEST_NOTE} letters", text)
    return tag, _UNSEEN.sub(" ", text)


def _wrong(file: Path, key: str, rule: str, value: Any) -> FileError:
    told = json.dumps(value)
    return FileError(file, f"{key}: {rule}: {told if len(told) <= _SHOWN else told[:_SHOWN] + '…'}")


def _is_day(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False


def _place(folder: Path, approval: Approval, content: bytes) -> Path:
    """Where the approval goes: one of the same day stands beside it, the very same one is there already."""
    number = 1
    while True:
        place = folder / f"client-{approval.on}{'' if number == 1 else f'-{number}'}.json"
        if not place.exists() or place.read_bytes() == content:
            return place
        number += 1
