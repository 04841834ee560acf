"""Drawing members: each bud shaped, aimed, set on its parent's skin and bent, all at once.

Size letters: B buds.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from armature.grow.aim import Aims, Buds, aimed
from armature.grow.envelope import Envelope
from armature.grow.shapes import Shapes, shapes
from armature.grow.sprouting import Sprouting, ways
from armature.seeds import keys, normal, uniform
from armature.tree import BRANCH, BRANCHLET, LIMB, TWIG, Chains, Floats, Ints, Tree, cones, locate, no_leaves, row_norms

# Buds drawn in one go: bounds the memory of a crown of many thousand twigs.
_BLOCK = 8192
_LEAST_FEED = 2.0
# Sharper than this a bend reads as a kink.
SHARPEST_BEND = 75.0
# Leans that are drawn, degrees: a narrower weld cannot be reached, and wider a member grows back along its parent.
LEAST_LEAN = 20.0
MOST_LEANS = {LIMB: 95.0, BRANCH: 115.0, BRANCHLET: 115.0, TWIG: 115.0}
# How far a target may be turned aside, in degrees, for the sake of the lean: thick members make the form.
_GIVE = {LIMB: 8.0, BRANCH: 10.0, BRANCHLET: 14.0, TWIG: 40.0}
# Attempts after which a limb gives up its place in the crown and goes wherever there is room.
_PATIENCE = 14
# By how much each attempt after that is shorter: the place it was meant for may lie far beyond any room; shoots are a
# little shorter each time from the first.
_SHRINK = {LIMB: 0.93, BRANCH: 0.96, BRANCHLET: 0.97, TWIG: 0.93}
_SHORTER = 0.99
# By how much more each attempt strays, while it keeps its way: along what its parent bears, and of its length.
_SLIDE = {BRANCH: 0.04, BRANCHLET: 0.04, TWIG: 0.05}
_ASIDE = {BRANCH: 0.12, BRANCHLET: 0.2, TWIG: 0.3}
# Attempts that keep the way a shoot was first drawn, so that most of those that meet give way by little.
_ANY_WAY = 22
# From there on, deg, a shoot is soon clear of what bears it.
_STEEP = 45.0
_ALIKE = {BRANCH: 4, BRANCHLET: 2, TWIG: 1}
_SAME_WAY = {LIMB: 5, BRANCH: 10, BRANCHLET: 6, TWIG: 4}


@dataclass(frozen=True, eq=False)
class Growing:
    """What all ranks share: seed, canopy, least clearance (mm), least bend radius over diameter,
    least bend (deg), piece length (mm)."""

    seed: int
    canopy: Envelope
    clearance: float
    least_radius: float
    least_bend: float
    step: float


@dataclass(frozen=True, eq=False)
class Manners:
    """How one rank grows: rank, mean lean and its spread (deg), path over chord, most bends, rise of its tips.

    ends: (B,) mm end diameters. taper_share: (B,) of the length at which the taper starts. stock, walls: (B,) mm.
    least_lengths: (B,) mm that seat all children. sprouting: how side shoots run, None for limbs, which are aimed.
    """

    rank: int
    lean: float
    lean_sd: float
    sinuosity: float
    most_bends: int
    rise: float
    ends: Floats
    taper_share: Floats
    stock: Floats
    walls: Floats
    least_lengths: Floats
    sprouting: Sprouting | None = None


def drawn(
    tree: Tree, buds: Buds, manners: Manners, growing: Growing, rows: Ints, attempt: int
) -> tuple[Tree, np.ndarray]:
    """Return members for the given buds (rows, at least one) at an attempt, and which of them cannot be bent as
    drawn."""
    blocks = np.split(rows, np.arange(_BLOCK, len(rows), _BLOCK))
    parts = [_drawn(tree, buds, manners, growing, block, attempt) for block in blocks]
    return parts[0][0].grafted(*(part for part, _ in parts[1:])), np.concatenate([bad for _, bad in parts])


def _drawn(
    tree: Tree, buds: Buds, manners: Manners, growing: Growing, rows: Ints, attempt: int
) -> tuple[Tree, np.ndarray]:
    """Return the members of the given buds at an attempt, and which of them cannot be bent as drawn."""
    some = _redrawn_buds(_taken(buds, rows), rows, tree, manners, growing, attempt)
    # Another shape between the same ends moves what it carries by little.
    turn = attempt // 2 if attempt < _SAME_WAY[manners.rank] else attempt
    drawn = shapes(
        growing.seed, some.tags, turn, manners.rank, manners.sinuosity, manners.most_bends, growing.least_bend
    )
    # The longer a member is looked for, the further it may stray from the place it was wished at.
    aims = aimed(tree.chains, some, drawn, manners.rise, 1.0 / (1.0 + 0.3 * attempt), _GIVE[manners.rank])
    phi = drawn.offset_angles[:, None]
    axes = np.cos(phi) * aims.frames[:, 2] + np.sin(phi) * aims.frames[:, 0]
    setbacks, feet = seats(tree, some.parents, aims.stations, aims.points, axes)
    chains, bad = _placed(drawn, aims, setbacks, axes, some.diameters * growing.least_radius)
    bad |= (feet > tree.lengths[some.parents]) | (chains.lengths < manners.least_lengths[rows])
    batch = Tree(
        tags=some.tags,
        ranks=np.full(len(rows), manners.rank),
        parents=some.parents,
        chains=chains,
        stations=aims.stations,
        setbacks=setbacks,
        tapers=cones(some.diameters, manners.ends[rows], manners.taper_share[rows] * chains.lengths),
        stock_diameters=manners.stock[rows],
        walls=manners.walls[rows],
        departures=np.zeros(len(rows)),
        leaves=no_leaves(),
    )
    return batch, bad


def _redrawn_buds(buds: Buds, rows: Ints, tree: Tree, manners: Manners, growing: Growing, attempt: int) -> Buds:
    if manners.sprouting is not None:
        return _resprouted(buds, rows, tree, manners, growing, attempt)
    canopy = growing.canopy
    gentle = attempt < _SAME_WAY[manners.rank]
    key = keys(growing.seed, buds.tags, f"bud {0 if gentle else attempt}")
    bell = normal(key, 5)
    leans = (manners.lean + manners.lean_sd * bell[:, 0]) * buds.leans
    leans = np.clip(leans, LEAST_LEAN, MOST_LEANS[manners.rank])
    if gentle:
        aside = uniform(keys(growing.seed, buds.tags, f"bud {attempt}"), 3, 20) - 0.5
        return replace(buds, leans=leans, targets=buds.targets + 0.06 * attempt * buds.lengths[:, None] * aside)
    luck = uniform(key, 3, 20)
    # A member that finds no room near its place looks farther along its parent, grows shorter, and in the end anywhere.
    wanted = buds.wanted if attempt < 4 else buds.lows + luck[:, 1] * (buds.highs - buds.lows)
    origin, tangent, _ = locate(tree.chains, buds.parents, wanted)
    reach = buds.targets - origin
    first, _, _ = locate(tree.chains, buds.parents, buds.wanted)
    lost = max(attempt - _PATIENCE, 0)
    length = np.maximum(row_norms(buds.targets - first) * _SHRINK[LIMB] ** lost, 2.0 * manners.least_lengths[rows])[
        :, None
    ]
    if attempt >= _PATIENCE:
        side = np.cross(tangent, bell[:, 1:4])
        upward = np.array([0.0, 0.0, 1.0]) - tangent * tangent[:, 2:]
        side = side / np.maximum(row_norms(side), 1e-9)[:, None] + manners.rise * upward
        side /= np.maximum(row_norms(side), 1e-9)[:, None]
        reach = length * (np.cos(np.radians(leans))[:, None] * tangent + np.sin(np.radians(leans))[:, None] * side)
    shorter = 1.0 - np.minimum(0.03 * attempt, 0.5) * luck[:, :1]
    drift = 0.06 * np.sqrt(attempt) * length * bell[:, 1:4]
    targets = origin + reach * shorter + drift
    if canopy.form.flat:
        targets[:, 1] = np.clip(targets[:, 1], -0.7 * canopy.half_spread[1], 0.7 * canopy.half_spread[1])
    return replace(buds, leans=leans, targets=targets, wanted=wanted, windows=2.0 * buds.windows)


def _resprouted(buds: Buds, rows: Ints, tree: Tree, manners: Manners, growing: Growing, attempt: int) -> Buds:
    """Return shoots drawn again: first another shape much the same way, then another way, then another place, and in
    the end shorter."""
    if attempt == 0:
        return buds
    assert manners.sprouting is not None
    luck = uniform(keys(growing.seed, buds.tags, f"bud {attempt}"), 5, 20)
    lost = max(attempt - _SAME_WAY[manners.rank], 0)
    shorter = _SHORTER ** (attempt - lost) * _SHRINK[manners.rank] ** lost
    if attempt < _SAME_WAY[manners.rank]:
        # A little aside, on its parent and in the air: what gives way to another gives way by no more than it must.
        stray = float(np.sqrt(attempt))
        slide = _SLIDE[manners.rank] * stray * (buds.highs - buds.lows) * (luck[:, 0] - 0.5)
        wanted = np.clip(buds.wanted + slide, buds.lows, buds.highs)
        here, there = (locate(tree.chains, buds.parents, at)[0] for at in (buds.wanted, wanted))
        aside = _ASIDE[manners.rank] * stray * row_norms(buds.targets - here)[:, None] * (luck[:, 2:5] - 0.5)
        return replace(buds, targets=there + shorter * (buds.targets - here) + aside, wanted=wanted)
    # Some attempts share a way and a place, so that one more or fewer of them ends much alike.
    stage = (attempt - _SAME_WAY[manners.rank]) // _ALIKE[manners.rank]
    near = (attempt - _SAME_WAY[manners.rank]) % _ALIKE[manners.rank]
    roam = min(0.2 * (stage + 1), 1.0)
    where = uniform(keys(growing.seed, buds.tags, f"place {stage}"), 1)[:, 0]
    anywhere = buds.lows + where * (buds.highs - buds.lows)
    wanted = buds.wanted + roam * (anywhere - buds.wanted)
    spare = 1.5 if attempt <= _ANY_WAY else 1.0
    least = np.minimum(spare * manners.least_lengths[rows], 0.75 * tree.lengths[buds.parents])
    lengths = np.maximum(shorter * buds.lengths, least)
    sprouting = manners.sprouting
    if attempt > _ANY_WAY:
        sprouting = replace(sprouting, turn=0.2 * sprouting.turn, upper=0.0, flatten=0.5 * sprouting.flatten, wind=0.0)
        sprouting = replace(sprouting, leans=(max(_STEEP, sprouting.leans[0]), sprouting.leans[1]))
    way = ways(
        tree, growing.canopy, sprouting, growing.seed, buds.tags, buds.parents, wanted, lengths, least, stage + 1
    )
    aside = 2.0 * near * _ASIDE[manners.rank] * lengths[:, None] * (luck[:, 2:5] - 0.5)
    return replace(buds, leans=way.leans, targets=way.targets + aside, wanted=wanted)


def _taken(buds: Buds, rows: Ints) -> Buds:
    return Buds(**{name: getattr(buds, name)[rows] for name in Buds.__dataclass_fields__})


def seats(tree: Tree, parents: Ints, stations: Floats, points: Floats, axes: Floats) -> tuple[Floats, Floats]:
    """Return the setbacks (B,) mm at which axes (B, 3) leave their parents' skin, and the stations (B,) below those
    points.

    stations: (B,) mm and points: (B, 3) mm, where the axes leave the parents' centrelines.
    Newton's steps from the setback on a straight cylinder: a bent, tapering parent moves it by a few per cent.
    """
    _, tangents, _ = locate(tree.chains, parents, stations)
    cosine = np.sum(tangents * axes, axis=1)
    sine = np.sqrt(np.maximum(1.0 - cosine**2, 0.01))
    setback = tree.diameters_at(parents, stations) / 2.0 / sine
    foot = stations + setback * cosine
    for _ in range(4):
        skin, tangents, _ = locate(tree.chains, parents, foot)
        away = points + setback[:, None] * axes - skin
        lengthwise = np.sum(away * tangents, axis=1)
        foot += lengthwise
        off = away - lengthwise[:, None] * tangents
        distance = np.maximum(row_norms(off), 1e-9)
        slope = np.maximum(np.sum(off * axes, axis=1) / distance, 0.1)
        setback -= (distance - tree.diameters_at(parents, foot) / 2.0) / slope
    return setback, foot


def _placed(drawn: Shapes, aims: Aims, setbacks: Floats, axes: Floats, least: Floats) -> tuple[Chains, np.ndarray]:
    """Return the shapes as chains in space, and which of them (B,) leave no room for a bend of the least radius (B,)
    mm."""
    corners = np.einsum("bsi,bij->bsj", drawn.corners, aims.frames) * aims.chords[:, None, None]
    corners += aims.points[:, None]
    corners[:, 0] = aims.points + setbacks[:, None] * axes
    used = np.arange(corners.shape[1]) <= drawn.counts[:, None]
    offsets = np.concatenate([[0], np.cumsum(drawn.counts + 1)]).astype(np.int64)
    sharp = Chains(offsets, corners[used], np.zeros(offsets[-1]))
    first = np.sum((corners[:, 1] - corners[:, 0]) * axes, axis=1)
    inner = ~sharp.is_last
    here = np.flatnonzero(inner)
    shorter = np.minimum(sharp.sides[here], sharp.sides[here + 1])
    members = sharp.members[here]
    half = np.tan(sharp.bends[here] / 2.0)
    tangent = np.maximum(drawn.roundness[members] * shorter, least[members] * half)
    radii = np.zeros(offsets[-1])
    radii[sharp.starts[here] + 1] = tangent / np.maximum(half, 1e-9)
    chains = Chains(offsets, sharp.vertices, radii)
    bad = first < _LEAST_FEED
    bad[chains.members[(chains.feeds < _LEAST_FEED) | (chains.bends > np.radians(SHARPEST_BEND))]] = True
    return chains, bad
