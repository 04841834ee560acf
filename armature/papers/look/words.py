"""The verdict in words: where to stand, where to look, what is wrong, what would help."""

from __future__ import annotations

import numpy as np

from armature.look import Finding, Skeleton, Verdict, apart_from_counts
from armature.tree import Floats

EXPLAINED = (
    "Each measure scores 100 inside its natural range and falls in a straight line beyond it. Where few things were"
    " measured chance alone takes them out of it, and the range that scores 100 is wider, as told. A family scores"
    " seven tenths of its worst measure and three of the mean of all. The overall is 100 times the product of the"
    " families' scores over 100, each to the power of a quarter: a family at 80 costs 5 points, one at 50 16. Natural"
    " is not the same as pleasing: the figure speaks for natural."
)


def in_words(skeleton: Skeleton, verdict: Verdict) -> list[str]:
    """Return one paragraph a fault, worst first; one line if there is none."""
    faults = verdict.faults
    if not faults:
        return ["Nothing stands out: every measure lies in its natural range or close by."]
    return [fault_in_words(skeleton, fault) for fault in faults]


def fault_in_words(skeleton: Skeleton, fault: Finding) -> str:
    """Return what to do about one fault: stand, look, wrong, helps, and the number it rests on."""
    number = f"{fault.range.title}: {shown(fault, fault.value)}, natural {natural_range(fault)}{widened(fault)}"
    wrong = fault.wrong[:1].upper() + fault.wrong[1:]
    return f"{wrong}. {_where(skeleton, fault)} To help: {fault.helps}. ({number}; score {fault.score:.0f}.)"


def shown(fault: Finding, value: float) -> str:
    """Return a value with the unit and the decimals of its measure."""
    unit = {"": "", "%": " %"}.get(fault.range.unit, f" {fault.range.unit}")
    return f"{value:.{fault.range.decimals}f}{unit}"


def natural_range(fault: Finding) -> str:
    """Return the natural range of a measure: `40 to 80 deg`, `up to 18 deg`, or `none`."""
    return _span(fault, fault.low, fault.high)


def widened(fault: Finding) -> str:
    """Return the range that scores 100 where it is wider than the natural one, as in ` (31 to 89 deg with 5 measured)`,
    else nothing."""
    span = _span(fault, *fault.allowed)
    return "" if span == natural_range(fault) else f" ({span} with {fault.count} measured)"


def _span(fault: Finding, low: float, high: float) -> str:
    if low <= fault.range.least:
        return "none" if high <= fault.range.least else f"up to {shown(fault, high)}"
    return f"{low:.{fault.range.decimals}f} to {shown(fault, high)}"


def judged_as(skeleton: Skeleton, verdict: Verdict) -> str:
    """Return how a tree was judged, as made or as measured from life, and what that makes of its score."""
    if skeleton.designed:
        return "judged as a design: how many members of each rank is the commission's to say, reported and not scored"
    told = [
        f"{f.range.title} {f.score:.0f}" for f in verdict.findings if f.range.scored == "measured" and f.score < 100.0
    ]
    line = "judged as a tree measured from life: its counts by rank are scored, as a design's are not"
    if not told:
        return line
    return f"{line} ({', '.join(told)}); apart from these {apart_from_counts(verdict):.0f} of 100"


def standing(skeleton: Skeleton, fault: Finding) -> float:
    """Return the azimuth, deg from +x toward +y, from which a finding shows best.

    Its own, or the side on which its members and places lie nearest to the viewer.
    """
    if np.isfinite(fault.azimuth):
        return float(fault.azimuth)
    spots = spoilt_spots(skeleton, fault)
    if len(spots) == 0:
        return 0.0
    out = spots[:, :2].mean(axis=0) - skeleton.foot[:2]
    return float(np.round(np.degrees(np.arctan2(out[1], out[0])) % 360.0 / 15.0) * 15.0 % 360.0)


def spoilt_spots(skeleton: Skeleton, fault: Finding) -> Floats:
    """Return the places of a finding, or else the middles of the members that spoil it: (K, 3) mm."""
    if len(fault.places):
        return fault.places
    rows = fault.rows[:12]
    return skeleton.located(rows, skeleton.lengths[rows] / 2.0)[0]


def _where(skeleton: Skeleton, fault: Finding) -> str:
    spots = spoilt_spots(skeleton, fault)
    stand = f"Stand at {standing(skeleton, fault):.0f} deg (0 is +x, 90 is +y)"
    if len(spots) == 0:
        return stand + "; any side shows it."
    heights = spots[:, 2] - float(skeleton.points[:, 2].min())
    low, high = float(heights.min()) / 1000.0, float(heights.max()) / 1000.0
    level = f"{low:.1f} m" if high - low < 0.15 else f"{low:.1f} to {high:.1f} m"
    named = ", ".join(fault.offenders[:6]) + (f" and {len(fault.rows) - 6} more" if len(fault.rows) > 6 else "")
    return f"{stand} and look at {level} above the foot" + (f": {named}." if named else ".")


def family_lines(verdict: Verdict) -> list[str]:
    """Return one line a family: its score and its worst measure."""
    lines = []
    for family, score in verdict.families.items():
        own = [finding for finding in verdict.findings if finding.range.family == family]
        worst = min(own, key=lambda finding: finding.score)
        note = "" if worst.score >= 100.0 else f"; worst: {worst.range.title} ({worst.score:.0f})"
        lines.append(f"{family} {score:.0f}{note}")
    return lines
