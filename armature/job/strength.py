"""The engineer's part of a job: strength.json, strength.md, strength/, and what they come to in a line."""

from __future__ import annotations

import json
from pathlib import Path

from armature.files import Finding, model_csvs, record
from armature.papers.strength import calculation_pdf, page
from armature.strength import Assessment


def write_strength(folder: Path, assessment: Assessment, title: str, papers: bool = True) -> Finding:
    """Write strength.json, strength.md and strength/ into a folder; return what they say, for the summary.

    strength/ holds the frame for another solver as CSV and, where papers are asked for, the calculation to follow.
    """
    said = record(assessment)
    (folder / "strength.json").write_text(json.dumps(said, indent=1, ensure_ascii=False) + "\n", "utf-8", newline="\n")
    (folder / "strength.md").write_text(page(said), "utf-8", newline="\n")
    inside = folder / "strength"
    inside.mkdir(parents=True, exist_ok=True)
    for name, text in model_csvs(assessment).items():
        (inside / name).write_text(text, "utf-8", newline="\n")
    if papers:
        (inside / "calculation.pdf").write_bytes(calculation_pdf(assessment, title))
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
