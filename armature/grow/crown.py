"""The crown rank by rank: limbs out of the trunk, branches out of limbs, branchlets, twigs, each toward its
territory."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from armature.centreline import Floats, Ints, locate, row_norms
from armature.grow.aim import Buds
from armature.grow.drawing import LEAST_LEAN, MOST_LEANS, Growing, Manners
from armature.grow.envelope import Envelope
from armature.grow.kept import taken_over
from armature.grow.members import grown
from armature.grow.sizes import SEAT, piped_stock, stocked, tapered
from armature.grow.stations import ranked, spaced, wished
from armature.grow.stems import (
    Sites,
    bare_shares,
    bearers,
    bears_leader,
    leader_tapers,
    sites,
    stepped_diameters,
    with_tapers,
)
from armature.grow.territories import Territories
from armature.grow.trunk import cut_back
from armature.joints import dot, joints
from armature.seeds import keys, normal, uniform
from armature.tree import BRANCH, BRANCHLET, LIMB, PLURALS, RANKS, TWIG, Strings, Tree

if TYPE_CHECKING:
    from armature.commission import Commission


@dataclass(frozen=True, eq=False)
class Thickness:
    """Start diameters of limbs (A,), branches (B,), carriers of twigs (K,) and of a twig, mm."""

    limbs: Floats
    branches: Floats
    carriers: Floats
    twig: float


@dataclass(frozen=True, eq=False)
class Season:
    """What every rank of one crown needs: the commission, its canopy, territories, diameters, and what stays as
    made."""

    commission: Commission
    canopy: Envelope
    land: Territories
    thick: Thickness
    growing: Growing
    kept: Tree | None


def with_limbs(tree: Tree, season: Season, hubs: tuple[float, float]) -> Tree:
    """Return the trunk with its limbs, lowest first, staggered between the hub heights (mm); the top two make a fork.

    The trunk is cut back to where the welds of that fork end.
    """
    count = len(season.thick.limbs)
    tags = np.array([limb_tag(number) for number in range(count)])
    luck = uniform(keys(season.growing.seed, tags, "limb"), 2)
    scale = tree.lengths[0] / tree.tips[0, 2]
    slots = max(count - 1, 1)
    share = np.minimum((np.arange(count) + 0.45 * luck[:, 0]) / max(slots - 1, 1), 1.0) if count > 2 else np.ones(count)
    wanted = scale * (hubs[0] + share * (hubs[1] - hubs[0]))
    parents = np.zeros(count, dtype=np.int64)
    reach = scale * (hubs[1] - hubs[0]) / slots
    targets, _ = _limb_ends(season, locate(tree.chains, parents, wanted)[0])
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
    buds = Buds(tags, parents, targets, season.thick.limbs, wanted, windows, lows, highs, leans)
    borne = _borne(season, season.thick.branches, season.land.limbs, count)
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
    tags = np.array([limb_tag(number) for number in range(count)])
    luck = uniform(keys(season.growing.seed, tags, "limb"), 2)
    scale = tree.lengths[0] / tree.tips[0, 2]
    low, high = scale * hubs[0], scale * hubs[1]
    parents = np.zeros(count, dtype=np.int64)
    slots = low + (np.arange(count) + 0.7 * luck[:, 0]) / count * (high - low)
    origins = locate(tree.chains, np.zeros(count + own, dtype=np.int64), np.append(slots, [high] * own))[0]
    targets = _limb_ends(season, origins)[0][:count]
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
    buds = Buds(tags, parents, targets, thick, wanted, windows, lows, highs, np.ones(count))
    borne = _borne(season, season.thick.branches, season.land.limbs, count + own)
    return _grown(tree, season, LIMB, buds, borne[0][:count], borne[1][:count]), places


def _seat_ends(tree: Tree) -> Floats:
    """Return the stations (M,) mm of the trunk at which the welds of its limbs end: a weld all round needs steel
    there."""
    joined = joints(tree)
    slope = np.maximum(np.sin(np.radians(joined.leans)), 0.2)
    return joined.feet + np.where(tree.parents >= 0, tree.start_diameters / 2.0 / slope, 0.0)


def with_branches(tree: Tree, season: Season) -> Tree:
    """Return the tree with its branches, numbered along each limb."""
    land = season.land
    parents = bearers(tree, land.limbs)
    wanted = wished(tree.chains, parents, land.branches, season.commission.growth.branch.insertion_angle)
    first = bare_shares(tree, parents, 0.16)
    wanted = np.where(parents == 0, np.maximum(wanted, first * tree.lengths[parents]), wanted)
    targets = _far_ends(tree, season, parents, wanted, land.branches, land.spans, "branch")
    limbs = bearers(tree, np.arange(int(land.limbs.max()) + 1))
    _, apex = _limb_ends(season, tree.starts[limbs])
    inner = season.commission.growth.branchlets > 0
    children, hosts = (season.thick.carriers, land.hosts) if inner else (_twigs(season), land.holders)
    borne = _borne(season, children, hosts, len(parents))
    return _shot(
        tree,
        season,
        BRANCH,
        parents,
        wanted,
        targets,
        season.thick.branches,
        borne,
        "",
        first,
        _led(len(parents), apex, 0.5),
    )


def with_branchlets(tree: Tree, season: Season) -> Tree:
    """Return the tree with its branchlets, numbered along each branch."""
    land = season.land
    parents = tree.of_rank(BRANCH)[land.hosts]
    wanted = wished(tree.chains, parents, land.carriers, season.commission.growth.branchlet.insertion_angle)
    targets = _far_ends(tree, season, parents, wanted, land.carriers, land.reaches, "branchlet")
    borne = _borne(season, _twigs(season), land.holders, len(parents))
    return _shot(tree, season, BRANCHLET, parents, wanted, targets, season.thick.carriers, borne, ".", 0.16)


def with_twigs(tree: Tree, season: Season) -> Tree:
    """Return the tree with its twigs, numbered along what carries them."""
    land = season.land
    parents = tree.of_rank(BRANCHLET if season.commission.growth.branchlets > 0 else BRANCH)[land.holders]
    lean = season.commission.growth.twig.insertion_angle
    wanted = wished(tree.chains, parents, land.tips, lean)
    place, count = ranked(parents, wanted)
    luck = uniform(keys(season.growing.seed, ["crown"], "stations"), len(parents))[0]
    lengths = tree.lengths[parents]
    # Half where the tip asks for it, half spread along the carrier, so that no stretch stays bare and none is crowded.
    spread = (0.18 + 0.78 * (place + 0.25 + 0.5 * luck) / count) * lengths
    wanted = 0.5 * np.clip(wanted, 0.12 * lengths, 0.97 * lengths) + 0.5 * spread
    targets = _twig_ends(tree, season, parents, wanted)
    nothing = np.zeros(len(parents)), np.full(len(parents), 12.0 * season.thick.twig)
    first = _first_seat(tree, season, parents)
    return _shot(tree, season, TWIG, parents, wanted, targets, _twigs(season), nothing, "-", first)


def _shot(
    tree: Tree,
    season: Season,
    rank: int,
    parents: Ints,
    wanted: Floats,
    targets: Floats,
    diameters: Floats,
    borne: tuple[Floats, Floats],
    mark: str,
    first: Floats | float,
    leans: Floats | None = None,
) -> Tree:
    """Return the tree with one member a bud, kept apart along their parents from the share `first` of the length on."""
    lengths = tree.lengths[parents]
    highs = np.minimum(seats(tree, parents, diameters), 0.97 * lengths)
    lows = np.minimum(first * lengths, 0.9 * highs)
    wanted = spaced(parents, wanted, lows, highs, 2.0 * diameters + season.growing.clearance)
    place, count = ranked(parents, wanted)
    tags = _numbered(tree, parents, place, mark)
    windows = 0.6 * (highs - lows) / count
    buds = Buds(
        tags, parents, targets, diameters, wanted, windows, lows, highs, np.ones(len(tags)) if leans is None else leans
    )
    return _grown(tree, season, rank, buds, *borne)


def _grown(tree: Tree, season: Season, rank: int, buds: Buds, thickest: Floats, least: Floats) -> Tree:
    buds = taken_over(tree, buds, rank, season.kept)
    if rank == LIMB and season.commission.steel.limbs == "pipe":
        # A pipe keeps its outside where it starts and is drawn in from there, by darts cut out and welded shut.
        buds = replace(buds, diameters=piped_stock(buds.diameters, season.commission.steel.pipes, "limbs")[0])
    manners = manners_of(season.commission, rank, season.canopy.form.rise, buds.diameters, thickest, least)
    return grown(tree, buds, manners, season.growing, season.kept)


def manners_of(
    commission: Commission, rank: int, rise: float, diameters: Floats, thickest: Floats, least: Floats
) -> Manners:
    """Return how a rank grows, from the start diameters (B,) of its members, the thickest that each carries (B,) and
    the least length that seats all its children (B,), mm."""
    habit, steel = getattr(commission.growth, RANKS[rank]), commission.steel
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
        sinuosity=habit.sinuosity,
        most_bends=habit.bends,
        rise=rise,
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


def _limb_ends(season: Season, origins: Floats) -> tuple[Floats, Ints]:
    """Return where limbs end, (A, 3) mm, and in which cloud (A,): the one that lies farthest out and up in their
    territory."""
    land = season.land
    reach = land.branches - origins[land.limbs]
    score = row_norms(reach) + (0.1 + 0.6 * max(season.canopy.form.rise, 0.0) ** 3) * reach[:, 2]
    order = np.lexsort((-score.round(6), land.limbs))
    apex = order[np.searchsorted(land.limbs[order], np.arange(len(origins)))]
    outward = reach[apex] / np.maximum(row_norms(reach[apex]), 1e-9)[:, None]
    return _pulled_in(season.canopy, origins, land.branches[apex] + 0.1 * land.spans[apex, None] * outward, 30.0), apex


def _far_ends(
    tree: Tree, season: Season, parents: Ints, wanted: Floats, centres: Floats, sizes: Floats, purpose: str
) -> Floats:
    """Return where branches end, (B, 3) mm: past the middle of their cloud, swung a little aside so that no two
    agree."""
    lengths = tree.lengths[parents]
    origins, tangents, _ = locate(tree.chains, parents, np.clip(wanted, 0.1 * lengths, 0.9 * lengths))
    reach = centres - origins
    length = row_norms(reach)
    swing = normal(keys(season.growing.seed, [purpose], "ends"), 3 * len(parents))[0].reshape(-1, 3)
    outward = reach / np.maximum(length, 1e-9)[:, None] + 0.35 * swing
    outward[:, 2] += 0.25 * season.canopy.form.rise
    outward /= row_norms(outward)[:, None]
    ends = centres + 0.75 * sizes[:, None] * outward
    # A cloud that its own limb runs through still gets a branch of some length, out to the side.
    near = row_norms(ends - origins) < 1.3 * sizes
    aside = outward - 0.6 * dot(outward, tangents)[:, None] * tangents
    aside /= np.maximum(row_norms(aside), 1e-9)[:, None]
    ends = np.where(near[:, None], origins + 1.3 * sizes[:, None] * aside, ends)
    return _pulled_in(season.canopy, origins, ends, 15.0)


def _twig_ends(tree: Tree, season: Season, parents: Ints, wanted: Floats) -> Floats:
    """Return where twigs end, (T, 3) mm: their places, drawn in where a twig would outgrow its fellows, hung where
    they hang."""
    origins, tangents, _ = locate(tree.chains, parents, wanted)
    reach = season.land.tips - origins
    length = row_norms(reach)
    longest = 1.9 * float(np.median(length))
    # Where a branch had to grow elsewhere its twigs take their own ways: pulled to far tips they would make a broom.
    lost = np.flatnonzero(length > 1.2 * longest)
    reach[lost] = _own_ways(season, tangents[lost], 0.7 * longest)
    length[lost] = 0.7 * longest
    luck = uniform(keys(season.growing.seed, ["crown"], "lengths"), 2 * len(parents))[0].reshape(-1, 2)
    limit = longest * (0.75 + 0.25 * luck[:, 0])
    reach *= np.minimum(1.0, limit / np.maximum(length, 1e-9))[:, None]
    if season.canopy.form.rise < 0.0:
        drop = row_norms(reach) * (0.9 + 0.9 * luck[:, 1])
        reach = np.column_stack([0.45 * reach[:, :2], -drop])
        low = season.canopy.base + 10.0 - origins[:, 2]
        reach[:, 2] = np.maximum(reach[:, 2], np.minimum(low, -0.2 * drop))
    return origins + reach


def _own_ways(season: Season, tangents: Floats, length: float) -> Floats:
    """Return reaches (Q, 3) mm of a length, at the twigs' lean from parents along tangents (Q, 3): around, rather
    up."""
    around = normal(keys(season.growing.seed, ["crown"], "own ways"), 3 * len(tangents))[0].reshape(-1, 3)
    side = np.cross(tangents, around)
    side /= np.maximum(row_norms(side), 1e-9)[:, None]
    side += 0.6 * season.canopy.form.rise * (np.array([0.0, 0.0, 1.0]) - tangents * tangents[:, 2:])
    side /= np.maximum(row_norms(side), 1e-9)[:, None]
    lean = np.radians(season.commission.growth.twig.insertion_angle)
    return np.asarray(length * (np.cos(lean) * tangents + np.sin(lean) * side))


def _pulled_in(canopy: Envelope, origins: Floats, ends: Floats, margin: float) -> Floats:
    """Return ends (Q, 3) mm drawn back toward their origins until they lie `margin` mm under the canopy's skin."""
    found = ends.copy()
    for share in (0.95, 0.9, 0.85, 0.8, 0.72, 0.64, 0.55):
        out = canopy.cover(found) < margin
        found[out] = (origins + share * (ends - origins))[out]
    return found


