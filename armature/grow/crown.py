"""The crown rank by rank: limbs out of the trunk toward the skin, then branches, branchlets and twigs off what bears
them, and twigs that fork."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from scipy.spatial import cKDTree

from armature.grow.aim import Buds
from armature.grow.canopy import lobes
from armature.grow.deals import Deals
from armature.grow.drawing import LEAST_LEAN, MOST_LEANS, Growing, Manners
from armature.grow.envelope import Envelope
from armature.grow.members import grown
from armature.grow.sizes import SEAT, piped_stock, stocked, tapered
from armature.grow.sprouting import LONGEST, Sprouting, bare_starts, lengths_of, places, ways
from armature.grow.stations import spaced, wished
from armature.grow.stems import Sites, bare_shares, bears_leader, leader_tapers, sites, stepped_diameters, with_tapers
from armature.grow.trunk import cut_back
from armature.habits import KNOTS
from armature.seeds import keys, normal, uniform
from armature.tree import (
    BRANCH,
    BRANCHLET,
    LIMB,
    PLURALS,
    RANKS,
    TWIG,
    Floats,
    Ints,
    Strings,
    Tree,
    dot,
    joints,
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
# No twig is longer than so many times the middle one: a whip would stand out, and swing.
_WHIP = 3.4


@dataclass(frozen=True, eq=False)
class Thickness:
    """Start diameters of limbs (A,), branches (B,), carriers of twigs (K,) and twigs (T,), mm; twig: the thinnest."""

    limbs: Floats
    branches: Floats
    carriers: Floats
    twigs: Floats
    twig: float


@dataclass(frozen=True, eq=False)
class Season:
    """What every rank of one crown needs: the commission, its canopy, who bears what, diameters, what stays as made."""

    commission: Commission
    canopy: Envelope
    deals: Deals
    thick: Thickness
    growing: Growing
    kept: Tree | None


def with_limbs(tree: Tree, season: Season, hubs: tuple[float, float]) -> Tree:
    """Return the trunk with its limbs, lowest first, staggered between the hub heights (mm); the top two make a fork.

    The trunk is cut back to where the welds of that fork end.
    """
    count = len(season.thick.limbs)
    tags = season.deals.axes
    luck = uniform(keys(season.growing.seed, tags, "limb"), 2)
    scale = tree.lengths[0] / tree.tips[0, 2]
    slots = max(count - 1, 1)
    share = np.minimum((np.arange(count) + 0.45 * luck[:, 0]) / max(slots - 1, 1), 1.0) if count > 2 else np.ones(count)
    wanted = scale * (hubs[0] + share * (hubs[1] - hubs[0]))
    parents = np.zeros(count, dtype=np.int64)
    reach = scale * (hubs[1] - hubs[0]) / slots
    targets = limb_ends(season, locate(tree.chains, parents, wanted)[0])
    asked = wished(tree.chains, parents, targets, season.commission.growth.limb.insertion_angle)
    asked = np.clip(asked, scale * hubs[0], scale * hubs[1])
    wanted = np.where(share < 1.0, 0.5 * wanted + 0.5 * np.minimum(asked, wanted[-1] - reach * 0.5), wanted)
    # The leader goes on where the trunk ends: it leans less than the others, which lean the more for it.
    leans = _led(count, np.array([count - 1]), 0.6)
    if count > 2:
        # Leaning less, the leader comes out of the trunk later: its partner leaves higher, so that both close its end.
        drawable = np.clip(season.commission.growth.limb.insertion_angle * leans[-2:], LEAST_LEAN, MOST_LEANS[LIMB])
        slopes = 1.0 / np.tan(np.radians(drawable))
        wanted[-2] += 0.5 * tree.end_diameters[0] * max(slopes[1] - slopes[0], 0.0)
    last = seats(tree, parents, season.thick.limbs)
    top = share >= 1.0
    lows = np.where(top, wanted - 0.5 * reach, scale * hubs[0] - 0.5 * reach)
    highs = np.minimum(last, np.where(top, wanted + 0.1 * reach, scale * hubs[1]))
    # The fork at the top leaves from one place; the others may look for theirs.
    windows = np.where(top, 0.02 * reach, 0.4 * reach)
    lengths = row_norms(targets - locate(tree.chains, parents, wanted)[0])
    buds = Buds(tags, parents, targets, season.thick.limbs, wanted, windows, lows, highs, leans, lengths)
    borne = _borne(season, season.thick.branches, season.deals.on, count)
    tree = _grown(tree, season, LIMB, buds, *borne)
    if season.kept is not None:
        return tree
    return cut_back(tree, float(_seat_ends(tree).max()))


def with_limbs_on_leader(tree: Tree, season: Season, hubs: tuple[float, float]) -> tuple[Tree, Sites]:
    """Return a trunk that runs on to the top with its limbs, lowest first, and where they may leave it.

    The trunk comes as thick as below its lowest limb all along, and leaves with a step between any two stretches.
    """
    own = bears_leader(season.commission)
    thick = season.thick.limbs[:-1] if own else season.thick.limbs
    count = len(thick)
    tags = season.deals.axes[:count]
    luck = uniform(keys(season.growing.seed, tags, "limb"), 2)
    scale = tree.lengths[0] / tree.tips[0, 2]
    low, high = scale * hubs[0], scale * hubs[1]
    parents = np.zeros(count, dtype=np.int64)
    slots = low + (np.arange(count) + 0.7 * luck[:, 0]) / count * (high - low)
    origins = locate(tree.chains, np.zeros(count + own, dtype=np.int64), np.append(slots, [high] * own))[0]
    targets = limb_ends(season, origins[:count], leads=True)
    asked = wished(tree.chains, parents, targets, season.commission.growth.limb.insertion_angle)
    exponent, twig = season.commission.growth.pipe_exponent, season.thick.twig
    diameters = stepped_diameters(thick, float(season.thick.limbs[-1]) if own else twig, exponent)
    gaps = 2.0 * diameters[:-1] + 0.75 * thick
    wanted = spaced(
        parents, 0.4 * np.clip(asked, low, high) + 0.6 * slots, np.full(count, low), np.full(count, high), gaps
    )
    order = np.argsort(wanted, kind="stable")
    places = sites(wanted[order], thick[order], stepped_diameters(thick[order], float(diameters[-1]), exponent), high)
    tapers = leader_tapers(places, thick[order], float(tree.lengths[0]), 0.9 * twig)
    tree = with_tapers(tree, tapers)
    lows, highs = np.empty(count), np.empty(count)
    lows[order], highs[order] = places.lows, places.highs
    windows = 0.5 * np.maximum(highs - lows, 1.0)
    lengths = row_norms(targets - origins[:count])
    buds = Buds(tags, parents, targets, thick, wanted, windows, lows, highs, np.ones(count), lengths)
    borne = _borne(season, season.thick.branches, season.deals.on, count + own)
    return _grown(tree, season, LIMB, buds, borne[0][:count], borne[1][:count]), places


def _seat_ends(tree: Tree) -> Floats:
    """Return the stations (M,) mm of the trunk at which the welds of its limbs end: a weld all round needs steel
    there."""
    joined = joints(tree)
    slope = np.maximum(np.sin(np.radians(joined.leans)), 0.2)
    return joined.feet + np.where(tree.parents >= 0, tree.start_diameters / 2.0 / slope, 0.0)


def with_branches(tree: Tree, season: Season) -> Tree:
    """Return the tree with its branches, each on its axis, numbered as they were dealt."""
    deal = season.deals
    parents = np.array([tree.rows[str(tag)] for tag in deal.axes], dtype=np.int64)[deal.on]
    inner = season.commission.growth.branchlets > 0
    children, bearers = (season.thick.carriers, deal.of) if inner else (season.thick.twigs, deal.holders)
    borne = _borne(season, children, bearers, len(parents))
    return _shot(tree, season, BRANCH, deal.branches, parents, season.thick.branches, borne)


def with_branchlets(tree: Tree, season: Season) -> Tree:
    """Return the tree with its branchlets."""
    deal = season.deals
    parents = np.array([tree.rows[str(tag)] for tag in deal.branches], dtype=np.int64)[deal.of]
    borne = _borne(season, season.thick.twigs, deal.holders, len(parents))
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
    borne = borne[0], np.minimum(borne[1], 0.6 * tree.lengths[parents])
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
    highs = np.minimum(seats(tree, parents, diameters), _LAST * tree.lengths[parents])
    first = _first_seats(tree, season, parents)
    if rank == BRANCH:
        first = np.where(parents == 0, np.maximum(bare_shares(tree, parents, 0.0), 0.0), first)
    lows = np.minimum(first * tree.lengths[parents], 0.9 * highs)
    wanted = lows + places(seed, tags) * (highs - lows)
    wanted = spaced(parents, wanted, lows, highs, 1.6 * diameters + growing.clearance)
    sprouting = sprouting_of(season.commission, rank, season.canopy, _other_wood(tree, parents))
    way = ways(tree, season.canopy, sprouting, seed, tags, parents, wanted, lengths, borne[1], 0)
    targets, leans = way.targets, way.leans
    if rank == BRANCH and not habit.strict:
        targets, leans = _scouted(season, tree, parents, wanted, targets, leans)
    windows = np.zeros(len(tags))
    buds = Buds(tags, parents, targets, diameters, wanted, windows, lows, highs, leans, lengths)
    return _grown(tree, season, rank, buds, *borne, sprouting)


def sprouting_of(commission: Commission, rank: int, canopy: Envelope, neighbours: cKDTree | None) -> Sprouting:
    """Return how the shoots of a rank run."""
    own, habit = getattr(commission.growth, RANKS[rank]), canopy.form
    return Sprouting(
        lean=own.insertion_angle,
        lean_spread=own.insertion_angle_sd,
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
    for axis, side, asked in _sides(canopy):
        if max((side * limbs[:, axis]).max(), (side * ends[:, axis]).max()) >= asked:
            continue
        there = _sent(canopy, ends, axis, side * asked)
        reach = there - origins
        length = row_norms(reach)
        lean = np.degrees(np.arccos(np.clip(dot(reach, tangents) / np.maximum(length, 1e-9), -1.0, 1.0)))
        turned = row_norms(there - ends) / float(canopy.half_spread.max())
        long = np.maximum(length / np.maximum(tree.lengths[parents], 1.0) - 0.5, 0.0)
        awkward = np.maximum(25.0 - lean, 0.0) / 20.0 + np.maximum(lean - 100.0, 0.0) / 20.0
        cost = turned + 2.0 * long + awkward + 4.0 * (canopy.cover(there) < 15.0)
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


def _sent(canopy: Envelope, ends: Floats, axis: int, asked: float) -> Floats:
    """Return ends (B, 3) moved to a side, at a height and breadth where the crown reaches as far as that."""
    there = ends.copy()
    if axis == 2:
        there[:, :2] *= 0.6
    else:
        widest = canopy.base + float(KNOTS[int(np.argmax(canopy.form.reach))]) * canopy.depth
        there[:, 1 - axis] *= 0.5
        there[:, 2] += 0.7 * (widest - there[:, 2])
    there[:, axis] = asked
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


def limb_ends(season: Season, origins: Floats, leads: bool = False) -> Floats:
    """Return where limbs end, (A, 3) mm, from their origins (A, 3): each its own way round, lower ones farther out."""
    canopy, habit, tags = season.canopy, season.canopy.form, season.deals.axes[: len(origins)]
    count, seed = len(origins), season.growing.seed
    bell, luck = normal(keys(seed, tags, "limb end"), 3), uniform(keys(seed, ["crown"], "turn"), 1)[0, 0]
    # Under a leader no limb goes to the top.
    steps = count if leads else max(count - 1, 1)
    place = np.arange(count) / steps if leads or count > 1 else np.ones(1)
    height = habit.ends[0] + (habit.ends[1] - habit.ends[0]) * place**0.8
    height = np.clip(height + 0.05 * np.clip(bell[:, 0], -1.6, 1.6) * (1.0 - 0.8 * place), 0.04, 0.985)
    out = habit.out[0] + (habit.out[1] - habit.out[0]) * place**1.6
    # The first limb lies near one of the four sides of the spread asked, so that the others come to the other three.
    quarter, off = divmod(4.0 * luck, 1.0)
    azimuth = (
        0.5 * np.pi * quarter
        + np.radians(40.0) * (off - 0.5)
        + np.cumsum(np.radians(_STEPS.get(count, 104.0) + 13.0 * np.clip(bell[:, 1], -2.0, 2.0)))
    )
    if habit.flat:
        azimuth = np.where((np.arange(count) + (luck < 0.5)) % 2 == 0, 0.0, np.pi)
    reach = np.interp(height, KNOTS, habit.reach) * out * (1.0 + 0.09 * np.clip(bell[:, 2], -1.6, 1.2))
    flat = np.column_stack([np.cos(azimuth), np.sin(azimuth)])
    points = np.column_stack(
        [flat * canopy.half_spread * np.minimum(reach, 0.94)[:, None], canopy.base + height * canopy.depth]
    )
    points[:, 0] += habit.wind * 0.55 * canopy.half_spread[0] * height
    if habit.flat:
        points[:, 1] = 0.0
    points[:, 2] = (
        points[:, 2] * (1.0 - 0.5 * habit.flatten)
        + 0.5 * habit.flatten * np.minimum(points[:, 2], origins[:, 2] + 0.25 * canopy.half_spread.min())
        if count > 1 and habit.flatten > 0.5
        else points[:, 2]
    )
    uneven = lobes(seed, 0.28).share(points, canopy)[:, None]
    points[:, :2] = points[:, :2] * (1.0 - 0.6 * (1.0 - uneven))
    return _pulled_in(canopy, origins, points, 25.0)


# Steps round the trunk from one limb to the next, deg, for few limbs; living ones take 81 to 112 deg.
_STEPS = {1: 0.0, 2: 160.0, 3: 150.0, 4: 108.0, 5: 94.0}


def _pulled_in(canopy: Envelope, origins: Floats, ends: Floats, margin: float) -> Floats:
    """Return ends (Q, 3) mm drawn back toward their origins until they lie `margin` mm under the canopy's skin."""
    shares = np.linspace(1.0, 0.4, 25)
    points = origins[:, None] + shares[None, :, None] * (ends - origins)[:, None]
    cover = canopy.cover(points.reshape(-1, 3)).reshape(-1, len(shares)) - margin
    inside = cover >= 0.0
    at = np.argmax(inside, axis=1)
    rows, before = np.arange(len(ends)), np.maximum(at - 1, 0)
    deep, out = cover[rows, at], -cover[rows, before]
    part = np.where(at > 0, out / np.maximum(deep + out, 1e-9), 0.0)
    share = np.where(inside.any(axis=1), shares[before] + part * (shares[at] - shares[before]), 0.4)
    return np.asarray(origins + share[:, None] * (ends - origins))


