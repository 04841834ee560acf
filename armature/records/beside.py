"""Folders for results that stand beside a job, and are never put in its place."""

from __future__ import annotations

from pathlib import Path

from armature.errors import FileError


def beside_a_job(out: Path) -> Path:
    """Return the folder for results of one part; raises FileError where it holds a job, whose files would go."""
    if (out / "design.json").is_file():
        raise FileError(out, "holds a job, which would be replaced: name another folder")
    return out
