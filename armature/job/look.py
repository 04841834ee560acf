"""What the eye says, for the summary."""

from __future__ import annotations

from armature.files import Finding
from armature.look import Verdict


def look_finding(verdict: Verdict) -> Finding:
    """Return what the eye says, for the summary."""
    reads = "reads as grown" if verdict.overall >= 70.0 else "has spots where the eye will stumble"
    figures = {
        "score": round(verdict.overall, 1),
        **{name: round(score, 1) for name, score in verdict.families.items()},
    }
    return Finding(reads, figures, [f"{fault.wrong}: {fault.helps}" for fault in verdict.faults])
