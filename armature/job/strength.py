"""The engineer's part of a job: strength.json, strength.md, strength/, and what they come to in a line."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from armature.files import Finding, model_csvs, record
from armature.papers.strength import page
from armature.strength import Assessment, checks, verdict


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
        from armature.papers.strength import calculation_pdf

        (inside / "calculation.pdf").write_bytes(calculation_pdf(assessment, title))
    told = said["verdict"]
    return Finding(
        f"{told['word']} (a design aid, not a certificate)",
        {
            "worst_ratio": round(float(said["worst_ratio"]), 3),
            **{f"worst_ratio_leaves_{key}": round(each, 3) for key, each in said["worst_ratio_by_leaves"].items()},
        },
        [*told["reasons"][:8], *([told["years"]] if told["years"] else []), *told["gaps"][:8]],
    )


def standing_line(finding: Finding | None) -> str:
    """Return whether the tree stands and the worst ratio, in one line; empty where strength was left out."""
    if finding is None:
        return ""
    return f"{finding.verdict}; worst ratio {finding.figures['worst_ratio']}, over 1 fails"


@dataclass(frozen=True)
class Standing:
    """Whether a tree stands, in one line; why not, and what was not checked, a line each; the rows (K,) of members that
    fall short, worst first."""

    stands: bool
    says: str
    reasons: tuple[str, ...] = ()
    rows: tuple[int, ...] = ()


def standing_of(assessment: Assessment) -> Standing:
    """Return whether a tree stands, in words: how many fall short and by how much, a line a reason."""
    rows = checks(assessment)
    said = verdict(assessment, rows)
    over = np.flatnonzero(assessment.ratios > 1.0)
    worst = over[np.argsort(-assessment.ratios[over], kind="stable")]
    short = [
        f"{row.title}: at {row.member} {row.ratio:.2f} times what is allowed, {len(row.over)} over in all"
        for row in rows
        if row.ratio > 1.0 and row.over and not row.aside
    ]
    says = "Not proven to stand: something it must be checked for is not known."
    if said.passes:
        says = f"Stands: no check asks more than {100.0 * float(assessment.ratios.max()):.0f} % of what is allowed."
    elif said.word == "fails":
        says = f"Does not stand yet: {len(over)} of {len(assessment.tree)} members fall short."
    return Standing(said.passes, says, (*short[:4], *said.gaps), tuple(worst[:80].tolist()))
