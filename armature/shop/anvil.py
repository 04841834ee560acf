"""A simulated anvil: many copies of the tree, each bent and welded with the errors of a real shop.

Size letters: M members, B bends, D draws. A tolerance is what nearly every piece keeps: two standard deviations of a
normal error (19 of 20 pieces within it).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from armature.centreline import BendList, Chains, Floats, bend_list, row_norms
from armature.joints import Joints, assembled, joints
from armature.seeds import keys, normal
from armature.shop.tacking import tacked
from armature.tree import Tree


@dataclass(frozen=True)
class Tolerances:
    """What a shop holds: angles in degrees, feeds and stations in mm, drawn lengths as a share.

    `fit_mm` above 0 means that each member is turned at its weld until its tip is that near to its check dimensions.
    """

    bend_deg: float = 2.0
    turn_deg: float = 3.0
    feed_mm: float = 3.0
    station_mm: float = 3.0
    clock_deg: float = 3.0
    lean_deg: float = 3.0
    roll_deg: float = 3.0
    drawn_share: float = 0.01
    fit_mm: float = 0.0


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


def strays(tree: Tree, tolerances: Tolerances, draws: int, seed: int) -> Strays:
    """Return where the tips land in `draws` copies of the tree; errors are keyed by (seed, tag).

    Adding a member changes no other's errors. All tolerances zero give back the tree itself.
    """
    joint_list, bends = _joint_errors(tree, tolerances, draws, seed), _bend_errors(tree, tolerances, draws, seed)
    if tolerances.fit_mm > 0.0:
        exact = Tolerances(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
        as_drawn = _joint_errors(tree, replace(exact, station_mm=tolerances.station_mm), draws, seed)
        missed = _misses(tree, tolerances.fit_mm, draws, seed)
        joint_list = tacked(as_drawn, _bend_errors(tree, exact, draws, seed), bends, missed)
    chains = assembled(_copies(tree, draws), joint_list, bends)
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


def _joint_errors(tree: Tree, held: Tolerances, draws: int, seed: int) -> Joints:
    found = joints(tree)
    grows = tree.parents >= 0

    def off(values: Floats, stream: str, tolerance: float) -> Floats:
        error = normal(keys(seed, tree.tags, f"anvil {stream}"), draws).T * tolerance / 2.0
        return np.asarray(values + np.where(grows, error, 0.0)).ravel()

    straight = np.diff(tree.chains.offsets) == 2
    rolls = off(found.rolls, "roll", held.roll_deg).reshape(draws, -1)
    tiled = np.tile(np.zeros((len(tree), 3)), (draws, 1))
    return replace(
        found,
        points=tiled,
        chalks=tiled,
        stations=off(found.stations, "station", held.station_mm),
        clocks=off(found.clocks, "clock", held.clock_deg),
        leans=off(found.leans, "lean", held.lean_deg),
        rolls=np.where(straight, found.rolls, rolls).ravel(),
        setbacks=np.tile(found.setbacks, draws),
        feet=np.tile(found.feet, draws),
        parent_diameters=np.tile(found.parent_diameters, draws),
    )


def _bend_errors(tree: Tree, held: Tolerances, draws: int, seed: int) -> BendList:
    bends = bend_list(tree.chains)
    most = int(np.diff(tree.chains.offsets).max()) - 2
    place = (bends.members, bends.numbers - 1)

    def errors(stream: str, tolerance: float) -> Floats:
        drawn = normal(keys(seed, tree.tags, f"anvil {stream}"), draws * max(most, 1)) * tolerance / 2.0
        return np.asarray(drawn.reshape(len(tree), draws, max(most, 1)).transpose(1, 0, 2)[:, *place])

    drawn = normal(keys(seed, tree.tags, "anvil drawn"), draws).T * held.drawn_share / 2.0
    # Drawn length is only in error where steel was drawn out: a bar left at full size keeps its length.
    tapers = tree.taper_starts < tree.lengths - 1e-6
    drawn = np.where(tapers & (tree.end_diameters < tree.start_diameters - 1e-6), drawn, 0.0)
    tails = bends.tails * (1.0 + drawn) + normal(keys(seed, tree.tags, "anvil tail"), draws).T * held.feed_mm / 2.0
    first = bends.numbers == 1
    return BendList(
        members=(bends.members + np.arange(draws)[:, None] * len(tree)).ravel(),
        numbers=np.tile(bends.numbers, draws),
        marks=np.tile(bends.marks, draws),
        feeds=(bends.feeds * (1.0 + drawn[:, bends.members]) + errors("feed", held.feed_mm)).ravel(),
        turns=np.where(first, 0.0, bends.turns + errors("turn", held.turn_deg)).ravel(),
        bends=np.abs(bends.bends + errors("bend", held.bend_deg)).ravel(),
        radii=np.tile(bends.radii, draws),
        tails=tails.ravel(),
    )
