"""Members of one rank grown onto a tree: shaped, aimed, bent, and drawn again until they are clear.

Size letters: B buds. Whatever stands on the tree already is never moved; of two new members that meet, the thinner,
or the later one, is drawn again.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from armature.centreline import Chains, Floats, Ints, locate, row_norms
from armature.errors import GrowthError
from armature.grow.aim import Aims, Buds, aimed
from armature.grow.clearance import Capsules, Index, capsules, joined_capsules
from armature.grow.envelope import Envelope
from armature.grow.shapes import Shapes, shapes
from armature.seeds import keys, normal, uniform
from armature.tree import BRANCH, BRANCHLET, LIMB, PLURALS, TWIG, Tree, no_leaves

_ROUNDS = 40
_CHORD_ERROR = 0.25
_LEAST_FEED = 2.0
# Sharper than this a bend reads as a kink.
_SHARPEST_BEND = 75.0
# How far a target may be turned aside, in degrees, for the sake of the lean: thick members make the form.
_GIVE = {LIMB: 8.0, BRANCH: 10.0, BRANCHLET: 14.0, TWIG: 40.0}
# Share of a member's length that bears no foliage and may pass under the crown.
_BARE_SHARE = {LIMB: 1.0, BRANCH: 0.5, BRANCHLET: 0.4, TWIG: 0.34}


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
    """How one rank grows: rank, mean lean and its spread (deg), path over chord, most bends, rise of its tips, end
    diameters
    (B,) mm, share of the length at which its taper starts (B,), stock diameters (B,) and walls (B,) mm, and the least
    length (B,) mm that seats all its children."""

    rank: int
    lean: float
    lean_spread: float
    sinuosity: float
    most_bends: int
    rise: float
    ends: Floats
    taper_share: Floats
    stock: Floats
    walls: Floats
    least_lengths: Floats


def grown(tree: Tree, buds: Buds, manners: Manners, growing: Growing, kept: Tree | None = None) -> Tree:
    """Return the tree with a member for each bud, clear of all others and inside the canopy.

    Members whose tags `kept` holds are taken from there as they are. Raises GrowthError, counting the members that do
    not fit, where drawing again does not help.
    """
    standing = Index(capsules(tree, growing.step, _CHORD_ERROR))
    batch, bad = _drawn(tree, buds, manners, growing, np.arange(len(buds.tags)), 0)
    fixed = np.zeros(len(buds.tags), dtype=bool)
    if kept is not None:
        batch, fixed = _with_kept(batch, kept)
    first = Index(_pieces(batch, growing))
    redrawn = first.pieces.taken(np.zeros(0, dtype=np.int64))
    current = np.ones(len(batch), dtype=bool)
    latest, check = first, np.arange(len(batch))
    for attempt in range(1, _ROUNDS + 1):
        bad |= _misplaced(latest.pieces, growing, manners.rank, batch)
        bad |= _meeting(tree, batch, latest, standing, growing)
        bad[_crowded(batch, latest, first, growing, check, fixed, current)] = True
        bad[_crowded(batch, latest, Index(redrawn), growing, check, fixed, ~current)] = True
        rows = np.flatnonzero(bad & ~fixed)
        if not len(rows):
            return tree.grafted(batch)
        fresh, still_bad = _drawn(tree, buds, manners, growing, rows, attempt)
        batch = _replaced(batch, rows, fresh)
        own = _pieces(fresh, growing)
        own = replace(own, members=rows[own.members])
        redrawn = joined_capsules(redrawn.taken(~np.isin(redrawn.members, rows)), own)
        current[rows] = False
        bad = np.zeros(len(batch), dtype=bool)
        bad[rows] = still_bad
        latest, check = Index(own), rows
    raise GrowthError(
        f"canopy: {len(rows)} of {len(batch)} {PLURALS[manners.rank]} find no place (first: {batch.tags[rows[0]]}) with"
        f" {growing.clearance:.1f} mm clearance: a larger spread or height, fewer members or a smaller growth.clearance"
        " would help"
    )


def _drawn(
    tree: Tree, buds: Buds, manners: Manners, growing: Growing, rows: Ints, attempt: int
) -> tuple[Tree, np.ndarray]:
    """Return the members of the given buds at an attempt, and which of them cannot be bent as drawn."""
    some = _redrawn_buds(_taken(buds, rows), rows, tree, manners, growing, attempt)
    drawn = shapes(
        growing.seed, some.tags, attempt, manners.rank, manners.sinuosity, manners.most_bends, growing.least_bend
    )
    # The longer a member is looked for, the further it may stray from the place it was wished at.
    aims = aimed(tree.chains, some, drawn, manners.rise, 1.0 / (1.0 + 0.3 * attempt), _GIVE[manners.rank])
    phi = drawn.offset_angles[:, None]
    axes = np.cos(phi) * aims.frames[:, 2] + np.sin(phi) * aims.frames[:, 0]
    setbacks, feet = _setbacks(tree, some.parents, aims, axes)
    chains, bad = _placed(drawn, aims, setbacks, axes, some.diameters * growing.least_radius)
    bad |= (feet > tree.lengths[some.parents]) | (chains.lengths < manners.least_lengths[rows])
    batch = Tree(
        tags=some.tags,
        ranks=np.full(len(rows), manners.rank),
        parents=some.parents,
        chains=chains,
        stations=aims.stations,
        setbacks=setbacks,
        start_diameters=some.diameters,
        end_diameters=manners.ends[rows],
        taper_starts=manners.taper_share[rows] * chains.lengths,
        stock_diameters=manners.stock[rows],
        walls=manners.walls[rows],
        leaves=no_leaves(),
    )
    return batch, bad


def _redrawn_buds(buds: Buds, rows: Ints, tree: Tree, manners: Manners, growing: Growing, attempt: int) -> Buds:
    canopy = growing.canopy
    key = keys(growing.seed, buds.tags, f"bud {attempt}")
    bell = normal(key, 5)
    leans = np.clip(
        (manners.lean + manners.lean_spread * bell[:, 0]) * buds.leans, 20.0, 115.0 if manners.rank == TWIG else 95.0
    )
    if attempt == 0:
        return replace(buds, leans=leans)
    luck = uniform(key, 3, 20)
    # A member that finds no room near its place looks farther along its parent, grows shorter, and in the end anywhere.
    wanted = buds.wanted if attempt < 4 else buds.lows + luck[:, 1] * (buds.highs - buds.lows)
    origin, tangent, _ = locate(tree.chains, buds.parents, wanted)
    reach = buds.targets - origin
    first, _, _ = locate(tree.chains, buds.parents, buds.wanted)
    length = np.maximum(row_norms(buds.targets - first), 2.0 * manners.least_lengths[rows])[:, None]
    if attempt >= (6 if manners.rank == TWIG else 14):
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


def _taken(buds: Buds, rows: Ints) -> Buds:
    return Buds(**{name: getattr(buds, name)[rows] for name in Buds.__dataclass_fields__})


def _with_kept(batch: Tree, kept: Tree) -> tuple[Tree, np.ndarray]:
    """Return the batch with the members that `kept` holds put in as they are, and which ones these are (B,)."""
    fixed = np.array([str(tag) in kept.rows for tag in batch.tags], dtype=bool)
    rows = np.flatnonzero(fixed)
    if not len(rows):
        return batch, fixed
    old = kept.alone([kept.rows[str(tag)] for tag in batch.tags[rows]])
    return _replaced(batch, rows, replace(old, parents=batch.parents[rows])), fixed


def _replaced(batch: Tree, rows: Ints, fresh: Tree) -> Tree:
    both = batch.grafted(fresh)
    order = np.arange(len(batch))
    order[rows] = len(batch) + np.arange(len(rows))
    return both.alone(order)


def _pieces(batch: Tree, growing: Growing) -> Capsules:
    return capsules(batch, growing.step, _CHORD_ERROR)


def _misplaced(pieces: Capsules, growing: Growing, rank: int, batch: Tree) -> np.ndarray:
    """Return which members, of those whose pieces are given, leave the canopy or enter a keep-out: (B,)."""
    points = np.concatenate([pieces.heads, pieces.tails])
    bare = _BARE_SHARE[rank] * batch.lengths[pieces.members]
    bears = np.concatenate([pieces.stations, pieces.stations + pieces.lengths]) >= np.concatenate([bare, bare])
    inside = growing.canopy.holds(points, np.concatenate([pieces.radii, pieces.radii]), bears)
    out = np.zeros(len(batch), dtype=bool)
    out[np.concatenate([pieces.members, pieces.members])[~inside]] = True
    out[pieces.members[growing.canopy.crosses_boxes(pieces.heads, pieces.tails, pieces.radii)]] = True
    return out


def _meeting(tree: Tree, batch: Tree, latest: Index, standing: Index, growing: Growing) -> np.ndarray:
    """Return which of the latest members come too near to what stands, their parent at their joint apart: (B,)."""
    left, right = latest.near(standing, growing.clearance)
    member, host = latest.pieces.members[left], standing.pieces.members[right]
    free = _free_lengths(tree, batch, growing)[member]
    at_joint = (host == batch.parents[member]) & (latest.pieces.stations[left] < free)
    bad = np.zeros(len(batch), dtype=bool)
    bad[member[~at_joint]] = True
    return bad


def _crowded(
    batch: Tree, latest: Index, others: Index, growing: Growing, check: Ints, fixed: np.ndarray, valid: np.ndarray
) -> Ints:
    """Return the members to draw again because two of the batch come too near; pieces of others count where valid
    (B,)."""
    left, right = latest.near(others, growing.clearance, same=True)
    one, other = latest.pieces.members[left], others.pieces.members[right]
    counts = valid[other]
    checked = np.zeros(len(batch), dtype=bool)
    checked[check] = True
    return _yielding(batch, one[counts], other[counts], checked, fixed)


def _free_lengths(tree: Tree, batch: Tree, growing: Growing) -> Floats:
    """Return how far from its start (B,) mm a member cannot yet be clear of its parent, leaving at its lean."""
    _, tangents, _ = locate(tree.chains, batch.parents, batch.stations)
    sine = row_norms(np.cross(tangents, batch.axes))
    return 1.2 * (batch.start_diameters / 2.0 + growing.clearance) / np.maximum(sine, 0.2) + growing.clearance


def _yielding(batch: Tree, one: Ints, other: Ints, checked: np.ndarray, fixed: np.ndarray) -> Ints:
    """Return, of each pair of members (Q,), the one to draw again: a newly drawn one, then the thinner, then the
    later."""
    thin = batch.start_diameters.round(6)
    settled = fixed | ~checked
    other_yields = np.where(
        settled[one] != settled[other],
        settled[one],
        np.where(thin[one] != thin[other], thin[other] < thin[one], other > one),
    )
    return np.where(other_yields, other, one)


def _setbacks(tree: Tree, parents: Ints, aims: Aims, axes: Floats) -> tuple[Floats, Floats]:
    """Return the setbacks (B,) mm at which axes (B, 3) leave their parents' skin, and the stations (B,) below those
    points.

    Newton's steps from the setback on a straight cylinder: a bent, tapering parent moves it by a few per cent.
    """
    _, tangents, _ = locate(tree.chains, parents, aims.stations)
    cosine = np.sum(tangents * axes, axis=1)
    sine = np.sqrt(np.maximum(1.0 - cosine**2, 0.01))
    setback = tree.diameters_at(parents, aims.stations) / 2.0 / sine
    foot = aims.stations + setback * cosine
    for _ in range(4):
        skin, tangents, _ = locate(tree.chains, parents, foot)
        away = aims.points + setback[:, None] * axes - skin
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
    bad[chains.members[(chains.feeds < _LEAST_FEED) | (chains.bends > np.radians(_SHARPEST_BEND))]] = True
    return chains, bad
