"""Fine stills take minutes: a run that draws drafts leaves those of the very same piece where they are."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path

from armature.edge import FileError, read_bytes
from armature.job.written import digest_at, read_written
from armature.leaves import LeafPlan
from armature.leaves.outline import designs_text

MARK = "view/stills.json"
_LARGEST = 100_000


def shown_digest(folder: Path, leaves: LeafPlan, plate_mm: float | None) -> str:
    """Return the SHA-256 of all that stills show: design.json in the folder, the leaves' outlines, the base plate."""
    seen = hashlib.sha256((folder / "design.json").read_bytes())
    # The designs alone: a mark that stands must not fall because what is round them changes.
    designs = json.loads(designs_text(leaves.designs))["designs"]
    seen.update((json.dumps(designs, ensure_ascii=False, separators=(",", ":")) + "\n").encode())
    seen.update(repr(plate_mm).encode())
    return seen.hexdigest()


def stand_fine(folder: Path, shown: str) -> bool:
    """Return whether fine stills of what has this digest stand in a job folder, as a run wrote them."""
    try:
        said = json.loads(read_bytes(folder / MARK, _LARGEST, "mark of stills"))
        names = [MARK, *(f"view/{name}" for name in said["stills"])]
        same = said["light"] == "fine" and said["of"] == shown
    except (FileError, ValueError, KeyError, TypeError, RecursionError):
        return False
    written = read_written(folder).files
    return same and all(written.get(name, "none") == digest_at(folder / name) for name in names)


def mark_stills(folder: Path, shown: str, names: Sequence[str], fine: bool) -> None:
    """Write into a folder with which light its stills are drawn, and of what."""
    head = {"format": "armature.stills", "version": 1}
    said = head | {"light": "fine" if fine else "draft", "of": shown, "stills": sorted(names)}
    (folder / MARK).write_text(json.dumps(said, indent=1) + "\n", "utf-8", newline="\n")
