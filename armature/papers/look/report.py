"""What a judgement leaves behind: look.json, look.md and the pictures."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence

from armature.look import Finding, Skeleton, Verdict, ranges
from armature.papers.look.words import (
    EXPLAINED,
    family_lines,
    fault_in_words,
    in_words,
    judged_as,
    natural_range,
    shown,
    standing,
    widened,
)


def look_json(skeleton: Skeleton, verdict: Verdict, repairs: Sequence[str] = ()) -> str:
    """Return look.json: `overall`, `families`, `measures` (scored), `reported` (not scored), `not_measured`, `repairs`.

    Each measure: name, value, low, high, score, offenders, and what it needs to be read by itself.
    """
    table = {
        "format": "armature.look",
        # 2: its marker was `kind`.
        "version": 2,
        "overall": verdict.overall,
        "explained": EXPLAINED,
        "families": verdict.families,
        "judged_as": "made" if skeleton.designed else "measured",
        "judged_as_says": judged_as(skeleton, verdict),
        "members": len(skeleton),
        "height_mm": round(float(skeleton.points[:, 2].max() - skeleton.points[:, 2].min()), 3),
        "measures": [_row(skeleton, finding, scored=True) for finding in verdict.findings],
        "reported": [_row(skeleton, finding, scored=False) for finding in verdict.reported],
        "not_measured": [{"name": name, "title": ranges()[name].title} for name in verdict.silent],
        "words": in_words(skeleton, verdict),
        "repairs": list(repairs),
    }
    return json.dumps(table, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _row(skeleton: Skeleton, finding: Finding, scored: bool) -> dict[str, object]:
    row: dict[str, object] = {
        "name": finding.name,
        "title": finding.range.title,
        "family": finding.range.family,
        "unit": finding.range.unit,
        "value": round(finding.value, 4),
        "low": finding.low,
        "high": finding.high,
        "low_allowed": round(finding.allowed[0], 4),
        "high_allowed": round(finding.allowed[1], 4),
        "count": finding.count,
        "source": finding.range.source,
    }
    if not scored:
        return row
    row["score"] = finding.score
    row["offenders"] = list(finding.offenders)
    row["places_mm"] = [[round(float(x), 1) for x in place] for place in finding.places[:12]]
    row["azimuth_deg"] = round(finding.azimuth, 1) if math.isfinite(finding.azimuth) else None
    if finding.wrong:
        row["stand_at_deg"] = round(standing(skeleton, finding), 1)
        row["wrong"], row["helps"] = finding.wrong, finding.helps
    return row


def look_md(skeleton: Skeleton, verdict: Verdict, repairs: Sequence[str] = (), name: str = "") -> str:
    """Return the judgement as a page to read at the tree."""
    lines = [f"# The look{f' of {name}' if name else ''}: {verdict.overall:.0f} of 100", ""]
    said = judged_as(skeleton, verdict)
    lines += [f"{said[:1].upper()}{said[1:]}.", ""]
    lines += [f"Repaired on reading: {repair}." for repair in repairs]
    lines += [""] if repairs else []
    lines += ["## What a shaping hand would do", ""]
    faults = verdict.faults
    lines += [f"{number}. {fault_in_words(skeleton, fault)}" for number, fault in enumerate(faults, start=1)]
    lines += [] if faults else ["Nothing stands out: every measure lies in its natural range or close by."]
    lines += ["", "## How the figure is made up", "", EXPLAINED, ""]
    lines += [f"- {line}" for line in family_lines(verdict)]
    lines += ["", "## All measures", "", "| measure | value | natural | score |", "| --- | --- | --- | --- |"]
    lines += [_table_row(finding) for finding in (*verdict.findings, *verdict.reported)]
    return "\n".join(lines) + "\n"


def _table_row(finding: Finding) -> str:
    score = f"{finding.score:.0f}" if math.isfinite(finding.score) else "not scored"
    natural = natural_range(finding) + (widened(finding) if math.isfinite(finding.score) else "")
    return f"| {finding.range.title} | {shown(finding, finding.value)} | {natural} | {score} |"
