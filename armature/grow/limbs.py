"""Limbs: out of the trunk, or off a leader, toward the skin of the crown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from armature.grow.aim import Buds
from armature.grow.canopy import lobes
from armature.grow.drawing import LEAST_LEAN, MOST_LEANS
from armature.grow.envelope import Envelope
from armature.grow.season import Season, borne_by, grown_rank, last_stations
from armature.grow.stations import spaced, wished
from armature.grow.stems import Sites, bears_leader, leader_tapers, sites, stepped_diameters, with_tapers
from armature.grow.trunk import cut_back
from armature.habits import KNOTS
from armature.seeds import keys, normal, uniform
from armature.tree import (
    LIMB,
    Floats,
    Ints,
    Tree,
    joints,
    locate,
    row_norms,
)

if TYPE_CHECKING:
    pass


# Steps round the trunk from one limb to the next, deg, for few limbs; living ones take 81 to 112 deg.
_STEPS = {1: 0.0, 2: 160.0, 3: 150.0, 4: 108.0, 5: 94.0}


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
    last = last_stations(tree, parents, season.thick.limbs)
    top = share >= 1.0
    lows = np.where(top, wanted - 0.5 * reach, scale * hubs[0] - 0.5 * reach)
    highs = np.minimum(last, np.where(top, wanted + 0.1 * reach, scale * hubs[1]))
    # The fork at the top leaves from one place; the others may look for theirs.
    windows = np.where(top, 0.02 * reach, 0.4 * reach)
    lengths = row_norms(targets - locate(tree.chains, parents, wanted)[0])
    buds = Buds(tags, parents, targets, season.thick.limbs, wanted, windows, lows, highs, leans, lengths)
    borne = borne_by(season, season.thick.branches, season.deals.on, count)
    tree = grown_rank(tree, season, LIMB, buds, *borne)
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
    lows, highs = np.empty(count), np.empty(count)
    lows[order], highs[order] = places.lows, places.highs
    if season.kept is None:
        tree = with_tapers(tree, tapers)
    else:
        # A trunk that is forged stays as thick as it is: limbs leave where it still seats them.
        highs = np.minimum(highs, last_stations(tree, parents, thick))
        lows = np.minimum(lows, highs)
        wanted = np.clip(wanted, lows, highs)
    windows = 0.5 * np.maximum(highs - lows, 1.0)
    lengths = row_norms(targets - origins[:count])
    buds = Buds(tags, parents, targets, thick, wanted, windows, lows, highs, np.ones(count), lengths)
    borne = borne_by(season, season.thick.branches, season.deals.on, count + own)
    return grown_rank(tree, season, LIMB, buds, borne[0][:count], borne[1][:count]), places


def _seat_ends(tree: Tree) -> Floats:
    """Return the stations (M,) mm of the trunk at which the welds of its limbs end: a weld all round needs steel
    there."""
    joined = joints(tree)
    slope = np.maximum(np.sin(np.radians(joined.leans)), 0.2)
    return joined.feet + np.where(tree.parents >= 0, tree.start_diameters / 2.0 / slope, 0.0)


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


def _led(count: int, leaders: Ints, share: float) -> Floats:
    """Return factors (B,) on the wanted leans, of mean 1: leaders go on nearly in line with what carries them."""
    factors = np.ones(count)
    if count >= 2 * len(leaders) + 1:
        factors += (1.0 - share) * len(leaders) / (count - len(leaders))
        factors[leaders] = share
    return factors
