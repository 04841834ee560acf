"""The chance that members touch once they are made and welded with the errors of a real shop, and in wind.

Size letters: M members, S short straight pieces of their centrelines, Q pairs of pieces, D draws. Lengths are mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from armature.seeds import keys, uniform
from armature.shop.anvil import Strays
from armature.tree import Floats, Ints, Tree, locate, nearest_on_segments, row_norms, sampled

_STEP = 50.0
_CHORD = 1.0
# Copies that are searched at once: more take more memory and stray further.
_TOGETHER = 16
# More than arithmetic can lose, mm.
_HAIR = 1e-6


@dataclass(frozen=True)
class Clash:
    """Two members that may touch, and the share of draws in which they do, in still air and in wind."""

    first: str
    second: str
    chance_still: float
    chance_wind: float


@dataclass(frozen=True, eq=False)
class _Pieces:
    """Short straight pieces: members (S,), shares of the member's length at both ends (S, 2), radii (S,) mm."""

    members: Ints
    shares: Floats
    radii: Floats


def clashes(tree: Tree, strays: Strays, sway: Floats | None = None, seed: int = 1) -> list[Clash]:
    """Return the pairs that touch in some draw, likeliest first.

    sway: (M,) mm, how far wind moves each tip; a member's points move in share of their distance from its start, every
    member at a phase of its own in a direction drawn for each copy. Where a child sits on its parent, and where two
    children sit side by side, touching is no clash.
    """
    pieces = _pieces(tree)
    draws = len(strays.offsets)
    still: list[Ints] = []
    windy: list[Ints] = []
    for first in range(0, draws, _TOGETHER):
        some = range(first, min(first + _TOGETHER, draws))
        calm = [_ends(strays, pieces, draw, len(tree)) for draw in some]
        gusts = [] if sway is None else [_swung(tree, pieces, sway, seed, draw) for draw in some]
        blown = [ends + moved for ends, moved in zip(calm, gusts, strict=False)]
        near = _near(tree, pieces, [*calm, *blown])
        still += [_touching(tree, pieces, ends, near) for ends in calm]
        windy += [_touching(tree, pieces, ends, near) for ends in blown]
    return _counted(tree, still, windy, draws)


def _pieces(tree: Tree) -> _Pieces:
    line = sampled(tree.chains, _CHORD, _STEP)
    members = tree.chains.members[line.straights]
    inner = np.flatnonzero((members[1:] == members[:-1]) & (np.diff(line.stations) > 1e-6))
    rows, ends = members[inner], np.stack([line.stations[inner], line.stations[inner + 1]], axis=1)
    radii = tree.diameters_at(rows, ends.mean(axis=1)) / 2.0
    return _Pieces(rows, ends / np.maximum(tree.lengths[rows], 1e-9)[:, None], radii)


def _ends(strays: Strays, pieces: _Pieces, draw: int, count: int) -> Floats:
    """Return both ends of every piece in one draw: (S, 2, 3) mm."""
    rows = np.repeat(pieces.members + draw * count, 2)
    points, _, _ = locate(strays.chains, rows, pieces.shares.ravel() * strays.chains.lengths[rows])
    return points.reshape(-1, 2, 3)


def _swung(tree: Tree, pieces: _Pieces, sway: Floats, seed: int, draw: int) -> Floats:
    phases = uniform(keys(seed, tree.tags, "anvil gust"), 1, draw)[:, 0]
    bearing = 2.0 * np.pi * float(uniform(keys(seed, ["wind"], "anvil gust"), 1, draw)[0, 0])
    reach = sway * np.cos(2.0 * np.pi * phases)
    moved = reach[pieces.members, None] * pieces.shares
    return np.asarray(moved[:, :, None] * np.array([np.cos(bearing), np.sin(bearing), 0.0]))


def _near(tree: Tree, pieces: _Pieces, copies: list[Floats]) -> Ints:
    """Return the pairs of pieces (Q, 2) that may touch in some of a few copies, ends (S, 2, 3) each.

    One search over all of them, each piece as far as it strays from its middle place, is much sooner than one a copy.
    """
    centres = _middles(sum(copies[1:], copies[0])) / len(copies)
    reach = np.zeros(len(centres))
    for ends in copies:
        reach = np.maximum(reach, row_norms(_middles(ends) - centres) + row_norms(ends[:, 1] - ends[:, 0]) / 2.0)
    pairs = _within(centres, reach + pieces.radii + _HAIR)
    rows = pieces.members[pairs]
    return np.asarray(pairs[(rows[:, 0] != rows[:, 1]) & ~_by_joint(tree, pieces, pairs)])


