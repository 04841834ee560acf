"""The verdict: each measure scored against its natural range, with what spoils it, and one overall figure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.look.figures import Reading
from armature.look.ranges import Range, ranges
from armature.look.readings import first_readings, full_readings
from armature.look.skeleton import Skeleton, skeleton_of
from armature.tree import Floats, Ints, Tree

# Below this a measure is called a finding. Straight fall from 100 at the edge of the range: a fifth of the way out.
FINDING = 80.0
_NAMED = 24


@dataclass(frozen=True, eq=False)
class Finding:
    """One measure of one tree.

    value, low, high: the number and its natural range. allowed: the range that scores 100, wider where few things were
    measured. score: 0 to 100, NaN where it is reported only. count: things
    it rests on. rows: members that spoil it, worst first; offenders: their tags. places: (K, 3) mm. azimuth: deg,
    where to stand, NaN if anywhere. wrong, helps: in words, empty inside the range.
    """

    range: Range
    value: float
    low: float
    high: float
    allowed: tuple[float, float]
    score: float
    count: int
    rows: Ints
    offenders: tuple[str, ...]
    places: Floats
    azimuth: float
    wrong: str
    helps: str

    @property
    def name(self) -> str:
        """Name of the measure."""
        return self.range.name


@dataclass(frozen=True, eq=False)
class Verdict:
    """What the eye says of one tree: overall 0 to 100, families by name, all findings, and those that were only
    reported."""

    overall: float
    families: dict[str, float]
    findings: tuple[Finding, ...]
    reported: tuple[Finding, ...]
    silent: tuple[str, ...]

    def __repr__(self) -> str:
        families = ", ".join(f"{name} {score:.0f}" for name, score in self.families.items())
        worst = self.faults
        wrong = f"; worst: {worst[0].wrong or worst[0].range.title}" if worst else ""
        return f"Verdict: {self.overall:.0f} of 100 ({families}){wrong}"

    @property
    def faults(self) -> tuple[Finding, ...]:
        """Findings outside their range, worst first."""
        return tuple(sorted((f for f in self.findings if f.score < FINDING), key=lambda f: (f.score, f.name)))


def first_look(tree: Tree) -> Verdict:
    """Return a quick verdict from the measures that cost little, for scoring seeds: under 30 ms for 450 members."""
    seen = skeleton_of(tree)
    return weighed(seen, first_readings(seen))


def judged(tree: Tree | Skeleton) -> Verdict:
    """Return the full verdict on a grown tree, or on the skeleton of a measured one."""
    seen = skeleton_of(tree) if isinstance(tree, Tree) else tree
    return weighed(seen, full_readings(seen))


def weighed(skeleton: Skeleton, read: dict[str, Reading]) -> Verdict:
    """Return the verdict that follows from readings."""
    scored, reported, silent = [], [], []
    for name, natural in ranges().items():
        if name not in read:
            continue
        if not np.isfinite(read[name].value):
            silent.append(name)
        elif natural.speaks_for(skeleton.designed):
            scored.append(_finding(skeleton, natural, read[name], scored=True))
        else:
            reported.append(_finding(skeleton, natural, read[name], scored=False))
    families = _families(scored)
    return Verdict(overall(families), families, tuple(scored), tuple(reported), tuple(silent))


def overall(families: dict[str, float]) -> float:
    """Return the overall figure: 100 times the product of all families' scores over 100, each to the power of a
    quarter.

    So every family counts on its own: one at 80 costs 5 points, one at 50 16, two at 20 55. No family counts under 5.
    One odd measure among many is no verdict: with three dozen measures against 5 to 95 % ranges, a natural tree leaves
    two or three.
    """
    shares = np.maximum(list(families.values()), 5.0) / 100.0
    return round(100.0 * float(np.prod(shares**0.25)), 1)


def apart_from_counts(verdict: Verdict) -> float:
    """Return the overall without the measures that only a measured tree is scored by, and a design not."""
    return overall(_families([finding for finding in verdict.findings if finding.range.scored != "measured"]))


def typical_of(verdict: Verdict) -> float:
    """Return how near a tree lies to the middle of the natural ranges: 100 in the middle of all, 0 at their edges.

    Mean over the scored measures that can be too low and too high alike, each held to -100 at least. It ranks trees
    that all read as grown by how usual they are, which is not the same as pleasing.
    """
    both = [f for f in verdict.findings if all(f.range.says) and f.high > f.low]
    off = [abs(2.0 * f.value - f.low - f.high) / (f.high - f.low) for f in both]
    return round(100.0 * (1.0 - float(np.mean(np.minimum(off, 2.0)))), 1) if off else 0.0


def _families(scored: list[Finding]) -> dict[str, float]:
    """Return each family's score: seven tenths of its worst measure, three of the mean of all."""
    names = list(dict.fromkeys(finding.range.family for finding in scored))
    scores_of = {}
    for name in names:
        scores = [finding.score for finding in scored if finding.range.family == name]
        scores_of[name] = round(float(0.3 * sum(scores) / len(scores) + 0.7 * min(scores)), 1)
    return scores_of


def _finding(skeleton: Skeleton, natural: Range, read: Reading, scored: bool) -> Finding:
    low, high = natural.limits(skeleton.designed)
    below = read.value < low or (read.value <= high and read.value - low < high - read.value)
    score = natural.scores(read.value, read.count, skeleton.designed) if scored else float("nan")
    out = score < FINDING
    rows = (read.low_rows if below else read.high_rows) if score < 100.0 else read.low_rows[:0]
    places = (read.low_places if below else read.high_places) if score < 100.0 else read.low_places[:0]
    side = 0 if below else 1
    return Finding(
        range=natural,
        value=read.value,
        low=low,
        high=high,
        allowed=natural.allowed(read.count, skeleton.designed),
        score=score,
        count=read.count,
        rows=rows,
        offenders=tuple(str(tag) for tag in skeleton.tags[rows[:_NAMED]]),
        places=places,
        azimuth=read.azimuth,
        wrong=natural.says[side] if out else "",
        helps=natural.helps[side] if out else "",
    )
