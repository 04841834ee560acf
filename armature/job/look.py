"""What the eye says, written into a job folder: look.json, look.md, refine.json and the pictures; the summary of it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from armature.files import Finding
from armature.look import Mending, Skeleton, Verdict, skeleton_of
from armature.papers.look import look_json, look_md
from armature.tree import Tree

_MOST_PICTURES = 12


def look_finding(verdict: Verdict) -> Finding:
    """Return what the eye says, for the summary."""
    reads = "reads as grown" if verdict.overall >= 70.0 else "has spots where the eye will stumble"
    figures = {
        "score": round(verdict.overall, 1),
        **{name: round(score, 1) for name, score in verdict.families.items()},
    }
    return Finding(reads, figures, [f"{fault.wrong}: {fault.helps}" for fault in verdict.faults])


def write_pictures(folder: Path, skeleton: Skeleton, verdict: Verdict) -> list[Path]:
    """Return the pictures written into a folder: `stand_back.png` and one a fault, worst first, at most twelve."""
    from armature.papers.look import fault_picture, stand_back

    written = [folder / "stand_back.png"]
    stand_back(skeleton, verdict).save(written[0])
    for number, fault in enumerate(verdict.faults[:_MOST_PICTURES], start=1):
        written.append(folder / f"look-{number:02d}-{fault.name}.png")
        fault_picture(skeleton, fault).save(written[-1])
    return written


def write_look(
    folder: Path,
    skeleton: Skeleton,
    verdict: Verdict,
    repairs: Sequence[str] = (),
    name: str = "",
    pictures: bool = True,
) -> list[Path]:
    """Return the files of a whole judgement written into a folder: look.json, look.md and, if wanted, the pictures."""
    data, page = folder / "look.json", folder / "look.md"
    data.write_text(look_json(skeleton, verdict, repairs), encoding="utf-8", newline="\n")
    page.write_text(look_md(skeleton, verdict, repairs, name), encoding="utf-8", newline="\n")
    return [data, page, *(write_pictures(folder, skeleton, verdict) if pictures else [])]


def write_mending(folder: Path, view: Path | None, before: Tree, after: Tree, mending: Mending) -> list[Path]:
    """Return the files of a mending: `refine.json` written into a folder, and into the folder `view`, unless none,
    before-after.png with the members that moved."""
    from armature.papers.look import side_by_side

    table = {
        "format": "armature.refine",
        # 2: its marker was `kind`.
        "version": 2,
        "before": mending.before.overall,
        "after": mending.after.overall,
        "moved": list(mending.moved),
        "steps": [{"against": s.finding, "moved": list(s.tags), "overall": s.overall} for s in mending.steps],
    }
    listed = folder / "refine.json"
    listed.write_text(json.dumps(table, indent=1, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")
    if view is None:
        return [listed]
    view.mkdir(parents=True, exist_ok=True)
    moved = np.array([after.rows[tag] for tag in mending.moved], dtype=np.int64)
    overalls = (mending.before.overall, mending.after.overall)
    side_by_side(skeleton_of(before), skeleton_of(after), moved, overalls).save(view / "before-after.png")
    return [listed, view / "before-after.png"]
