"""The main job: from a commission to a job folder. The only module that knows the whole order.

    made = make(read("garden.toml"), "jobs/garden")
    made.tree, made.verdict.overall, made.folder
"""

from __future__ import annotations

import csv
from collections.abc import Callable, Collection
from dataclasses import dataclass
from pathlib import Path

from armature.commission import Commission
from armature.errors import CommissionError, FileError
from armature.grow import grow, kept_members
from armature.look import judged
from armature.look.report import write_look
from armature.look.skeleton import skeleton_of
from armature.look.verdict import Verdict
from armature.records import job_folder, load
from armature.records.summary import Finding
from armature.records.writing import write_lists, write_meshes, write_summary
from armature.tree import Tree

PARTS = ("look", "mesh", "pictures")
Told = Callable[[str, float], None]


@dataclass(frozen=True, eq=False)
class Made:
    """What a run made: the folder, the tree, what the eye says of it, and what to know before building, a line each."""

    folder: Path
    tree: Tree
    verdict: Verdict
    warnings: tuple[str, ...]


def make(
    commission: Commission,
    out: str | Path,
    skip: Collection[str] = (),
    told: Told = lambda _what, _share: None,
) -> Made:
    """Grow the tree of a commission and write its job folder, whole or not at all.

    out: the folder; members that a `made.csv` in it lists are kept as they stand in its design. skip: parts left out, of
    PARTS. told: hears what is being done and the share done, 0 to 1. Raises an ArmatureError, and writes nothing, where
    the commission cannot be met or the folder cannot be written.
    """
    _check_parts(skip)
    with job_folder(out) as aside:
        told("growing", 0.0)
        tree = grow(commission, kept_of(Path(out)))
        told("looking", 0.1)
        verdict = judged(tree)
        told("lists", 0.2)
        write_lists(aside, tree, commission)
        if "look" not in skip:
            write_look(aside, skeleton_of(tree), verdict, (), commission.title, pictures="pictures" not in skip)
        if "mesh" not in skip:
            told("meshes", 0.3)
            write_meshes(aside / "mesh", tree, commission)
        if "pictures" not in skip:
            told("pictures", 0.6)
            _draw(aside / "view", tree)
        warnings = tuple(fault.wrong for fault in verdict.faults)
        write_summary(aside, tree, commission, {"look": look_finding(verdict)}, warnings)
        told("done", 1.0)
    return Made(Path(out), tree, verdict, warnings)


def kept_of(folder: Path) -> Tree | None:
    """Return the members that a job folder's made.csv lists, as its design has them; None where nothing is made.

    Raises CommissionError for a tag that the design does not have, FileError where the list cannot be read.
    """
    listed = folder / "made.csv"
    if not listed.is_file():
        return None
    return kept_members(load(folder)[0], made_tags(listed), str(listed))


def made_tags(path: Path) -> list[str]:
    """Return the tags that a made.csv lists: a column `tag`, or the first column where no column has a name."""
    try:
        rows = [row for row in csv.reader(path.read_text("utf-8-sig").splitlines()) if any(cell.strip() for cell in row)]
    except (OSError, UnicodeDecodeError, csv.Error) as fault:
        raise FileError(path, f"cannot be read as a list of tags: {fault}") from None
    if not rows:
        return []
    names = [cell.strip().lower() for cell in rows[0]]
    column = names.index("tag") if "tag" in names else 0
    body = rows[1:] if "tag" in names else rows
    return [row[column].strip() for row in body if len(row) > column and row[column].strip()]


def look_finding(verdict: Verdict) -> Finding:
    """Return what the eye says, for the summary."""
    reads = "reads as grown" if verdict.overall >= 70.0 else "has spots where the eye will stumble"
    figures = {"score": round(verdict.overall, 1), **{name: round(score, 1) for name, score in verdict.families.items()}}
    return Finding(reads, figures, [f"{fault.wrong}: {fault.helps}" for fault in verdict.faults])


def _check_parts(skip: Collection[str]) -> None:
    for part in skip:
        if part not in PARTS:
            raise CommissionError("--skip", f"must be one of {', '.join(PARTS)}", part)


def _draw(folder: Path, tree: Tree) -> None:
    from armature.pictures import picture

    folder.mkdir(parents=True, exist_ok=True)
    for view in ("front", "quarter"):
        picture(tree, folder / f"{view}.png", view)
