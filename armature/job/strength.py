"""The engineer's part of a job: strength.json, strength.md, and what they come to in a line."""

from __future__ import annotations

import json
from pathlib import Path

from armature.files import Finding, record
from armature.papers.strength import page
from armature.strength import Assessment


def write_strength(folder: Path, assessment: Assessment) -> Finding:
    """Write strength.json and strength.md into a folder; return what they say, for the summary."""
    said = record(assessment)
    (folder / "strength.json").write_text(json.dumps(said, indent=1, ensure_ascii=False) + "\n", "utf-8", newline="\n")
    (folder / "strength.md").write_text(page(said), "utf-8", newline="\n")
    verdict = said["verdict"]
    return Finding(
        f"{verdict['word']} (a design aid, not a certificate)",
        {
            "worst_ratio": round(float(said["worst_ratio"]), 3),
            **{f"worst_ratio_leaves_{key}": round(each, 3) for key, each in said["worst_ratio_by_leaves"].items()},
        },
        [*verdict["reasons"][:8], *([verdict["years"]] if verdict["years"] else []), *verdict["gaps"][:8]],
    )


def standing(finding: Finding | None) -> str:
    """Return whether the tree stands and the worst ratio, in one line; empty where strength was left out."""
    if finding is None:
        return ""
    return f"{finding.verdict}; worst ratio {finding.figures['worst_ratio']}, over 1 fails"