def _touching(tree: Tree, pieces: _Pieces, ends: Floats, near: Ints) -> Ints:
    """Return the pairs of members whose skins touch, as codes lower * M + upper, each once."""
    one, other = near.T
    reach = row_norms(ends[:, 1] - ends[:, 0]) / 2.0 + pieces.radii
    apart = sum((middle[one] - middle[other]) ** 2 for middle in np.ascontiguousarray(_middles(ends).T))
    pairs = near[apart < (reach[one] + reach[other]) ** 2]
    first, second = ends[pairs[:, 0]], ends[pairs[:, 1]]
    apart = nearest_on_segments(first[:, 0], first[:, 1], second[:, 0], second[:, 1])[0]
    gaps = apart - pieces.radii[pairs].sum(axis=1)
    rows = np.sort(pieces.members[pairs[gaps < 0.0]], axis=1)
    return np.asarray(np.unique(rows[:, 0] * len(tree) + rows[:, 1]))


def _middles(ends: Floats) -> Floats:
    return np.asarray((ends[:, 0] + ends[:, 1]) / 2.0)


def _within(middles: Floats, reach: Floats) -> Ints:
    """Return pairs of pieces (Q, 2) whose middles are nearer than the sum of their reaches.

    Thick pieces are few and would widen the search for all: they are searched for by themselves.
    """
    limit = float(np.quantile(reach, 0.9))
    thin, thick = np.flatnonzero(reach <= limit), np.flatnonzero(reach > limit)
    pairs = thin[cKDTree(middles[thin]).query_pairs(2.0 * limit, output_type="ndarray").astype(np.int64)]
    parts = [pairs.reshape(-1, 2)]
    if len(thick):
        widest = float(reach.max())
        everywhere = cKDTree(middles)
        for group in np.array_split(thick[np.argsort(reach[thick], kind="stable")], 4):
            if len(group):
                limit = float(reach[group].max()) + widest
                near = cKDTree(middles[group]).sparse_distance_matrix(everywhere, limit, output_type="ndarray")
                parts.append(np.stack([group[near["i"]], near["j"].astype(np.int64)], axis=1))
    joined = np.concatenate(parts)
    apart = row_norms(middles[joined[:, 0]] - middles[joined[:, 1]])
    return np.asarray(joined[(apart < reach[joined].sum(axis=1)) & (joined[:, 0] != joined[:, 1])])


def _by_joint(tree: Tree, pieces: _Pieces, pairs: Ints) -> NDArray[np.bool_]:
    """Return whether a pair lies by a joint that both share: parent and child, or two children at one place."""
    a, b = pieces.members[pairs[:, 0]], pieces.members[pairs[:, 1]]
    room = 3.0 * pieces.radii[pairs].sum(axis=1)
    stations = pieces.shares[:, 0] * tree.lengths[pieces.members]
    first, second = stations[pairs[:, 0]], stations[pairs[:, 1]]
    a_on_b, b_on_a = (tree.parents[a] == b) & (first < room), (tree.parents[b] == a) & (second < room)
    siblings = (tree.parents[a] == tree.parents[b]) & (first < room) & (second < room)
    return np.asarray(a_on_b | b_on_a | siblings)


def _counted(tree: Tree, still: list[Ints], windy: list[Ints], draws: int) -> list[Clash]:
    calm, gusty = _counts(still), _counts(windy)
    clashes = [
        Clash(
            str(tree.tags[code // len(tree)]),
            str(tree.tags[code % len(tree)]),
            calm.get(code, 0) / draws,
            gusty.get(code, 0) / draws,
        )
        for code in sorted({*calm, *gusty})
    ]
    return sorted(clashes, key=lambda clash: (-clash.chance_still, -clash.chance_wind, clash.first, clash.second))


def _counts(codes: list[Ints]) -> dict[int, int]:
    if not codes:
        return {}
    each, counts = np.unique(np.concatenate(codes), return_counts=True)
    return dict(zip(each.tolist(), counts.tolist(), strict=True))
