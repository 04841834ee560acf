"""As ordered: the crown's box brought to the height and spread asked, by drawing out the twigs that come nearest.

A twig is drawn out whole: all its straights and radii grow alike and its bends stay, so that what could be bent still
can; where none heads that way one is swung toward it. Size letters: M members, P points.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.grow.drawing import Growing
from armature.grow.envelope import Envelope
from armature.grow.members import BARE_SHARES, at_joint, free_lengths
from armature.grow.turning import swung, turn_about
from armature.tree import CHORD_ERROR, LIMB, TWIG, Chains, Floats, Index, Tree, capsules, row_norms, sampled

# A crown this near to what was asked, over the size asked, is left as it is.
_NEAR = 0.0008
# Where no twig comes nearer than this to a side, a branch is swung there.
_FAR = 0.004
# No twig is drawn out to more than this many times its length; so many are tried on each side.
_MOST, _TRIED = 2.8, 24
# Nor to more than this many times the middle one of all twigs.
_WHIP = 3.8
_BOXY = 8.0
# Members on a branch as it usually is.
_BRANCHFUL = 12.0
# No branch that bears more than this of all members is swung.
_HEAVY = 0.08
_TURNS = np.arange(5.0, 96.0, 5.0).tolist()
_SWINGS = (0.0, 20.0, 40.0, 60.0)


def filled(tree: Tree, growing: Growing, fixed: Tree | None) -> Tree:
    """Return the tree with a twig drawn out to each side, and to the top, that no steel reaches yet.

    fixed: members that are made and stay as they are. A side that no twig can reach clear of all others stays as it is.
    """
    if growing.canopy.solid is not None:
        return tree
    # One shoot may touch a side anywhere near its middle, not only on the very line where the plan touches it.
    canopy = replace(growing.canopy, fullness=_BOXY)
    growing = replace(growing, canopy=canopy)
    reach = _reaches(tree)
    for face, (axis, sign, asked) in enumerate(_faces(canopy)):
        for far in (False, True):
            if _short(reach, face, canopy) < (_FAR if far else _NEAR):
                break
            if far:
                tree, reach = _brought(tree, reach, growing, fixed, axis, sign, asked)
            tree, reach = _drawn_out(tree, reach, growing, fixed, axis, sign, asked)
    return tree


def _faces(canopy: Envelope) -> list[tuple[int, float, float]]:
    wide, deep = canopy.half_spread.tolist()
    return [(2, 1.0, canopy.top), (0, 1.0, wide), (0, -1.0, wide), (1, 1.0, deep), (1, -1.0, deep)]


def _drawn_out(
    tree: Tree, reach: Floats, growing: Growing, fixed: Tree | None, axis: int, sign: float, asked: float
) -> tuple[Tree, Floats]:
    standing = Index(capsules(tree, growing.step, CHORD_ERROR))
    for row, turn in _candidates(tree, reach, growing.canopy, fixed, axis, sign, asked):
        turned = tree
        if turn:
            normal = np.zeros(3)
            normal[axis] = sign
            chord = tree.tips[row] - tree.starts[row]
            swing = turn_about(np.cross(chord, normal), turn)
            other = swung(tree, row, swing)
            if other is None:
                continue
            turned = other
        factor = _factor(turned, row, axis, sign, asked)
        if not 1.0 <= factor < _MOST:
            continue
        longer = stretched(turned, row, factor)
        if _fits(longer, row, growing, standing):
            return longer, _moved(reach, longer, row)
    return tree, reach


def _reaches(tree: Tree) -> Floats:
    """Return how far the skin of each member reaches toward the top and the four sides: (M, 5) mm."""
    line = sampled(tree.chains, CHORD_ERROR)
    members = np.repeat(np.arange(len(tree)), np.diff(line.offsets))
    # The edge of a disc across the bar reaches past its middle by the part of its radius square to the bar.
    edge = np.sqrt(np.maximum(1.0 - line.tangents**2, 0.0))
    edge *= tree.diameters_at(members, line.stations)[:, None] / 2.0
    high = np.maximum.reduceat(line.points + edge, line.offsets[:-1])
    low = np.minimum.reduceat(line.points - edge, line.offsets[:-1])
    return np.column_stack([high[:, 2], high[:, 0], -low[:, 0], high[:, 1], -low[:, 1]])


def _moved(reach: Floats, tree: Tree, row: int) -> Floats:
    """Return reaches (M, 5) mm after a member, and all it carries, have moved."""
    load = tree.subtree(row)
    reach = reach.copy()
    reach[load] = _reaches(tree.alone(load))
    return reach


def _short(reach: Floats, face: int, canopy: Envelope) -> float:
    """Return by how much the steel falls short of a side, over the size asked."""
    axis, _, asked = _faces(canopy)[face]
    return (asked - float(reach[:, face].max())) / (asked if axis == 2 else 2.0 * asked)


def _touching(reach: Floats, canopy: Envelope) -> np.ndarray:
    """Return which members (M,) touch a side already: they stay where they are."""
    asked = np.array([size for _, _, size in _faces(canopy)])
    return np.asarray((reach > asked * (1.0 - 2.0 * _FAR)).any(axis=1))


def _brought(
    tree: Tree, reach: Floats, growing: Growing, fixed: Tree | None, axis: int, sign: float, asked: float
) -> tuple[Tree, Floats]:
    """Return the tree with a branch, and all it carries, swung toward a side that is out of reach of every twig."""
    normal = sign * np.eye(3)[axis]
    standing = Index(capsules(tree, growing.step, CHORD_ERROR))
    stays = _touching(reach, growing.canopy)
    moves: list[tuple[float, int, float]] = []
    for row in np.flatnonzero((tree.ranks > LIMB) & (tree.ranks < TWIG)).tolist():
        load = tree.subtree(row)
        made = fixed is not None and any(str(tag) in fixed.rows for tag in tree.tags[load])
        if made or stays[load].any() or len(load) > _HEAVY * len(tree):
            continue
        tips = tree.tips[load] - tree.starts[row]
        across = np.cross(tree.tips[row] - tree.starts[row], normal)
        wanted = 0.985 * asked - sign * float(tree.starts[row, axis])
        now = float((tips @ normal).max())
        for turn in _TURNS:
            there = float((tips @ turn_about(across, turn).T @ normal).max())
            if now < there <= wanted and there > 0.75 * wanted:
                strays = 2.0 * np.sin(np.radians(turn) / 2.0) * float(tree.lengths[row]) / asked
                cost = (wanted - there) / asked + 0.4 * float(strays) * len(load) / _BRANCHFUL
                moves.append((round(cost, 6), row, turn))
    for _, row, turn in sorted(moves)[: 2 * _TRIED]:
        swing = turn_about(np.cross(tree.tips[row] - tree.starts[row], normal), turn)
        moved = swung(tree, row, swing)
        if moved is not None and _fits(moved, row, growing, standing):
            return moved, _moved(reach, moved, row)
    return tree, reach


def _candidates(
    tree: Tree, reach: Floats, canopy: Envelope, fixed: Tree | None, axis: int, sign: float, asked: float
) -> list[tuple[int, float]]:
    """Return childless twigs and by how many degrees each is to be swung toward a side: what costs least first."""
    rows = tree.of_rank(TWIG)
    bears = np.bincount(tree.parents[tree.parents >= 0], minlength=len(tree)) > 0
    made = np.array([fixed is not None and str(tag) in fixed.rows for tag in tree.tags[rows]], dtype=bool)
    rows = rows[~bears[rows] & ~made]
    most = np.minimum(_MOST, _WHIP * float(np.median(tree.lengths[rows])) / tree.lengths)
    rows = rows[(sign * tree.tips[rows, axis] > 0.3 * asked) & ~_touching(reach, canopy)[rows]]
    chords = tree.tips[rows] - tree.starts[rows]
    length = np.maximum(row_norms(chords), 1e-9)
    unit, normal = chords / length[:, None], sign * np.eye(3)[axis]
    off = np.arccos(np.clip(unit @ normal, -1.0, 1.0))
    across = normal - (unit @ normal)[:, None] * unit
    across /= np.maximum(row_norms(across), 1e-9)[:, None]
    short = asked - sign * tree.starts[rows, axis]
    tried: list[tuple[float, int, float]] = []
    for turn in _SWINGS:
        angle = np.radians(turn)
        factor = short / np.maximum(length * np.cos(off - angle), 1e-6)
        ends = tree.starts[rows] + (factor * length)[:, None] * (np.cos(angle) * unit + np.sin(angle) * across)
        ends[:, axis] = sign * asked
        fair = (factor > 0.97) & (factor < most[rows]) & (off > angle) & (canopy.cover(ends) > -1.0)
        good = np.flatnonzero(fair)
        cost = np.maximum(factor[good], 1.0) + turn / 60.0
        tried += zip(cost.round(9).tolist(), rows[good].tolist(), [turn] * len(good), strict=True)
    return [(row, turn) for _, row, turn in sorted(tried)[:_TRIED]]


def _factor(tree: Tree, row: int, axis: int, sign: float, asked: float) -> float:
    """Return by how much a member must grow to touch a side with the edge of its end."""
    along = float(tree.chains.directions[tree.chains.firsts[row + 1] - 1][axis])
    # The end's disc reaches past its middle by the part of its radius that lies square to the bar.
    edge = float(tree.end_diameters[row]) / 2.0 * float(np.sqrt(max(1.0 - along**2, 0.0)))
    start, tip = sign * float(tree.starts[row, axis]), sign * float(tree.tips[row, axis])
    return (asked - 0.3 - edge - start) / max(tip - start, 1e-6)


def stretched(tree: Tree, row: int, factor: float) -> Tree:
    """Return the tree with a childless member drawn out from its start: every straight and radius by a factor."""
    chains = tree.chains
    first, last = int(chains.offsets[row]), int(chains.offsets[row + 1])
    vertices, radii, shares = chains.vertices.copy(), chains.radii.copy(), np.ones(len(tree))
    start = vertices[first].copy()
    vertices[first:last] = start + factor * (vertices[first:last] - start)
    radii[first:last] *= factor
    shares[row] = factor
    return replace(tree, chains=Chains(chains.offsets, vertices, radii), tapers=tree.tapers.stretched(shares))


def _fits(tree: Tree, row: int, growing: Growing, standing: Index) -> bool:
    """Return whether a member and all it carries are in the crown and clear of what stood before it was moved."""
    load = tree.subtree(row)
    own = capsules(tree.alone(load), growing.step, CHORD_ERROR)
    own = replace(own, members=load[own.members])
    points = np.concatenate([own.heads, own.tails])
    members = np.concatenate([own.members, own.members])
    stations = np.concatenate([own.stations, own.stations + own.lengths])
    bare = np.array([BARE_SHARES[int(rank)] for rank in tree.ranks[members]])
    radii = np.concatenate([own.radii, own.radii]) - CHORD_ERROR
    # A piece's end is a disc and not a ball: its reach past the tip along the bar is not steel.
    size = np.where(stations > tree.lengths[members] - 1.0, 0.0, radii)
    if not growing.canopy.holds(points, size, stations >= bare * tree.lengths[members]).all():
        return False
    if growing.canopy.crosses_boxes(own.heads, own.tails, own.radii).any():
        return False
    left, right = Index(own).near(standing, growing.clearance)
    here, there = own.members[left], standing.pieces.members[right]
    free = free_lengths(tree, tree.alone([row]), growing.clearance)[0]
    joined = (here == row) & (there == tree.parents[row])
    excused = at_joint(own, left, standing.pieces, right, joined, np.full(len(left), free), growing.clearance)
    return bool((excused | np.isin(there, load)).all())