def _first_seat(tree: Tree, season: Season, carriers: Ints) -> Floats:
    """Return the share of its length (Q,) from which a carrier runs inside the foliage, at least 0.14."""
    shares = np.linspace(0.14, 0.8, 12)
    rows = np.unique(carriers)
    points, _, _ = locate(tree.chains, np.repeat(rows, 12), np.outer(tree.lengths[rows], shares).ravel())
    inside = (season.canopy.cover(points) > 2.0 * season.thick.twig).reshape(-1, 12)
    first = np.full(len(tree), 0.14)
    first[rows] = np.where(inside.any(axis=1), shares[np.argmax(inside, axis=1)], 0.5)
    return first[carriers]


def seats(tree: Tree, parents: Ints, diameters: Floats) -> Floats:
    """Return the last station (B,) mm at which each parent (B,) seats a child of the given diameter (B,) mm."""
    needed = SEAT * diameters
    seated = tree.tapers.thinner(tree.lengths, parents, needed)
    # A parent too thin from its start on seats its child where it is thickest.
    return np.where(tree.start_diameters[parents] < needed, tree.taper_starts[parents], seated)


def _twigs(season: Season) -> Floats:
    return np.full(len(season.land.tips), season.thick.twig)


def _borne(season: Season, children: Floats, hosts: Ints, count: int) -> tuple[Floats, Floats]:
    """Return the thickest child of each of `count` members, mm, and the length that seats all its children, mm."""
    thickest = np.zeros(count)
    np.maximum.at(thickest, hosts, children)
    return thickest, np.asarray(1.3 * np.bincount(hosts, 2.0 * children + season.growing.clearance, count))


_LETTERS = "ABCDEFGHIJKLMNOPQSUVWXYZ"


def limb_tag(number: int) -> str:
    """Return the tag of a limb: A to Z without R and T, which are roots and stems, then AA, AB, …

    >>> limb_tag(0), limb_tag(17), limb_tag(18), limb_tag(23), limb_tag(24)
    ('A', 'S', 'U', 'Z', 'AA')
    """
    if number < len(_LETTERS):
        return _LETTERS[number]
    letters = ""
    number += 27 - len(_LETTERS)
    while number:
        number, letter = divmod(number - 1, 26)
        letters = chr(65 + letter) + letters
    return letters


def _numbered(tree: Tree, parents: Ints, place: Ints, mark: str) -> Strings:
    """Return tags (B,): the parent's, a mark, and a number from 1 along the parent."""
    hosts = tree.tags[parents].tolist()
    numbers = (place + 1).tolist()
    if mark:
        return np.array([f"{host}{mark}{number}" for host, number in zip(hosts, numbers, strict=True)])
    return np.array([f"{host}{number:02d}" for host, number in zip(hosts, numbers, strict=True)])
