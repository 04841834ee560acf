"""The two sweeps: forces from the tips to the root, movement from the root to the tips.

A tree without cross-ties is statically determinate, so no matrix is solved. Forces and moments about the origin only
add up toward the root; a rigid motion, written as a turn and as the movement it gives the origin, only adds up toward
the tips. Both sweeps are therefore running sums along members, with one step per depth of joints between them.

Size letters: M members, N nodes, C load cases. A load case's forces are rows (Fx, Fy, Fz, Mx, My, Mz), N and N mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from armature.strength.frame import Frame
from armature.strength.layout import empty, picked, zeros
from armature.tree import Floats, Ints

# Numbers worked on at a time, of one row of one axis: fewer cost time, more leave the processor's cache.
BLOCK = 8192


@dataclass(frozen=True, eq=False)
class Loads:
    """C load cases: points (N, 3, C) N at nodes; lines (N, 2, 3, C) N/mm at the two Gauss points of each element.

    No lines where nothing lies along the elements.
    """

    points: Floats
    lines: Floats | None = None

    def __add__(self, other: Loads) -> Loads:
        if self.lines is None or other.lines is None:
            return Loads(self.points + other.points, other.lines if self.lines is None else self.lines)
        return Loads(self.points + other.points, self.lines + other.lines)

    def __mul__(self, factor: float) -> Loads:
        return Loads(self.points * factor, None if self.lines is None else self.lines * factor)


@dataclass(frozen=True, eq=False)
class Forces:
    """What each cross-section hands on toward the root, from all that lies beyond it: rows about the node's own point.

    beyond: (N, 6, C) just on the tip side of each node. within: (N, 6, C) just on its root side, with the loads
    and the members that sit at the node.
    """

    beyond: Floats
    within: Floats


def forces(frame: Frame, loads: Loads) -> Forces:
    """Return the forces in every cross-section by one sweep from the tips to the root.

    Exact for straight members, whatever their taper; on an arc the load of one element is summed at two points of it.

    >>> from tests.trees import post
    >>> from armature.strength.frame import frame
    >>> cut = frame(post())
    >>> points = np.zeros((len(cut), 3, 1)); points[-1, 0, 0] = 10.0
    >>> foot = forces(cut, Loads(points, np.zeros((len(cut), 2, 3, 1)))).beyond[0, :, 0]
    >>> foot.round(6).tolist()
    [10.0, 0.0, 0.0, 0.0, 10000.0, 0.0]
    """
    busy = _busy(frame, loads)
    at_busy, before = _about_origin(frame, loads, busy)
    beyond = _carried(frame, at_busy, before, busy)
    _about(beyond, frame.points)
    _about(at_busy, picked(frame.points, busy))
    within = beyond.copy(order="F")
    within[busy] += at_busy
    return Forces(beyond, within)


def _busy(frame: Frame, loads: Loads) -> Ints:
    """Return the nodes at which something hangs or a member sits: only there does a force differ on the two sides."""
    some = np.asarray(loads.points.any(axis=(1, 2)))
    some[frame.joints] = True
    return np.flatnonzero(some)


def _carried(frame: Frame, at_busy: Floats, before: Floats, busy: Ints) -> Floats:
    """Return, for each node, the sum of what lies beyond it: (N, 6, C), written over `before`.

    at_busy: (B, 6, C) at the nodes `busy`; before: (N, 6, C) on the element that ends at each. What each member carries
    in all is added to `at_busy` at the node that holds it.
    """
    before[busy] += at_busy
    totals = np.add.reduceat(before, frame.offsets[:-1], axis=0)
    tree = frame.tree
    for level in tree.levels[:0:-1]:
        add_at(totals, tree.parents[level], totals[level])
    kids = np.flatnonzero(frame.parent_nodes >= 0)
    if len(kids):
        add_at(at_busy, np.searchsorted(busy, frame.parent_nodes[kids]), totals[kids])
        add_at(before, frame.parent_nodes[kids], totals[kids])
    # A difference of running sums carries only the rounding made between its ends, so a twig stays exact in a forest.
    np.cumsum(before, axis=0, out=before)
    ends = before[frame.offsets[1:] - 1]
    for rows in blocks(len(frame), before.shape[2]):
        np.subtract(picked(ends, frame.members[rows]), before[rows], out=before[rows])
    return before


def blocks(count: int, cases: int) -> Iterator[slice]:
    """Yield runs of rows of so many cases, short enough to work in the processor's cache."""
    step = max(BLOCK // max(cases, 1), 64)
    for first in range(0, count, step):
        yield slice(first, min(first + step, count))


def add_at(sums: Floats, rows: Ints, values: Floats) -> None:
    """Add `values` (n, ...) to `sums` at `rows` (n,), some of them more than once, in place."""
    order = np.argsort(rows, kind="stable")
    ranked = rows[order]
    firsts = np.flatnonzero(np.diff(ranked, prepend=-1))
    sums[ranked[firsts]] += np.add.reduceat(values[order], firsts, axis=0)


def _about_origin(frame: Frame, loads: Loads, busy: Ints) -> tuple[Floats, Floats]:
    """Return the loads at the nodes `busy`, (B, 6, C), and on the element that ends at each, (N, 6, C), as rows about
    the origin.
    """
    count, _, cases = loads.points.shape
    at_busy, before = empty(len(busy), 6, cases), zeros(count, 6, cases)
    at_busy[:, :3] = picked(loads.points, busy)
    at_busy[:, 3:] = crossed(picked(frame.points, busy)[:, :, None], at_busy[:, :3])
    if loads.lines is None:
        return at_busy, before
    for rows in blocks(count - 1, cases):
        after = slice(rows.start + 1, rows.stop + 1)
        half = frame.spans[rows, None, None] / 2.0
        for number, (points, *_) in enumerate(frame.load_places):
            force = loads.lines[rows, number] * half
            before[after, :3] += force
            before[after, 3:] += crossed(points[rows, :, None], force)
    return at_busy, before


def _about(rows: Floats, points: Floats) -> None:
    """Move the moments of `rows` (N, 6, C) from the origin to the points (N, 3)."""
    for some in blocks(len(rows), rows.shape[2]):
        rows[some, 3:] -= crossed(points[some, :, None], rows[some, :3])


def crossed(left: Floats, right: Floats) -> Floats:
    """Return the cross products along axis 1: (N, 3, C); either side may have one case for all."""
    product = empty(*np.broadcast_shapes(left.shape, right.shape))
    np.subtract(left[:, 1] * right[:, 2], left[:, 2] * right[:, 1], out=product[:, 0])
    np.subtract(left[:, 2] * right[:, 0], left[:, 0] * right[:, 2], out=product[:, 1])
    np.subtract(left[:, 0] * right[:, 1], left[:, 1] * right[:, 0], out=product[:, 2])
    return product


@dataclass(frozen=True, eq=False)
class Movement:
    """Movement of every node: shifts (N, 3, C) mm and turns (N, 3, C) radians."""

    shifts: Floats
    turns: Floats


def movement(frame: Frame, steps: Floats) -> Movement:
    """Return how every node moves, by one sweep from the root to the tips, written over `steps`.

    steps: (N, 6, C), how far each node moves (mm) and turns (radians) against the node before it on its member; zero
    where a member starts. The ground holds the trunk; a member's start moves with the node that holds it.
    """
    _shifted(steps, frame.points, -1.0)
    np.cumsum(steps, axis=0, out=steps)
    # A member's start has no step of its own, so the running sum there is that of all before it.
    offs = -steps[frame.offsets[:-1]]
    for level in frame.tree.levels[1:]:
        parent_nodes = frame.parent_nodes[level]
        offs[level] += steps[parent_nodes] + offs[frame.members[parent_nodes]]
    for rows in blocks(len(frame), steps.shape[2]):
        steps[rows] += picked(offs, frame.members[rows])
    _shifted(steps, frame.points, 1.0)
    return Movement(steps[:, :3], steps[:, 3:])


def _shifted(steps: Floats, points: Floats, sign: float) -> None:
    """Turn shifts of the points (N, 3) into those of the origin moving with them, or back where `sign` is 1."""
    for rows in blocks(len(steps), steps.shape[2]):
        steps[rows, :3] += sign * crossed(steps[rows, 3:], points[rows, :, None])
