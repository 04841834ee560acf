"""Territories: foliage places shared out among limbs, branches, branchlets and twigs, with exact counts.

Places for foliage are cut into clouds, one a branch, uneven as random starts make them; clouds are gathered into
limbs by direction and height; each cloud gets its share of the twigs and as many of its places as twig tips.
Cutting is Lloyd's iteration (IEEE Trans. Inform. Theory 28, 1982) stopped early, because evenly spread points look
planted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from armature.centreline import Floats, Ints, row_norms
from armature.errors import GrowthError
from armature.grow.canopy import scattered
from armature.grow.envelope import Envelope
from armature.seeds import keys, normal, uniform

_TRIES = 4
# Where branchlets fill a cloud evenly, places further out than this, in the cloud's sizes, are left to the sky.
_CLOUD = 1.0


@dataclass(frozen=True, eq=False)
class Clouds:
    """C clouds of foliage places: centres (C, 3) mm, sizes (C,) mm root mean square radius, owner (N,) cloud of each
    place."""

    centres: Floats
    sizes: Floats
    owner: Ints


@dataclass(frozen=True, eq=False)
class Territories:
    """Who fills what. B branches, K carriers of twigs (branchlets where there are any, else the branches), T twigs.

    limbs: (B,) limb of each branch. branches: (B, 3) mm, cloud centres; spans (B,) mm, their sizes.
    hosts: (K,) branch of each carrier; carriers: (K, 3) mm centres; reaches (K,) mm.
    tips: (T, 3) mm; holders: (T,) carrier of each twig, ascending.
    """

    limbs: Ints
    branches: Floats
    spans: Floats
    hosts: Ints
    carriers: Floats
    reaches: Floats
    tips: Floats
    holders: Ints


def territories(
    canopy: Envelope, seed: int, counts: tuple[int, int, int, int], hubs: tuple[float, float], margin: float
) -> Territories:
    """Return the territories of (limbs, branches, branchlets, twigs) in a canopy; hubs: heights of the crotch, mm;
    margin: mm that tips keep from the skin.

    Raises GrowthError where the canopy has no room for that many places.
    """
    limbs, branches, branchlets, twigs = counts
    places = scattered(canopy, seed, 12 * twigs, margin)
    if len(places) < 2 * twigs:
        raise GrowthError(
            f"canopy: room for about {len(places) // 2} twigs, {twigs} asked: a larger spread or height, a lower"
            " clear stem, smaller keep-outs or fewer twigs would help"
        )
    whole = np.zeros(len(places), dtype=np.int64)
    cut = clouds(places, whole, np.array([branches]), seed, "branch")
    shares = np.bincount(cut.owner, minlength=branches) * np.exp(
        0.30 * normal(keys(seed, ["crown"], "twigs"), branches)[0]
    )
    hosts, inner = np.arange(branches), cut
    if branchlets:
        places, cut = _drawn_together(places, cut)
        each = portions(shares, branchlets, least=1)
        hosts = np.repeat(np.arange(branches), each)
        inner = clouds(places, cut.owner, each, seed, "branchlet")
        shares = np.bincount(inner.owner, minlength=branchlets).astype(np.float64)
    # A carrier of far more twigs than its fellows would be a broom.
    quotas = portions(np.minimum(shares, 1.8 * shares.mean()), twigs, least=1)
    tips, holders = _picked(canopy, places, inner, quotas, seed)
    return Territories(
        limbs=_gathered(cut.centres, canopy, limbs, hubs, seed),
        branches=cut.centres,
        spans=cut.sizes,
        hosts=hosts,
        carriers=inner.centres,
        reaches=inner.sizes,
        tips=tips,
        holders=holders,
    )


def portions(shares: Floats, total: int, least: int) -> Ints:
    """Return whole portions in the ratio of `shares` (N,), each at least `least`, that add up to `total` exactly.

    By largest remainder. Needs total >= N * least.

    >>> portions(np.array([5.0, 3.0, 0.1]), 10, least=1).tolist()
    [5, 4, 1]
    """
    left = total - least * len(shares)
    exact = left * shares / max(float(shares.sum()), 1e-300)
    whole = np.floor(exact).astype(np.int64)
    order = np.argsort(-(exact - whole).round(9), kind="stable")
    whole[order[: left - int(whole.sum())]] += 1
    return whole + least


def clouds(places: Floats, parents: Ints, each: Ints, seed: int, purpose: str, rounds: int = 3) -> Clouds:
    """Return the places (N, 3) cut into each[p] clouds inside every parent p (N,), clouds in order of their parents."""
    hosts = np.repeat(np.arange(len(each)), each)
    order = np.lexsort((uniform(keys(seed, [purpose], "cloud"), len(places))[0], parents))
    first = np.searchsorted(parents[order], np.arange(len(each)))
    number = np.arange(len(hosts)) - np.repeat(np.cumsum(each) - each, each)
    held = np.bincount(parents, minlength=len(each))
    centres = places[order[np.minimum(first[hosts] + number % np.maximum(held[hosts], 1), len(order) - 1)]]
    # A fourth coordinate keeps parents apart: no place can be nearer to a cloud of another parent.
    apart = 4.0 * float(np.ptp(places, axis=0).max() + 1.0)
    lifted = np.column_stack([places, parents * apart])
    for _ in range(rounds):
        _, owner = cKDTree(np.column_stack([centres, hosts * apart])).query(lifted)
        counts = np.bincount(owner, minlength=len(hosts))
        sums = np.column_stack([np.bincount(owner, places[:, axis], len(hosts)) for axis in range(3)])
        centres = np.where(counts[:, None] > 0, sums / np.maximum(counts, 1)[:, None], centres)
    spread = np.bincount(owner, np.sum((places - centres[owner]) ** 2, axis=1), len(hosts))
    return Clouds(centres, np.sqrt(spread / np.maximum(counts, 1)), np.asarray(owner, dtype=np.int64))


def _drawn_together(places: Floats, cut: Clouds) -> tuple[Floats, Clouds]:
    """Return places and clouds without the places far from their cloud's middle, the canopy's extremes apart."""
    near = row_norms(places - cut.centres[cut.owner]) <= _CLOUD * cut.sizes[cut.owner]
    near[_extremes(places)] = True
    return places[near], Clouds(cut.centres, cut.sizes, cut.owner[near])


def _picked(canopy: Envelope, places: Floats, cut: Clouds, quotas: Ints, seed: int) -> tuple[Floats, Ints]:
    """Return twig tips (T, 3) and their clouds (T,): of each cloud's places its quota, the canopy's extremes among
    them."""
    luck = uniform(keys(seed, ["canopy"], "tips"), len(places))[0]
    distance = row_norms(places - cut.centres[cut.owner]) / np.maximum(cut.sizes[cut.owner], 1e-9)
    # Places far from their cloud's middle come last, so that clouds stay apart and sky shows between them.
    preference = luck + np.maximum(distance - 0.85, 0.0) * 3.0
    preference[_extremes(places)] = -1.0
    order = np.lexsort((preference, cut.owner))
    owner = cut.owner[order]
    place = np.arange(len(order)) - np.searchsorted(owner, owner)
    chosen = order[place < quotas[owner]]
    holders = cut.owner[chosen]
    tips = places[chosen]
    short = quotas - np.bincount(holders, minlength=len(quotas))
    if short.any():
        extra = np.repeat(np.arange(len(quotas)), short)
        drift = normal(keys(seed, ["canopy"], "extra"), 3 * len(extra))[0].reshape(-1, 3)
        tips = np.concatenate([tips, cut.centres[extra] + 0.6 * drift * cut.sizes[extra, None]])
        holders = np.concatenate([holders, extra])
        order = np.argsort(holders, kind="stable")
        tips, holders = tips[order], holders[order]
    return tips, holders


def _extremes(places: Floats) -> Ints:
    return np.unique(np.concatenate([places.argmin(axis=0)[:2], places.argmax(axis=0)]))


def _gathered(centres: Floats, canopy: Envelope, limbs: int, hubs: tuple[float, float], seed: int) -> Ints:
    """Return the limb of each cloud (B,), limbs numbered from the lowest up; every limb has a cloud."""
    features = _features(centres, canopy, hubs)
    tries = [_grouped(features, limbs, seed, attempt) for attempt in range(_TRIES)]
    owner = max(tries, key=lambda groups: round(_separation(features, groups, limbs), 9))
    middles = _middles(features, owner, limbs)
    rank = np.empty(limbs, dtype=np.int64)
    rank[_upward(middles)] = np.arange(limbs)
    return rank[owner]


def _middles(features: Floats, owner: Ints, limbs: int) -> Floats:
    counts = np.bincount(owner, minlength=limbs)
    return np.column_stack([np.bincount(owner, column, limbs) for column in features.T]) / counts[:, None]


def _separation(features: Floats, owner: Ints, limbs: int) -> float:
    """Return the least distance between the middles of two groups: limbs must not run beside each other."""
    middles = _middles(features, owner, limbs)
    away = ((middles[:, None] - middles) ** 2).sum(axis=2) + 1e9 * np.eye(limbs)
    return float(away.min())


def _grouped(features: Floats, limbs: int, seed: int, attempt: int) -> Ints:
    """Return the group of each row of features (B,): uneven groups about starts far from each other, none empty."""
    start = _apart(features, limbs, seed, attempt)
    want = np.exp(0.32 * normal(keys(seed, ["crown"], f"limbs {attempt}"), limbs)[0])
    want *= len(features) / want.sum()
    middles, weight = features[start], np.ones(limbs)
    for _ in range(14):
        away = ((features[:, None] - middles) ** 2).sum(axis=2)
        owner = np.argmin(away * weight, axis=1)
        counts = np.bincount(owner, minlength=limbs)
        weight *= (np.maximum(counts, 0.5) / want) ** 0.35
        sums = np.column_stack([np.bincount(owner, column, limbs) for column in features.T])
        middles = np.where(counts[:, None] > 0, sums / np.maximum(counts, 1)[:, None], middles)
    return _none_empty(owner, away, limbs)


def _upward(middles: Floats) -> Ints:
    """Return limbs from the lowest up, by the middles of their territories (A, 3): the last two make the fork at the
    top.

    The highest limb is the leader; its partner is the one that goes the other way, so that both close over the
    trunk's end.
    """
    order = np.argsort(middles[:, 2].round(6), kind="stable")
    if len(order) < 3:
        return order
    leader, others = middles[order[-1]], middles[order[:-1]]
    length = np.maximum(np.hypot(others[:, 0], others[:, 1]) * np.hypot(leader[0], leader[1]), 1e-9)
    together = (others[:, :2] @ leader[:2]) / length
    partner = int(np.argmin((together - 0.4 * np.arange(len(others)) / len(others)).round(6)))
    return np.concatenate([np.delete(order[:-1], partner), order[partner : partner + 1], order[-1:]])


def _features(centres: Floats, canopy: Envelope, hubs: tuple[float, float]) -> Floats:
    """Return directions as seen from the trunk, (B, 3): east, north and the height at which a limb would leave for
    it."""
    radius = np.hypot(centres[:, 0], centres[:, 1])
    leave = np.clip(centres[:, 2] - 0.9 * radius, hubs[0], hubs[1]) + 0.35 * (centres[:, 2] - canopy.base)
    scale = float(canopy.half_spread.max())
    outward = np.sqrt(radius / scale) / np.maximum(radius, 1e-9)
    return np.column_stack([centres[:, 0] * outward, centres[:, 1] * outward, 1.1 * leave / scale])


def _apart(features: Floats, count: int, seed: int, attempt: int) -> Ints:
    """Return rows far from each other, (count,): each next one the farthest of a lucky half."""
    luck = uniform(keys(seed, ["crown"], f"starts {attempt}"), count)[0]
    chosen = [int(luck[0] * len(features))]
    nearest = ((features - features[chosen[0]]) ** 2).sum(axis=1)
    for draw in luck[1:]:
        order = np.argsort(-nearest.round(9), kind="stable")
        chosen.append(int(order[int(draw * max(1, min(len(order) // 6, (nearest > 0).sum())))]))
        nearest = np.minimum(nearest, ((features - features[chosen[-1]]) ** 2).sum(axis=1))
    return np.array(chosen)


def _none_empty(owner: Ints, away: Floats, limbs: int) -> Ints:
    owner = owner.copy()
    for limb in range(limbs):
        counts = np.bincount(owner, minlength=limbs)
        if counts[limb] == 0:
            spare = np.where(counts[owner] > 1, away[:, limb], np.inf)
            owner[int(np.argmin(spare))] = limb
    return owner
