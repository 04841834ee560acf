"""Mending: move only what spoils the look, keep what is made, and stop when nothing more is gained.

Each round takes the finding that costs most, tries a few moves against it, and keeps them if the overall rises. A
finding that resists is left for others. Counts, sizes and bars stay as they are.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from armature.edge import CommissionError
from armature.look.hand_moves import fits, room_of, still_hangs
from armature.look.proposals import FIXED, Luck, candidates, tried
from armature.look.verdict import Finding, Verdict, judged
from armature.tree import ROOT, Ints, Tree

if TYPE_CHECKING:
    from armature.commission import Commission

_GAIN = 0.05
_ENOUGH = 99.0


@dataclass(frozen=True)
class Step:
    """One round that helped: the finding it went against, the members moved, and the overall after it."""

    finding: str
    tags: tuple[str, ...]
    overall: float


@dataclass(frozen=True, eq=False)
class Mending:
    """What mending did: the verdicts before and after, the rounds that helped, and the members that are not as they
    were."""

    before: Verdict
    after: Verdict
    steps: tuple[Step, ...]

    @property
    def moved(self) -> tuple[str, ...]:
        """Tags of the members that were moved or bent anew, those they carry left out."""
        return tuple(sorted({tag for step in self.steps for tag in step.tags}))


def refined(
    tree: Tree,
    commission: Commission,
    made: Collection[str] = (),
    rounds: int = 24,
    told: Callable[[float], None] = lambda _share: None,
    where: str = "made",
) -> tuple[Tree, Mending]:
    """Return the tree with what spoils the look moved, and what was done.

    made: tags of forged members: they, and whatever carries or would carry them, stay to the last bend. rounds: at
    most so many tries of a handful of moves each. where: what an error names as the place of the tags. The same tree,
    commission and list give the same result. Raises CommissionError for a tag that the tree does not have.
    """
    free = free_rows(tree, made, where)
    before = verdict = judged(tree)
    steps: list[Step] = []
    tries: dict[str, int] = {}
    for attempt in range(rounds):
        told(attempt / rounds)
        finding = _next(verdict, tries)
        if finding is None or verdict.overall >= _ENOUGH:
            break
        tries[finding.name] = tries.get(finding.name, 0) + 1
        moved, rows = _round(tree, commission, finding, free, attempt)
        if not len(rows):
            continue
        looked = judged(moved)
        if looked.overall > verdict.overall + _GAIN:
            tree, verdict = moved, looked
            steps.append(Step(finding.name, tuple(str(tag) for tag in moved.tags[rows]), looked.overall))
            tries[finding.name] -= 1
    return tree, Mending(before, verdict, tuple(steps))


def free_rows(tree: Tree, made: Collection[str] = (), where: str = "made") -> Ints:
    """Return the members that may be moved: not the trunk, no root, not made, and carrying nothing made.

    where: what an error names as the place of the tags. Raises CommissionError for a tag that the tree does not have.
    """
    fixed = np.zeros(len(tree), dtype=bool)
    fixed[(tree.parents < 0) | (tree.ranks == ROOT)] = True
    for tag in sorted(made):
        row = tree.rows.get(tag, -1)
        if row < 0:
            raise CommissionError(where, "must list tags of this tree", tag)
        while row >= 0:
            fixed[row] = True
            row = int(tree.parents[row])
    return np.flatnonzero(~fixed)


def _next(verdict: Verdict, tries: dict[str, int]) -> Finding | None:
    """Return the finding to go against: the lowest score, each vain try counting as twelve points more."""
    open_to = [f for f in verdict.findings if f.score < 100.0 and f.name not in FIXED and f.range.family != "leaves"]
    ranked = sorted(open_to, key=lambda f: (f.score + 12.0 * tries.get(f.name, 0), f.name))
    return ranked[0] if ranked and tries.get(ranked[0].name, 0) < 8 else None


def _round(tree: Tree, commission: Commission, finding: Finding, free: Ints, attempt: int) -> tuple[Tree, Ints]:
    """Return the tree after one handful of moves that fit, and the members moved."""
    luck = Luck(commission.seed, tree, f"{finding.name} {attempt}")
    room = room_of(tree, commission)
    # What makes a weeping crown is that it hangs: no look is worth a twig of it that stands.
    weeps = commission.canopy.habit == "pendulous"
    done: list[int] = []
    taken = np.zeros(len(tree), dtype=bool)
    most = 24 if attempt % 2 else 8
    for row in candidates(tree, finding, free, luck, most).tolist():
        load = tree.subtree(row)
        if taken[load].any() or len(done) >= most:
            continue
        moved = tried(tree, finding, row, luck, room.growing.least_bend)
        if moved is None or (weeps and not still_hangs(tree, moved, row)):
            continue
        room_left = room.without(load)
        pieces = fits(moved, row, room_left)
        if pieces is not None:
            tree, room = moved, room_left.with_pieces(pieces)
            taken[load] = True
            done.append(row)
    return tree.rounded(), np.array(done, dtype=np.int64)