def _grown(
    tree: Tree,
    season: Season,
    rank: int,
    buds: Buds,
    thickest: Floats,
    least: Floats,
    sprouting: Sprouting | None = None,
) -> Tree:
    if rank == LIMB and season.commission.steel.limbs == "pipe":
        # A pipe keeps its outside where it starts and is drawn in from there, by darts cut out and welded shut.
        buds = replace(buds, diameters=piped_stock(buds.diameters, season.commission.steel.pipes, "limbs")[0])
    manners = manners_of(season.commission, rank, season.canopy, buds.diameters, thickest, least, sprouting)
    return grown(tree, buds, manners, season.growing, season.kept)


def manners_of(
    commission: Commission,
    rank: int,
    canopy: Envelope,
    diameters: Floats,
    thickest: Floats,
    least: Floats,
    sprouting: Sprouting | None = None,
) -> Manners:
    """Return how a rank grows, from the start diameters (B,) of its members, the thickest that each carries (B,) and
    the least length that seats all its children (B,), mm."""
    habit, steel = getattr(commission.growth, RANKS[rank]), commission.steel
    form = canopy.form
    walls = np.zeros(len(diameters))
    if rank == LIMB and steel.limbs == "pipe":
        stock, walls = piped_stock(diameters, steel.pipes, "limbs")
    else:
        stock = stocked(diameters, steel.bars, PLURALS[rank])
    taper = tapered(rank, diameters, thickest, min(steel.bars))
    return Manners(
        rank=rank,
        lean=habit.insertion_angle,
        lean_spread=habit.insertion_angle_sd,
        sinuosity=1.0 + (habit.sinuosity - 1.0) * form.crooked,
        most_bends=habit.bends,
        rise=form.rise[{LIMB: 0, TWIG: 2}.get(rank, 1)],
        sprouting=sprouting,
        ends=taper.ends,
        taper_share=taper.from_share,
        stock=stock,
        walls=walls,
        least_lengths=least,
    )


def _led(count: int, leaders: Ints, share: float) -> Floats:
    """Return factors (B,) on the wanted leans, of mean 1: leaders go on nearly in line with what carries them."""
    factors = np.ones(count)
    if count >= 2 * len(leaders) + 1:
        factors += (1.0 - share) * len(leaders) / (count - len(leaders))
        factors[leaders] = share
    return factors


def seats(tree: Tree, parents: Ints, diameters: Floats) -> Floats:
    """Return the last station (B,) mm at which each parent (B,) seats a child of the given diameter (B,) mm."""
    needed = SEAT * diameters
    seated = tree.tapers.thinner(tree.lengths, parents, needed)
    # A parent too thin from its start on seats its child where it is thickest.
    return np.where(tree.start_diameters[parents] < needed, tree.taper_starts[parents], seated)


def _borne(season: Season, children: Floats, bearers: Ints, count: int) -> tuple[Floats, Floats]:
    """Return the thickest child of each of `count` members, mm, and the length that seats all its children, mm."""
    thickest = np.zeros(count)
    np.maximum.at(thickest, bearers, children)
    return thickest, np.asarray(1.5 * np.bincount(bearers, 2.0 * children + season.growing.clearance, count))
