"""The crown rank by rank above its limbs: branches, branchlets and twigs off what bears them, and twigs that fork."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from armature.grow.aim import Buds
from armature.grow.drawing import LEAST_LEAN, MOST_LEANS
from armature.grow.envelope import Envelope
from armature.grow.season import Season, borne_by, grown_rank, last_stations
from armature.grow.sprouting import LONGEST, Sprouting, bare_starts, lengths_of, places, ways
from armature.grow.stations import spaced
from armature.grow.stems import bare_shares
from armature.habits import KNOTS
from armature.tree import (
    BRANCH,
    BRANCHLET,
    LIMB,
    RANKS,
    TWIG,
    Floats,
    Ints,
    Strings,
    Tree,
    dot,
    locate,
    row_norms,
)

if TYPE_CHECKING:
    from armature.commission import Commission

# A bar's shoots run out this far from its end.
_LAST = 0.985
_STOUT = 12.0
# Shoots on a parent, of measured trees thinned to some hundreds of members.
_MANY = 6.5
# With a rank between branch and twig the ranks above the twigs are the longer, or the last would have no room.
_DEEPER = 2.2
# A branch that is sent this far, of what is asked, goes where the crown reaches farthest.
_WAY = 0.25
# A member that must be long for all it carries is no longer than this share of its parent.
_CROWDED = 0.66
# No twig is longer than so many times the middle one: a whip would stand out, and swing.
_WHIP = 3.4


def with_branches(tree: Tree, season: Season) -> Tree:
    """Return the tree with its branches, each on its axis, numbered as they were dealt."""
    deal = season.deals
    parents = np.array([tree.rows[str(tag)] for tag in deal.axes], dtype=np.int64)[deal.on]
    inner = season.commission.growth.branchlets > 0
    children, bearers = (season.thick.carriers, deal.of) if inner else (season.thick.twigs, deal.holders)
    borne = borne_by(season, children, bearers, len(parents))
    if inner:
        # A branch is long enough for the longest that one of its branchlets must be.
        longest = np.zeros(len(parents))
        np.maximum.at(longest, deal.of, borne_by(season, season.thick.twigs, deal.holders, len(deal.carriers))[1])
        borne = borne[0], np.maximum(borne[1], longest / _CROWDED)
    return _shot(tree, season, BRANCH, deal.branches, parents, season.thick.branches, borne)


def with_branchlets(tree: Tree, season: Season) -> Tree:
    """Return the tree with its branchlets."""
    deal = season.deals
    parents = np.array([tree.rows[str(tag)] for tag in deal.branches], dtype=np.int64)[deal.of]
    borne = borne_by(season, season.thick.twigs, deal.holders, len(parents))
    return _shot(tree, season, BRANCHLET, deal.carriers, parents, season.thick.carriers, borne)


def with_twigs(tree: Tree, season: Season) -> Tree:
    """Return the tree with its twigs, and then those that fork off twigs."""
    deal = season.deals
    plain, forks = np.flatnonzero(deal.forks < 0), np.flatnonzero(deal.forks >= 0)
    parents = np.array([tree.rows[str(tag)] for tag in deal.carriers], dtype=np.int64)[deal.holders]
    tree = _twigged(tree, season, plain, parents[plain])
    if not len(forks):
        return tree
    bearers = np.array([tree.rows[str(tag)] for tag in deal.twigs[deal.forks[forks]]], dtype=np.int64)
    return _twigged(tree, season, forks, bearers)


def _twigged(tree: Tree, season: Season, which: Ints, parents: Ints) -> Tree:
    deal, twig = season.deals, season.thick.twig
    nothing = np.where(np.isin(which, deal.forks), twig, 0.0), np.full(len(which), 9.0 * twig)
    return _shot(tree, season, TWIG, deal.twigs[which], parents, season.thick.twigs[which], nothing)


def _shot(
    tree: Tree,
    season: Season,
    rank: int,
    tags: Strings,
    parents: Ints,
    diameters: Floats,
    borne: tuple[Floats, Floats],
) -> Tree:
    """Return the tree with one shoot a tag, where and as long as its own tag draws it."""
    seed, habit, growing = season.growing.seed, season.canopy.form, season.growing
    # A bar that bears very many would ask more length than its parent can give; its shoots then stand closer.
    borne = borne[0], np.minimum(borne[1], _CROWDED * tree.lengths[parents])
    share = {BRANCH: habit.shares[0], BRANCHLET: habit.shares[1], TWIG: habit.shares[2]}[rank]
    # Where few shoots bear all there is to bear, they are the longer for it.
    few = float(np.clip(_MANY * len(np.unique(parents)) / max(len(tags), 1), 1.0, 4.0)) ** 0.5
    if season.commission.growth.branchlets and rank != TWIG:
        few *= _DEEPER
    lengths = lengths_of(tree, parents, tags, few * share, habit.spread, habit.place, seed)
    # Shorter than a dozen of its own thickness a bar cannot be bent into a shape.
    lengths = np.maximum(
        lengths, np.minimum(np.maximum(1.15 * borne[1], _STOUT * diameters), LONGEST * tree.lengths[parents])
    )
    if rank == TWIG:
        lengths = _roomy(season, tree, parents, lengths)
    highs = np.minimum(last_stations(tree, parents, diameters), _LAST * tree.lengths[parents])
    first = _first_seats(tree, season, parents)
    if rank == BRANCH:
        first = np.where(parents == 0, np.maximum(bare_shares(tree, parents, 0.0), 0.0), first)
    lows = np.minimum(first * tree.lengths[parents], 0.9 * highs)
    wanted = lows + places(seed, tags) * (highs - lows)
    wanted = spaced(parents, wanted, lows, highs, 2.2 * diameters + 1.5 * growing.clearance)
    sprouting = sprouting_of(season.commission, rank, season.canopy, _other_wood(tree, parents))
    way = ways(tree, season.canopy, sprouting, seed, tags, parents, wanted, lengths, borne[1], 0)
    targets, leans = way.targets, way.leans
    if rank == BRANCH and not habit.strict:
        targets, leans = _scouted(season, tree, parents, wanted, targets, leans)
    windows = np.zeros(len(tags))
    buds = Buds(tags, parents, targets, diameters, wanted, windows, lows, highs, leans, lengths)
    return grown_rank(tree, season, rank, buds, *borne, sprouting)


def sprouting_of(commission: Commission, rank: int, canopy: Envelope, neighbours: cKDTree | None) -> Sprouting:
    """Return how the shoots of a rank run."""
    own, habit = getattr(commission.growth, RANKS[rank]), canopy.form
    return Sprouting(
        lean=own.insertion_angle,
        lean_sd=own.insertion_angle_sd,
        turn=habit.turn[1] if rank == TWIG else habit.turn[0],
        upper=habit.upper,
        wind=habit.wind,
        flatten=habit.flatten,
        leans=(LEAST_LEAN, MOST_LEANS[rank]),
        neighbours=neighbours,
    )


def _other_wood(tree: Tree, parents: Ints) -> cKDTree | None:
    """Return points along the members that bear nothing of this rank but stand in its light."""
    rows = np.unique(parents)
    points, _, _ = locate(
        tree.chains, np.repeat(rows, 8), np.outer(tree.lengths[rows], np.linspace(0.3, 1.0, 8)).ravel()
    )
    return cKDTree(points)


def _roomy(season: Season, tree: Tree, parents: Ints, lengths: Floats) -> Floats:
    """Return twig lengths drawn out, all alike, until they have room for all leaves and some to spare."""
    leaves, whip = season.commission.leaves, _WHIP * float(np.median(lengths))
    for longer in np.geomspace(1.0, 4.0, 25):
        longest = np.maximum(LONGEST * tree.lengths[parents], 9.0 * season.thick.twig)
        drawn = np.minimum(longer * lengths, np.minimum(longest, whip * max(longer**0.5, 1.0)))
        if (np.maximum(0.65 * drawn - 4.0, 0.0) / leaves.spacing + 0.5).sum() > 1.35 * leaves.count:
            break
    return np.asarray(drawn)


def _scouted(
    season: Season, tree: Tree, parents: Ints, wanted: Floats, targets: Floats, leans: Floats
) -> tuple[Floats, Floats]:
    """Return targets (B, 3) mm and leans (B,) deg of branches with the readiest drawn out on each side, and at the top,
    where the crown would fall short."""
    canopy, ends, leans = season.canopy, targets.copy(), leans.copy()
    origins, tangents, _ = locate(tree.chains, parents, wanted)
    limbs = tree.tips[tree.of_rank(LIMB)]
    sent: list[int] = []
    load = np.bincount(season.deals.of[season.deals.holders], minlength=len(ends)) / len(season.deals.holders)
    for axis, side, asked in _sides(canopy):
        if max((side * limbs[:, axis]).max(), (side * ends[:, axis]).max()) >= asked:
            continue
        there = _sent(canopy, ends, axis, side, asked)
        reach = there - origins
        length = row_norms(reach)
        lean = np.degrees(np.arccos(np.clip(dot(reach, tangents) / np.maximum(length, 1e-9), -1.0, 1.0)))
        turned = row_norms(there - ends) / float(canopy.half_spread.max())
        long = np.maximum(length / np.maximum(tree.lengths[parents], 1.0) - 0.5, 0.0)
        awkward = np.maximum(25.0 - lean, 0.0) / 20.0 + np.maximum(lean - 100.0, 0.0) / 20.0
        outside = np.clip(1.0 - canopy.cover(there) / 15.0, 0.0, 4.0)
        cost = turned * (1.0 + 8.0 * load) + 2.0 * long + awkward + outside
        cost[sent] = np.inf
        best = int(np.argmin(cost.round(9)))
        if np.isfinite(cost[best]):
            sent.append(best)
            ends[best], leans[best] = there[best], np.clip(lean[best], LEAST_LEAN, MOST_LEANS[BRANCH])
    return ends, leans


def _sides(canopy: Envelope) -> list[tuple[int, float, float]]:
    """Return axis, direction and how far a branch is to reach, mm: the top and the sides that a crown must fill."""
    wide, deep = (0.96 * canopy.half_spread).tolist()
    across = [] if canopy.form.flat else [(1, 1.0, deep), (1, -1.0, deep)]
    return [(2, 1.0, canopy.base + 0.975 * canopy.depth), (0, 1.0, wide), (0, -1.0, wide), *across]


def _sent(canopy: Envelope, ends: Floats, axis: int, side: float, asked: float) -> Floats:
    """Return ends (B, 3) moved to a side, at a height and breadth where the crown reaches as far as that.

    What has little way to go is moved little: a branch that just falls short, and one that just does not, end alike.
    """
    there = ends.copy()
    far = np.clip((asked - side * ends[:, axis]) / (_WAY * asked), 0.0, 1.0)
    if axis == 2:
        there[:, :2] *= 1.0 - 0.4 * far[:, None]
    else:
        widest = canopy.base + float(KNOTS[int(np.argmax(canopy.form.reach))]) * canopy.depth
        there[:, 1 - axis] *= 1.0 - 0.5 * far
        there[:, 2] += 0.7 * far * (widest - there[:, 2])
    there[:, axis] = side * asked
    return there


def _first_seats(tree: Tree, season: Season, parents: Ints) -> Floats:
    """Return the share of its length (B,) from which each parent bears shoots: drawn for it, and inside the crown."""
    rows = np.unique(parents)
    shares = np.linspace(0.0, 0.8, 17)
    points, _, _ = locate(tree.chains, np.repeat(rows, 17), np.outer(tree.lengths[rows], shares).ravel())
    cover = season.canopy.cover(points).reshape(-1, 17) - 2.0 * season.thick.twig
    inside = cover > 0.0
    at = np.argmax(inside, axis=1)
    before = np.maximum(at - 1, 0)
    index = np.arange(len(rows))
    deep, shallow = cover[index, at], -cover[index, before]
    part = np.where(at > 0, shallow / np.maximum(deep + shallow, 1e-9), 0.0)
    enters = np.where(inside.any(axis=1), shares[before] + part * (shares[at] - shares[before]), 0.5)
    first = np.zeros(len(tree))
    first[rows] = np.maximum(bare_starts(season.growing.seed, tree.tags[rows], season.canopy.form.bare), enters)
    return first[parents]
