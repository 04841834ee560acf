"""Faults put into good trees: does the overall fall, does the right measure name it, do the offenders hold the culprit?

Run by hand: `python -m tests.bench.bench_faults [trees] [--write]`; prints the table of docs/look.md, `--write` puts
it there.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from armature.commission import changed, read
from armature.edge import GrowthError
from armature.grow import grow
from armature.look import judged
from armature.look.skeleton import Skeleton, skeleton_of
from armature.look.verdict import FINDING, Finding, Verdict
from tests.look.faults import FAULTS, Fault

PRESETS = ("garden", "courtyard", "weeping")
ACCUSED = 60.0
DOC = Path(__file__).parents[2] / "docs" / "look.md"
BEGIN, END = "<!-- faults -->", "<!-- end of faults -->"


def good_trees(count: int) -> list[tuple[str, Skeleton]]:
    """Return designs grown from the presets at other seeds than their own."""
    folder = Path(__file__).parents[2] / "presets"
    found: list[tuple[str, Skeleton]] = []
    seed = 100
    while len(found) < count:
        name = PRESETS[len(found) % len(PRESETS)]
        seed += 1
        try:
            tree = grow(changed(read(folder / f"{name}.toml"), {"seed": seed}))
        except GrowthError:
            continue
        found.append((f"{name} {seed}", skeleton_of(tree)))
    return found


def seen(before: Verdict, after: Verdict, fault: Fault) -> tuple[bool, bool, bool]:
    """Return whether the overall fell, a right measure named it, and a right measure's offenders hold the culprit."""
    was = {finding.name: finding.score for finding in before.findings}
    named = [
        finding
        for finding in after.findings
        if finding.name in fault.measures
        and finding.score < FINDING
        and finding.score < was.get(finding.name, 100.0) - 5.0
    ]
    return after.overall < before.overall - 1.0, bool(named), any(located(finding, fault) for finding in named)


def located(finding: Finding, fault: Fault) -> bool:
    """Return whether a finding points at the culprit: a member of it, its place, or its side."""
    if fault.tags and fault.tags & {str(tag) for tag in finding.offenders}:
        return True
    if fault.place is not None and len(finding.places):
        away = finding.places - fault.place
        # A hole seen from the side is placed on the plane of the picture: compare across the view and in height alone.
        if finding.name == "sky_hole":
            turn = np.radians(finding.azimuth)
            across = away[:, 1] * np.cos(turn) - away[:, 0] * np.sin(turn)
            return bool((np.hypot(across, away[:, 2]) < fault.reach).any())
        return bool((np.linalg.norm(away, axis=1) < fault.reach).any())
    if fault.azimuth is not None and np.isfinite(finding.azimuth):
        off = (finding.azimuth - fault.azimuth + 90.0) % 180.0 - 90.0
        return bool(abs(off) < 40.0)
    return False


def table(trees: list[tuple[str, Skeleton]]) -> list[str]:
    """Return the rows of the table, a fault each: in how many of the trees it was seen, named, located, at each
    strength."""
    verdicts = [judged(tree) for _, tree in trees]
    lines = ["| fault | weak: fell, named, located | medium | strong | named by |", "| --- | --- | --- | --- | --- |"]
    totals = np.zeros((3, 4))
    for number, (name, spoil) in enumerate(FAULTS.items()):
        cells, namers = [], set()
        for strength in range(3):
            counts = np.zeros(4)
            for at, (_, tree) in enumerate(trees):
                fault = spoil(tree, strength, np.random.default_rng([number, strength, at]))
                after = judged(fault.tree)
                hit = seen(verdicts[at], after, fault)
                counts += [*hit, all(hit)]
                namers |= {f.name for f in after.faults if f.name in fault.measures}
                if not all(hit) and strength and "-v" in sys.argv:
                    print(
                        name,
                        strength,
                        trees[at][0],
                        hit,
                        verdicts[at].overall,
                        after.overall,
                        fault.azimuth,
                        [
                            (f.name, round(f.value, 3), f.score, f.azimuth)
                            for f in after.findings
                            if f.name in fault.measures
                        ],
                    )
            totals[strength] += counts
            cells.append(", ".join(f"{100 * count / len(trees):.0f} %" for count in counts[:3]))
        lines.append(f"| {name} | {' | '.join(cells)} | {', '.join(sorted(namers))} |")
        print(lines[-1], flush=True)
    share = 100.0 * totals[:, 3] / (len(FAULTS) * len(trees))
    accused = [(name, v.overall) for (name, _), v in zip(trees, verdicts, strict=True) if v.overall < ACCUSED]
    lines += [
        "",
        (
            f"Seen, named and located together: weak {share[0]:.0f} %, medium {share[1]:.0f} %, strong {share[2]:.0f} %"
            f" of {len(FAULTS)} faults in {len(trees)} grown trees."
        ),
        f"Good trees accused (overall under {ACCUSED:.0f}): {len(accused)} of {len(trees)}.",
    ]
    print("\n".join(lines[-2:]), accused)
    return lines


def main() -> None:
    """Print the table, and put it into docs/look.md if asked."""
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    lines = table(good_trees(numbers[0] if numbers else 12))
    if "--write" in sys.argv:
        text = DOC.read_text(encoding="utf-8")
        head, tail = text.split(BEGIN)[0], text.split(END)[1]
        DOC.write_text(f"{head}{BEGIN}\n" + "\n".join(lines) + f"\n{END}{tail}", encoding="utf-8")


if __name__ == "__main__":
    main()
