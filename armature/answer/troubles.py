"""What to do about made steel, in order of trouble: make it anew, bend it back, or take it as it is.

Size letters: B bends of a member.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from armature.answer.answering import Answer
from armature.answer.forged import Wanted, aimed, lean_of, wanted_of
from armature.answer.standing import Standing
from armature.grow import LEAST_LEAN, MOST_LEANS
from armature.made import Steel
from armature.tree import BendList, joints

if TYPE_CHECKING:
    from armature.commission import Commission

REMAKE, BACK, ACCEPT = "make anew", "bend back", "accept"
# Tips further from their places than so many times the fit have lost them.
LOST = 3.0
# A bar this many times the fit off its line is worth a heat even where all that it carries keeps its place.
_FAR = 6.0
# A bend is worth going back to the fire for where that takes away so much of what the bar is off.
_WORTH, _TRY, _STEPS, _LONGEST = 0.4, 2.0, 4, 15.0


@dataclass(frozen=True)
class Trouble:
    """One measured member: what to do; how far its line lies off its plan, mm; at which bend it is bent back by how
    many degrees (more where positive), 0 for none, and what is then left, mm; whose places are lost; what it touches;
    the lean, deg, that no weld reaches, NaN where one does."""

    tag: str
    verdict: str
    off_mm: float
    bend: int
    by_deg: float
    left_mm: float
    lost: tuple[str, ...]
    touches: tuple[str, ...]
    lean_deg: float


def troubles(answer: Answer, commission: Commission, steel: Steel) -> tuple[Trouble, ...]:
    """Return what to do about each measured member, worst first."""
    at = {tag: number for number, tag in enumerate(steel.tags.tolist())}
    told = [
        _told(answer, commission, steel, row, at[str(answer.tree.tags[row])])
        for row in np.flatnonzero(answer.measured).tolist()
    ]
    order = (REMAKE, BACK, ACCEPT)
    return tuple(sorted(told, key=lambda each: (order.index(each.verdict), -round(each.off_mm, 6), each.tag)))


def _told(answer: Answer, commission: Commission, steel: Steel, row: int, number: int) -> Trouble:
    tree, fit = answer.tree, commission.shop.anvil.fit
    children = np.flatnonzero((tree.parents == row) & ~answer.exists & (answer.moved > LOST * fit))
    lost = tuple(tree.tags[children].tolist())
    pairs = [(each.one, each.other) for each in answer.meetings if row in (each.one, each.other)]
    touches = tuple(sorted(str(tree.tags[other if one == row else one]) for one, other in pairs))
    lean = _odd_lean(answer, row)
    off = float(answer.offs[row])
    tag, needed = str(tree.tags[row]), bool(touches) or np.isfinite(lean)
    if not needed and off <= (LOST if lost else _FAR) * fit:
        return Trouble(tag, ACCEPT, off, 0, 0.0, off, lost, (), np.nan)
    bend, by, left = _bent_back(answer, steel, row, number)
    helps = left < (1.0 - _WORTH) * off
    verdict = BACK if helps else (REMAKE if needed or lost else ACCEPT)
    found = (bend, by, left) if helps else (0, 0.0, off)
    return Trouble(tag, verdict, off, *found, lost, touches, lean)


def _odd_lean(answer: Answer, row: int) -> float:
    tree = answer.tree
    if tree.parents[row] < 0:
        return np.nan
    lean = lean_of(Standing(tree, joints(tree).chalks), row)
    most = MOST_LEANS.get(int(tree.ranks[row]), 115.0)
    return np.nan if LEAST_LEAN <= lean <= most else lean


def _bent_back(answer: Answer, steel: Steel, row: int, number: int) -> tuple[int, float, float]:
    """Return the one bend, and by how many degrees, that brings a bar nearest to its plan, and what is then left, mm.

    The square of what is left is close to a parabola in the angle near its lowest place, which a few steps find.
    """
    plan, bends = answer.plan, steel.bends.taken(np.array([number]))
    wanted = wanted_of(plan, row, plan.summed_to_root(np.ones(len(plan))))
    standing = Standing(answer.tree, joints(answer.tree).chalks)
    best = (0, 0.0, float(answer.offs[row]))
    for bend in range(len(bends.bends)):
        by = 0.0
        for _ in range(_STEPS):
            squares = [_left(standing, row, bends, bend, by + off, wanted) ** 2 for off in (-_TRY, 0.0, _TRY)]
            curve, slope = squares[0] - 2.0 * squares[1] + squares[2], squares[0] - squares[2]
            # Where it is no valley yet the way is down, by the longest step.
            step = _TRY * slope / (2.0 * curve) if curve > 1e-9 else _LONGEST * float(np.sign(slope))
            by += float(np.clip(step, -_LONGEST, _LONGEST))
        left = _left(standing, row, bends, bend, by, wanted)
        if round(left, 6) < round(best[2], 6):
            best = (bend + 1, round(by, 1), left)
    return best


def _left(standing: Standing, row: int, bends: BendList, bend: int, by: float, wanted: Wanted) -> float:
    angles = bends.bends.copy()
    arcs = bends.radii * np.radians(angles)
    angles[bend] = max(angles[bend] + by, 0.5)
    return aimed(standing, row, replace(bends, bends=angles, radii=arcs / np.radians(angles)), wanted).off
