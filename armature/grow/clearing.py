"""Clear again: after bars have come out thicker, members that are not joined are moved apart on their true skins.

The weaker of two neighbours is swung about its joint, with all it carries, or slid along its parent, by as little as
helps; thick ones first, so that what they carry settles after them. Size letters: M members, Q pairs.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from armature.edge import GrowthError
from armature.grow.drawing import Growing
from armature.grow.growing import growing_of
from armature.grow.members import BARE_SHARES, at_joint, free_lengths
from armature.grow.turning import swung, turn_about
from armature.tree import ROOT, TRUNK, TWIG, Floats, Index, Ints, Tree, capsules, gaps, nearest_on_segments

if TYPE_CHECKING:
    from armature.commission import Commission

_ROUNDS = 14
# How far, mm, pieces may leave the true skin where it is measured; nearer than the clearance less this is too near.
_FINE, _STEP = 0.04, 30.0
_TURNS = (2.0, 4.0, 7.0, 11.0, 16.0, 22.0, 30.0, 40.0)


class MeetingError(GrowthError):
    """Members that come too near each other, with the luck that was drawn, and that no move parts."""


@dataclass(frozen=True)
class Meeting:
    """Two members nearer than the clearance: rows, gap mm skin to skin, and the direction from the second to the first
    where they are nearest."""

    one: int
    other: int
    gap: float
    away: tuple[float, float, float]


def cleared(tree: Tree, commission: Commission, made: Collection[str] = ()) -> Tree:
    """Return the tree with `growth.clearance` between all members that are not joined, on their true skins.

    made: tags of members that stay as they are, with all that carries them. Raises GrowthError, naming two members that
    cannot be moved apart and what would help.
    """
    growing = growing_of(commission)
    tree, left = parted(tree, commission, made)
    # Nothing moves what exists: what is wrong with it is told elsewhere.
    own = np.isin(tree.tags, sorted(made))
    left = [each for each in left if not (own[each.one] and own[each.other])]
    worst = min(left, key=lambda each: each.gap, default=None)
    if worst is None:
        return tree.rounded()
    one, other = str(tree.tags[worst.one]), str(tree.tags[worst.other])
    raise MeetingError(
        f"growth.clearance: {one} and {other} come to {worst.gap:.1f} mm of each other once they are as thick as they"
        f" must be, {growing.clearance:.1f} mm asked: another seed, a larger spread, stronger steel or fewer members"
        " would help"
    )


def parted(tree: Tree, commission: Commission, made: Collection[str] = ()) -> tuple[Tree, list[Meeting]]:
    """Return the tree with members that come too near each other moved apart, as far as they can be, and those that
    still do.

    made: tags of members that stay as they are, with all that carries them.
    """
    growing = growing_of(commission)
    fixed = _fixed(tree, made)
    for _ in range(_ROUNDS):
        meetings = meetings_of(tree, growing.clearance)
        if all(fixed[each.one] and fixed[each.other] for each in meetings):
            return tree, meetings
        before = tree
        tree = _parted(tree, meetings, growing, fixed)
        if tree is before:
            return tree, meetings
    return tree, meetings_of(tree, growing.clearance)


def meetings_of(tree: Tree, clearance: float) -> list[Meeting]:
    """Return all pairs nearer than the clearance, mm, that are not joined there: the thickest first, each pair once."""
    pieces = capsules(tree, _STEP, _FINE)
    index = Index(pieces)
    left, right = index.near(index, clearance, same=True)
    free = np.zeros(len(tree))
    grows = np.flatnonzero(tree.parents >= 0)
    free[grows] = free_lengths(tree, tree.alone(grows), clearance)
    one, other = pieces.members[left], pieces.members[right]
    excused = at_joint(pieces, left, pieces, right, tree.parents[one] == other, free[one], clearance)
    excused |= at_joint(pieces, right, pieces, left, tree.parents[other] == one, free[other], clearance)
    excused |= (tree.parents[one] < 0) & (tree.parents[other] < 0)
    left, right = left[~excused], right[~excused]
    gap = gaps(pieces, left, pieces, right) + 2.0 * _FINE
    near = np.flatnonzero(gap < clearance - 2.0 * _FINE)
    left, right, gap = left[near], right[near], gap[near]
    _, here, there = nearest_on_segments(
        pieces.heads[left], pieces.tails[left], pieces.heads[right], pieces.tails[right]
    )
    away = pieces.heads[left] + here[:, None] * (pieces.tails[left] - pieces.heads[left])
    away -= pieces.heads[right] + there[:, None] * (pieces.tails[right] - pieces.heads[right])
    return _each_once(tree, pieces.members[left], pieces.members[right], gap, away)


def _each_once(tree: Tree, one: Ints, other: Ints, gap: Floats, away: Floats) -> list[Meeting]:
    worst: dict[tuple[int, int], Meeting] = {}
    for a, b, g, d in zip(one.tolist(), other.tolist(), gap.tolist(), away.tolist(), strict=True):
        pair = (min(a, b), max(a, b))
        if pair not in worst or g < worst[pair].gap:
            worst[pair] = Meeting(a, b, g, (d[0], d[1], d[2]))
    thin = np.minimum

    def order(each: Meeting) -> tuple[float, int, int]:
        thickness = float(thin(tree.start_diameters[each.one], tree.start_diameters[each.other]))
        return -round(thickness, 6), min(each.one, each.other), max(each.one, each.other)

    return sorted(worst.values(), key=order)


def _fixed(tree: Tree, made: Collection[str]) -> np.ndarray:
    # A root lies on what it is bolted to: it is not swung.
    fixed = (tree.parents < 0) | (tree.ranks == ROOT)
    for tag in sorted(made):
        row = tree.rows.get(tag, -1)
        while row >= 0:
            fixed[row] = True
            row = int(tree.parents[row])
    return np.asarray(fixed)


def _parted(tree: Tree, meetings: list[Meeting], growing: Growing, fixed: np.ndarray) -> Tree:
    """Return the tree after one move for each pair that can be parted, none of them touching what has moved before."""
    moved = np.zeros(len(tree), dtype=bool)
    for meeting in meetings:
        if moved[meeting.one] or moved[meeting.other]:
            continue
        for row, away in _weaker_first(tree, meeting):
            load = tree.subtree(row)
            if fixed[load].any() or moved[load].any():
                continue
            other = _apart(tree, row, away, growing)
            if other is not None:
                tree = other
                moved[load] = True
                break
    return tree


def _weaker_first(tree: Tree, meeting: Meeting) -> list[tuple[int, Floats]]:
    """Return the rows to move, the weaker first, then what carries them, with the direction in which to move each."""
    away = np.array(meeting.away)
    pair = [(meeting.one, away), (meeting.other, -away)]
    pair.sort(key=lambda each: (round(float(tree.start_diameters[each[0]]), 6), -each[0]))
    carriers = [(int(tree.parents[row]), way) for row, way in pair if tree.parents[row] >= 0]
    mine = set(tree.subtree(meeting.one).tolist()) | set(tree.subtree(meeting.other).tolist())
    return pair + [each for each in carriers if each[0] not in mine and tree.ranks[each[0]] > TRUNK]


def _apart(tree: Tree, row: int, away: Floats, growing: Growing) -> Tree | None:
    """Return the tree with a member swung, or slid, by as little as takes it clear of all that it meets, or None."""
    load = tree.subtree(row)
    pieces = capsules(tree, _STEP, _FINE)
    standing = Index(pieces.taken(~np.isin(pieces.members, load)))
    chord = tree.tips[row] - tree.starts[row]
    side = np.cross(chord, away)
    if float(side @ side) < 1e-9:
        side = np.cross(chord, [1.0, 0.3, 0.2])
    across = np.cross(chord, side)
    axes = [side, side + 0.7 * across, side - 0.7 * across, across, -across, -side]
    shift = 2.0 * (float(tree.start_diameters[row]) + growing.clearance)
    for turn in _TURNS:
        for axis in axes:
            other = swung(tree, row, turn_about(axis, turn))
            if other is not None and _stands(other, row, growing, standing):
                return other
        for way in (1.0, -1.0):
            station = float(tree.stations[row]) + way * shift * turn / _TURNS[2]
            other = _slid(tree, row, station)
            if other is not None and _stands(other, row, growing, standing):
                return other
    return None


def _slid(tree: Tree, row: int, station: float) -> Tree | None:
    parent = int(tree.parents[row])
    low, high = 0.02 * float(tree.lengths[parent]), 0.99 * float(tree.lengths[parent])
    if not low < station < high or tree.ranks[row] < TWIG:
        return None
    if float(tree.diameters_at([parent], [station])[0]) < float(tree.start_diameters[row]):
        return None
    return swung(tree, row, np.eye(3), station)


def _stands(tree: Tree, row: int, growing: Growing, standing: Index) -> bool:
    """Return whether a member, and the thick ones it carries, are in the crown and clear of the rest; thin ones that
    come too near to others are moved in their turn."""
    load = tree.subtree(row)
    load = load[(tree.ranks[load] < TWIG) | (load == row)]
    own = capsules(tree.alone(load), _STEP, _FINE)
    own = replace(own, members=load[own.members])
    stations = np.concatenate([own.stations, own.stations + own.lengths])
    members = np.concatenate([own.members, own.members])
    bare = np.array([BARE_SHARES.get(int(rank), 1.0) for rank in tree.ranks[members]])
    radii = np.concatenate([own.radii, own.radii])
    size = np.where(stations > tree.lengths[members] - 1.0, 0.0, radii)
    points = np.concatenate([own.heads, own.tails])
    if not growing.canopy.holds(points, size, stations >= bare * tree.lengths[members]).all():
        return False
    if growing.canopy.crosses_boxes(own.heads, own.tails, own.radii).any():
        return False
    left, right = Index(own).near(standing, growing.clearance)
    free = np.zeros(len(tree))
    free[row] = free_lengths(tree, tree.alone([row]), growing.clearance)[0]
    here, there = own.members[left], standing.pieces.members[right]
    # Twigs elsewhere give way to what is thicker, in their turn.
    yields = (tree.ranks[there] == TWIG) & (tree.ranks[here] < TWIG)
    joined = (here == row) & (there == tree.parents[row])
    return bool((yields | at_joint(own, left, standing.pieces, right, joined, free[here], growing.clearance)).all())
