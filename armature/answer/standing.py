"""A tree in the making: members placed level by level, each on its parent as it really is.

Size letters: M members, Q members of one level.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.tree import BendList, Chains, Floats, Ints, Tree, bent, chalk_lines, dot, joined, parent_frames, turned


class Standing:
    """The tree as far as it is placed; what is not placed yet stands as planned."""

    def __init__(self, plan: Tree, chalks: Floats) -> None:
        """Begin with the plan; chalks: (M, 3) chalk direction at each START."""
        self.tree = plan
        self.chalks = chalks.copy()
        self.lines = chalk_lines(plan.chains, chalks)
        self.moved = np.zeros(len(plan), dtype=bool)

    def frames(self, rows: Ints, stations: Floats) -> tuple[Floats, Floats, Floats]:
        """Return P, direction and chalk direction (Q, 3) at stations (Q,) mm on the parents of rows (Q,)."""
        tree = self.tree
        return parent_frames(tree.chains, self.lines, tree.parents[rows], stations, tree.bases[rows])

    def put(
        self, rows: Ints, chains: Chains, chalks: Floats, stations: Floats, setbacks: Floats, longer: Floats
    ) -> None:
        """Place members (Q,) with their centrelines, chalk directions (Q, 3), stations and setbacks (Q,) mm; longer:
        (Q,) their length over that planned, by which their tapers are stretched."""
        tree = self.tree
        order = np.arange(len(tree))
        order[rows] = len(tree) + np.arange(len(rows))
        at, back, shares = tree.stations.copy(), tree.setbacks.copy(), np.ones(len(tree))
        at[rows], back[rows], shares[rows] = stations, setbacks, longer
        placed = joined([tree.chains, chains]).taken(order)
        self.tree = replace(
            tree, chains=placed, stations=at, setbacks=back, tapers=tree.tapers.stretched(shares),
        )  # fmt: skip
        self.chalks[rows] = chalks
        self.moved[rows] = True
        self.lines = chalk_lines(placed, self.chalks)


def joint_axes(
    directions: Floats, chalks: Floats, clocks: Floats, leans: Floats, rolls: Floats
) -> tuple[Floats, Floats]:
    """Return the axes and chalk directions (Q, 3) of children at clocks, leans and rolls (Q,) deg, on parents of the
    given directions and chalk directions (Q, 3)."""
    clock, lean = np.radians(clocks)[:, None], np.radians(leans)[:, None]
    u = np.cos(clock) * chalks + np.sin(clock) * np.cross(directions, chalks)
    d = np.cos(lean) * directions + np.sin(lean) * u
    return d, turned(np.cos(lean) * u - np.sin(lean) * directions, d, np.radians(rolls))


def leans_of(directions: Floats, axes: Floats) -> Floats:
    """Return the angles (Q,) deg between directions and axes (Q, 3)."""
    return np.asarray(np.degrees(np.arccos(np.clip(dot(directions, axes), -1.0, 1.0))))


def one_bar(bends: BendList, start: Floats, axis: Floats, chalk: Floats) -> Chains:
    """Return the centreline of one bar from START (3,), its axis and its chalk direction (3,)."""
    return bent(bends, start[None], axis[None], chalk[None])
