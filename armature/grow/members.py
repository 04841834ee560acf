"""Members of one rank grown onto a tree: drawn, and drawn again until they are clear.

Size letters: B buds. Whatever stands on the tree already is never moved; of two new members that meet, the thinner, or
the later one, is drawn again.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.edge import GrowthError
from armature.grow.aim import Buds
from armature.grow.drawing import Growing, Manners, drawn
from armature.tree import (
    BRANCH,
    BRANCHLET,
    CHORD_ERROR,
    LIMB,
    PLURALS,
    TWIG,
    Capsules,
    Floats,
    Index,
    Ints,
    Tree,
    capsules,
    gaps,
    joined_capsules,
    locate,
    row_norms,
)

_ROUNDS = 90
# Rounds after which a member in search of a place may drive others from theirs.
_LONG = 12
# Share of a member's length that bears no foliage and may pass under the crown.
BARE_SHARES = {LIMB: 1.0, BRANCH: 0.5, BRANCHLET: 0.4, TWIG: 0.34}


class NoPlaceError(GrowthError):
    """Members that find no place in the crown, with the luck that was drawn."""


def grown(tree: Tree, buds: Buds, manners: Manners, growing: Growing, kept: Tree | None = None) -> Tree:
    """Return the tree with a member for each bud, clear of all others and inside the canopy.

    Members whose tags `kept` holds are taken from there as they are. Raises GrowthError, counting the members that do
    not fit, where drawing again does not help.
    """
    count = len(buds.tags)
    standing = Index(capsules(tree, growing.step, CHORD_ERROR))
    rows = np.arange(count)
    fresh, bad = drawn(tree, buds, manners, growing, rows, 0)
    fresh, fixed = _with_kept(fresh, kept)
    first = Index(capsules(fresh, growing.step, CHORD_ERROR))
    latest, redrawn = first, first.pieces.taken(np.zeros(0, dtype=np.int64))
    current, parts = np.ones(count, dtype=bool), [(rows, fresh)]
    for attempt in range(1, _ROUNDS + 1):
        bad |= _misplaced(latest.pieces, fresh, rows, manners.rank, growing, count)
        bad |= _meeting(tree, buds, fresh, rows, latest, standing, growing.clearance)
        # What has looked for a place in vain for long stays for once, and those in its way look for another.
        stays = fixed | _marked(rows, count) if attempt > _LONG and attempt % 4 == 0 else None
        bad |= _crowded(buds, latest, first, growing.clearance, rows, fixed, current, stays)
        bad |= _crowded(buds, latest, Index(redrawn), growing.clearance, rows, fixed, ~current, stays)
        rows = np.flatnonzero(bad & ~fixed)
        if not len(rows):
            return tree.grafted(_newest(parts))
        bad = np.zeros(count, dtype=bool)
        fresh, bad[rows] = drawn(tree, buds, manners, growing, rows, attempt)
        parts.append((rows, fresh))
        pieces = capsules(fresh, growing.step, CHORD_ERROR)
        pieces = replace(pieces, members=rows[pieces.members])
        redrawn = joined_capsules(redrawn.taken(~np.isin(redrawn.members, rows)), pieces)
        current[rows] = False
        latest = Index(pieces)
    raise NoPlaceError(
        f"canopy: {len(rows)} of {count} {PLURALS[manners.rank]} find no place (first: {buds.tags[rows[0]]}) with"
        f" {growing.clearance:.1f} mm clearance: a larger spread or height, fewer members or a smaller growth.clearance"
        " would help"
    )


def _newest(parts: list[tuple[Ints, Tree]]) -> Tree:
    """Return the last drawing of each member, in the order of the buds."""
    place, start = np.zeros(len(parts[0][0]), dtype=np.int64), 0
    for rows, part in parts:
        place[rows] = start + np.arange(len(rows))
        start += len(part)
    return parts[0][1].grafted(*(part for _, part in parts[1:])).alone(place)


def _with_kept(batch: Tree, kept: Tree | None) -> tuple[Tree, np.ndarray]:
    """Return the batch with the members that `kept` holds put in as they are, and which ones these are (B,)."""
    if kept is None:
        return batch, np.zeros(len(batch), dtype=bool)
    fixed = np.array([str(tag) in kept.rows for tag in batch.tags], dtype=bool)
    rows = np.flatnonzero(fixed)
    old = kept.alone([kept.rows[str(tag)] for tag in batch.tags[rows]])
    return _newest([(np.arange(len(batch)), batch), (rows, replace(old, parents=batch.parents[rows]))]), fixed


def _misplaced(pieces: Capsules, fresh: Tree, rows: Ints, rank: int, growing: Growing, count: int) -> np.ndarray:
    """Return which members, of those just drawn, leave the canopy or enter a keep-out: (B,)."""
    bare = np.zeros(count)
    bare[rows] = BARE_SHARES[rank] * fresh.lengths
    points = np.concatenate([pieces.heads, pieces.tails])
    stations = np.concatenate([pieces.stations, pieces.stations + pieces.lengths])
    members = np.concatenate([pieces.members, pieces.members])
    inside = growing.canopy.holds(points, np.concatenate([pieces.radii, pieces.radii]), stations >= bare[members])
    crossing = growing.canopy.crosses_boxes(pieces.heads, pieces.tails, pieces.radii)
    return _marked(np.concatenate([members[~inside], pieces.members[crossing]]), count)


def _meeting(
    tree: Tree, buds: Buds, fresh: Tree, rows: Ints, latest: Index, standing: Index, clearance: float
) -> np.ndarray:
    """Return which of the members just drawn come too near to what stands, their parent at their joint apart: (B,)."""
    left, right = latest.near(standing, clearance)
    member, parent = latest.pieces.members[left], standing.pieces.members[right]
    free = np.zeros(len(buds.tags))
    free[rows] = free_lengths(tree, fresh, clearance)
    own_parent = parent == buds.parents[member]
    excused = at_joint(latest.pieces, left, standing.pieces, right, own_parent, free[member], clearance)
    return _marked(member[~excused], len(buds.tags))


def _crowded(
    buds: Buds,
    latest: Index,
    others: Index,
    clearance: float,
    rows: Ints,
    fixed: np.ndarray,
    valid: np.ndarray,
    stays: np.ndarray | None = None,
) -> np.ndarray:
    """Return which members to draw again because two new ones come too near; pieces of others count where valid:
    (B,)."""
    left, right = latest.near(others, clearance, same=True)
    one, other = latest.pieces.members[left], others.pieces.members[right]
    counts = valid[other]
    settled = fixed | ~_marked(rows, len(fixed)) if stays is None else stays
    return _marked(_yielding(buds.diameters, one[counts], other[counts], settled), len(fixed))


def at_joint(
    own: Capsules, left: Ints, others: Capsules, right: Ints, joined: np.ndarray, free: Floats, clearance: float
) -> np.ndarray:
    """Return which pairs of pieces (Q,) are near only where a member leaves its parent.

    joined: (Q,) whether the other piece is the parent's; free: (Q,) mm, the member's length that need not be clear. Of
    a piece that runs past that length only what lies beyond counts.
    """
    excused = np.zeros(len(left), dtype=bool)
    near = np.flatnonzero(joined & (own.stations[left] < free))
    if not len(near):
        return excused
    rows = left[near]
    beyond = np.clip((free[near] - own.stations[rows]) / np.maximum(own.lengths[rows], 1e-9), 0.0, 1.0)
    heads = own.heads[rows] + beyond[:, None] * (own.tails[rows] - own.heads[rows])
    rest = Capsules(own.members[rows], heads, own.tails[rows], own.radii[rows], own.stations[rows])
    clear = gaps(rest, np.arange(len(near)), others, right[near]) >= clearance
    excused[near] = clear | (beyond >= 1.0)
    return excused


def free_lengths(tree: Tree, fresh: Tree, clearance: float) -> Floats:
    """Return how far from its start (Q,) mm a member cannot yet be clear of its parent, leaving at its lean.

    fresh: Q members whose parents are rows of the tree.
    """
    _, tangents, _ = locate(tree.chains, fresh.parents, fresh.stations)
    sine = row_norms(np.cross(tangents, fresh.axes))
    return 1.2 * (fresh.start_diameters / 2.0 + clearance) / np.maximum(sine, 0.2) + clearance


def _yielding(diameters: Floats, one: Ints, other: Ints, settled: np.ndarray) -> Ints:
    """Return, of each pair of members (Q,), the one to draw again: one not settled, then the thinner, then the
    later."""
    thin = diameters.round(6)
    other_yields = np.where(
        settled[one] != settled[other],
        settled[one],
        np.where(thin[one] != thin[other], thin[other] < thin[one], other > one),
    )
    return np.where(other_yields, other, one)


def _marked(members: Ints, count: int) -> np.ndarray:
    """Return a mask (count,) that is true for the given members."""
    mask = np.zeros(count, dtype=bool)
    mask[members] = True
    return mask
