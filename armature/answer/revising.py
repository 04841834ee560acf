"""Cards that no longer hold: which, why, and what changed on them.

A card has revision 1 when it is first printed, and the next number each time its figures change; rounds count the times
that any did.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from armature.answer.answering import Answer
from armature.answer.unmade import STANDS
from armature.tree import BendList, Joints, Tree, bend_list, joints

# Figures that differ by less are the same figure: rounding of the arithmetic.
_SAME = 1e-4


@dataclass(frozen=True)
class Change:
    """One figure of a card, before and after: its name, mm or deg as its kind says."""

    name: str
    kind: str
    before: float
    after: float


@dataclass(frozen=True)
class Revision:
    """The latest revision of a card: its number, the round in which it changed, why, and what changed (told once, when
    it does; in words from then on)."""

    tag: str
    number: int
    round: int
    reason: str
    changed: str


def changes(
    printed: Tree, tree: Tree, made: Collection[str], welded: Collection[str] = ()
) -> dict[str, tuple[Change, ...]]:
    """Return what changed on cards that are still needed, by tag, in the order of the tree.

    made: members that exist: of them only the joint is still to come. welded: those of which nothing is.
    """
    before, after = (joints(each) for each in (printed, tree))
    bent_before, bent_after = bend_list(printed.chains), bend_list(tree.chains)
    found = {}
    for row, tag in enumerate(tree.tags.tolist()):
        old = printed.rows.get(tag, -1)
        if tag in welded or old < 0:
            continue
        told = _of_joint(before, old, after, row)
        if tag not in made:
            length = Change("length", "mm", float(printed.lengths[old]), float(tree.lengths[row]))
            told = (*told, *_of_bends(bent_before, old, bent_after, row), length)
        told = tuple(each for each in told if abs(each.after - each.before) > _SAME)
        if told:
            found[tag] = told
    return found


def _of_joint(before: Joints, old: int, after: Joints, row: int) -> tuple[Change, ...]:
    names = (("at", "mm", "feet"), ("clock", "deg", "clocks"), ("lean", "deg", "leans"), ("roll", "deg", "rolls"))
    return tuple(
        Change(name, kind, float(getattr(before, own)[old]), float(getattr(after, own)[row]))
        for name, kind, own in names
    )


def _of_bends(before: BendList, old: int, after: BendList, row: int) -> tuple[Change, ...]:
    was, now = np.flatnonzero(before.members == old), np.flatnonzero(after.members == row)
    found = []
    for number, (one, other) in enumerate(zip(was.tolist(), now.tolist(), strict=False), start=1):
        found.append(Change(f"bend {number}", "deg", float(before.bends[one]), float(after.bends[other])))
        found.append(Change(f"bend {number} begins", "mm", float(before.marks[one]), float(after.marks[other])))
    return tuple(found)


def reason_of(answer: Answer, row: int) -> str:
    """Return why a card changed: the nearest member below that came out otherwise, that it had to give way, or that
    what moved it was taken back."""
    if answer.measured[row]:
        return "as made itself"
    if answer.ways[row] == STANDS:
        return "as planned again"
    at = int(answer.tree.parents[row])
    while at >= 0:
        if answer.measured[at]:
            return f"{answer.tree.tags[at]} as made"
        at = int(answer.tree.parents[at])
    return "moved clear"


def revised(
    before: Mapping[str, Revision], changed: Mapping[str, str], reasons: Mapping[str, str]
) -> dict[str, Revision]:
    """Return the latest revision of every card that has more than one.

    before: as they were. changed: in words what changed on cards this time; reasons: why.
    """
    after = dict(before)
    last = max((each.round for each in before.values()), default=0) + 1
    for tag, words in changed.items():
        number = before[tag].number + 1 if tag in before else 2
        after[tag] = Revision(tag, number, last, reasons[tag], words)
    return after
