"""A simulated anvil: many copies of the tree, each bent and welded with the errors of a real shop.

Size letters: M members, B bends, D draws. A tolerance is what nearly every piece keeps: two standard deviations of a
normal error (19 of 20 pieces within it).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from armature.seeds import keys, normal
from armature.tree import BendList, Chains, Floats, Joints, Tree, assembled, bend_list, joints, row_norms

if TYPE_CHECKING:
    from armature.commission import Anvil


@dataclass(frozen=True, eq=False)
class Strays:
    """Tips over D draws: offsets (D, M, 3) mm from where they should be; `chains` holds the D copies, copy by copy."""

    offsets: Floats
    chains: Chains

    @property
    def distances(self) -> Floats:
        """How far each tip strays in each draw: (D, M) mm."""
        return np.asarray(np.linalg.norm(self.offsets, axis=2))

    def within(self, share: float) -> Floats:
        """Return the distance that the given share of draws keeps, for each tip: (M,) mm."""
        return np.asarray(np.quantile(self.distances, share, axis=0))


def strays(tree: Tree, anvil: Anvil, seed: int, fitted: bool = False) -> Strays:
    """Return where the tips land in the copies of the tree that the anvil asks; errors are keyed by (seed, tag).

    fitted: each member is turned at its weld until its tip points at its place on the setting-out grid, within
    `anvil.fit`; its station and what its parent's bends are out stay. Adding a member changes no other's errors. All
    tolerances zero give back the tree itself.
    """
    draws = anvil.copies
    joint_list, bends = _joint_errors(tree, anvil, draws, seed), _bend_errors(tree, anvil, draws, seed)
    aim = np.tile(tree.tips, (draws, 1)) + _misses(tree, anvil.fit, draws, seed) if fitted else None
    chains = assembled(_copies(tree, draws), joint_list, bends, aim)
    tips = chains.vertices[chains.offsets[1:] - 1].reshape(draws, len(tree), 3)
    return Strays(tips - tree.tips, chains)


def paper_strays(tree: Tree, joint_list: Joints, bends: BendList) -> Floats:
    """Return how far each tip lands off when joints and bends are made as the given lists say: (M,) mm."""
    chains = assembled(tree.parents, joint_list, bends)
    return row_norms(chains.vertices[chains.offsets[1:] - 1] - tree.tips)


def _copies(tree: Tree, draws: int) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    shift = np.arange(draws)[:, None] * len(tree)
    return np.where(tree.parents >= 0, tree.parents + shift, -1).ravel()


def _misses(tree: Tree, fit: float, draws: int, seed: int) -> Floats:
    drawn = normal(keys(seed, tree.tags, "anvil fit"), draws * 3).reshape(len(tree), draws, 3)
    # Two standard deviations of the distance over three axes make the fit.
    return np.asarray(drawn.transpose(1, 0, 2).reshape(-1, 3) * fit / 2.0 / np.sqrt(3.0))


def _joint_errors(tree: Tree, anvil: Anvil, draws: int, seed: int) -> Joints:
    true = joints(tree)
    grows = tree.parents >= 0

    def off(values: Floats, stream: str, tolerance: float) -> Floats:
        error = normal(keys(seed, tree.tags, f"anvil {stream}"), draws).T * tolerance / 2.0
        return np.asarray(values + np.where(grows, error, 0.0)).ravel()

    straight = np.diff(tree.chains.offsets) == 2
    rolls = off(true.rolls, "roll", anvil.roll).reshape(draws, -1)
    return replace(
        true,
        points=np.tile(true.points, (draws, 1)),
        chalks=np.tile(true.chalks, (draws, 1)),
        stations=off(true.stations, "station", anvil.station),
        clocks=off(true.clocks, "clock", anvil.clock),
        leans=off(true.leans, "lean", anvil.lean),
        rolls=np.where(straight, true.rolls, rolls).ravel(),
        setbacks=np.tile(true.setbacks, draws),
        feet=np.tile(true.feet, draws),
        parent_diameters=np.tile(true.parent_diameters, draws),
    )


def _bend_errors(tree: Tree, anvil: Anvil, draws: int, seed: int) -> BendList:
    bends = bend_list(tree.chains)
    most = int(np.diff(tree.chains.offsets).max()) - 2
    place = (bends.members, bends.numbers - 1)

    def errors(stream: str, tolerance: float) -> Floats:
        drawn = normal(keys(seed, tree.tags, f"anvil {stream}"), draws * max(most, 1)) * tolerance / 2.0
        return np.asarray(drawn.reshape(len(tree), draws, max(most, 1)).transpose(1, 0, 2)[:, *place])

    drawn = normal(keys(seed, tree.tags, "anvil drawn"), draws).T * anvil.drawn / 2.0
    # Drawn length is only in error where steel was drawn out: a bar left at full size keeps its length.
    tapers = tree.taper_starts < tree.lengths - 1e-6
    drawn = np.where(tapers & (tree.end_diameters < tree.start_diameters - 1e-6), drawn, 0.0)
    tails = bends.tails * (1.0 + drawn) + normal(keys(seed, tree.tags, "anvil tail"), draws).T * anvil.feed / 2.0
    first = bends.numbers == 1
    angles = np.abs(bends.bends + errors("bend", anvil.bend))
    return BendList(
        members=(bends.members + np.arange(draws)[:, None] * len(tree)).ravel(),
        numbers=np.tile(bends.numbers, draws),
        marks=np.tile(bends.marks, draws),
        feeds=(bends.feeds * (1.0 + drawn[:, bends.members]) + errors("feed", anvil.feed)).ravel(),
        turns=np.where(first, 0.0, bends.turns + errors("turn", anvil.turn)).ravel(),
        bends=angles.ravel(),
        # A bend lies between its two marks: bent too far it is the tighter, not the longer.
        radii=(bends.radii * bends.bends / np.maximum(angles, 1e-3)).ravel(),
        tails=tails.ravel(),
    )
