"""Centrelines as chains of straights and circular arcs: what is drawn is what is bent.

Size letters: M chains, V vertices, S = V - M straights, B = V - 2M bends, Q queries. Lengths are mm.

A chain runs from its first vertex to its last; at each inner vertex it turns from one straight into the next along
an arc of the given centreline radius, tangent to both. A *station* is a distance along the chain from its start.
Straight k of a chain is followed by the arc at the vertex where it ends; the last one by none.

The chalk line lies along the straight bar and is carried through each bend without twist, so a bend turns it about
the axis of the bend plane by the angle of the bend.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Chains:
    """M chains as ragged arrays.

    offsets: (M + 1,) first vertex of each chain, then V. vertices: (V, 3) mm, the corners before rounding.
    radii: (V,) mm, centreline bend radius; zero at the first and last vertex of a chain.
    """

    offsets: Ints
    vertices: Floats
    radii: Floats

    def __len__(self) -> int:
        return len(self.offsets) - 1

    @cached_property
    def members(self) -> Ints:
        """Chain of each straight: (S,)."""
        return np.repeat(np.arange(len(self)), np.diff(self.offsets) - 1)

    @cached_property
    def firsts(self) -> Ints:
        """First straight of each chain, then S: (M + 1,)."""
        return self.offsets - np.arange(len(self.offsets))

    @cached_property
    def starts(self) -> Ints:
        """Vertex at which each straight's side of the corner polygon starts: (S,)."""
        return np.arange(len(self.members)) + self.members

    @cached_property
    def sides(self) -> Floats:
        """Length of each side of the corner polygon: (S,) mm."""
        return row_norms(self.vertices[self.starts + 1] - self.vertices[self.starts])

    @cached_property
    def directions(self) -> Floats:
        """Unit direction of each straight: (S, 3)."""
        span = self.vertices[self.starts + 1] - self.vertices[self.starts]
        return np.asarray(span / np.maximum(self.sides, 1e-300)[:, None])

    @cached_property
    def is_last(self) -> NDArray[np.bool_]:
        """Whether a straight ends its chain, and so has no bend behind it: (S,)."""
        last = np.zeros(len(self.members), dtype=bool)
        last[self.firsts[1:] - 1] = True
        return last

    @cached_property
    def bends(self) -> Floats:
        """Bend behind each straight: (S,) radians, zero behind the last of a chain."""
        angle = np.zeros(len(self.members))
        before, after = self.directions[:-1], self.directions[1:]
        # The half-angle form keeps its precision for bends near 0 and near 180 degrees, where arccos loses half its
        # digits.
        angle[:-1] = 2.0 * np.arctan2(row_norms(after - before), row_norms(after + before))
        angle[self.is_last] = 0.0
        return angle

    @cached_property
    def bend_radii(self) -> Floats:
        """Radius of the bend behind each straight: (S,) mm, zero behind the last."""
        return self.radii[self.starts + 1]

    @cached_property
    def inward(self) -> Floats:
        """Unit direction, square to each straight, toward which its bend goes: (S, 3); zero where there is no bend."""
        following = np.roll(self.directions, -1, axis=0)
        side = following - np.sum(following * self.directions, axis=1, keepdims=True) * self.directions
        side[self.is_last] = 0.0
        return np.asarray(side / np.maximum(row_norms(side), 1e-300)[:, None])

    @cached_property
    def tangents_out(self) -> Floats:
        """Length that each bend takes from the sides at its corner: (S,) mm, R tan(bend / 2)."""
        return self.bend_radii * np.tan(self.bends / 2.0)

    @cached_property
    def tangents_in(self) -> Floats:
        """Length that the bend before a straight takes from its side: (S,) mm."""
        taken = np.roll(self.tangents_out, 1)
        taken[self.firsts[:-1]] = 0.0
        return taken

    @cached_property
    def feeds(self) -> Floats:
        """Length of each straight between its bends: (S,) mm; negative where two bends overlap."""
        return self.sides - self.tangents_in - self.tangents_out

    @cached_property
    def arcs(self) -> Floats:
        """Length of the arc behind each straight: (S,) mm."""
        return self.bend_radii * self.bends

    @cached_property
    def ends(self) -> Floats:
        """Distance over all chains, laid end to end, at which each straight with its arc ends: (S,) mm."""
        return np.cumsum(self.feeds + self.arcs)

    @cached_property
    def bases(self) -> Floats:
        """Distance over all chains, laid end to end, at which each chain starts, then the total: (M + 1,) mm."""
        return np.concatenate([[0.0], self.ends])[self.firsts]

    @cached_property
    def marks(self) -> Floats:
        """Station at which each straight starts: (S,) mm."""
        return self.ends - self.feeds - self.arcs - self.bases[self.members]

    @cached_property
    def lengths(self) -> Floats:
        """Length of each chain along straights and arcs: (M,) mm.

        >>> two = chain([[0, 0, 0], [300, 0, 0], [300, 200, 0], [300, 200, 150]], [0, 40, 40, 0])
        >>> round(float(two.lengths[0]), 2)
        615.66
        """
        return np.asarray(np.add.reduceat(self.feeds + self.arcs, self.firsts[:-1]) if len(self) else np.zeros(0))

    def taken(self, rows: ArrayLike) -> Chains:
        """Return the chains of the given rows, in that order."""
        rows = np.asarray(rows, dtype=np.int64)
        counts = np.diff(self.offsets)[rows]
        offsets = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
        picked = np.repeat(self.offsets[rows] - offsets[:-1], counts) + np.arange(offsets[-1])
        return Chains(offsets, self.vertices[picked], self.radii[picked])


def chain(vertices: ArrayLike, radii: ArrayLike) -> Chains:
    """Return one chain from its corners (V, 3) mm and its bend radii (V,) mm."""
    corners = np.asarray(vertices, dtype=np.float64)
    return Chains(np.array([0, len(corners)]), corners, np.asarray(radii, dtype=np.float64))


def joined(parts: list[Chains]) -> Chains:
    """Return the chains of all parts, one after the other."""
    counts = np.concatenate([np.diff(part.offsets) for part in parts])
    return Chains(
        np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        np.concatenate([part.vertices for part in parts]),
        np.concatenate([part.radii for part in parts]),
    )


def locate(chains: Chains, members: ArrayLike, stations: ArrayLike) -> tuple[Floats, Floats, Ints]:
    """Return points (Q, 3) mm, unit tangents (Q, 3) and straights (Q,) at the stations (Q,) mm of the chains (Q,).

    A station outside its chain is drawn on along the first or last straight.
    """
    members = np.asarray(members, dtype=np.int64)
    stations = np.asarray(stations, dtype=np.float64)
    place = chains.bases[members] + np.maximum(stations, 0.0)
    straights = np.searchsorted(chains.ends, place, side="left")
    straights = np.clip(straights, chains.firsts[members], chains.firsts[members + 1] - 1)
    points, tangents = along(chains, straights, stations - chains.marks[straights])
    return points, tangents, straights


def along(chains: Chains, straights: Ints, distances: Floats) -> tuple[Floats, Floats]:
    """Return points (Q, 3) mm and tangents (Q, 3) at distances (Q,) mm from where the given straights (Q,) start."""
    direction, side = chains.directions[straights], chains.inward[straights]
    feed, radius = chains.feeds[straights], chains.bend_radii[straights]
    on_arc = (distances > feed) & ~chains.is_last[straights] & (radius > 0.0)
    run = np.where(on_arc, feed, distances)
    angle = np.where(on_arc, (distances - feed) / np.where(radius > 0.0, radius, 1.0), 0.0)
    sine, cosine = np.sin(angle)[:, None], np.cos(angle)[:, None]
    start = chains.vertices[chains.starts[straights]] + direction * chains.tangents_in[straights, None]
    points = start + direction * run[:, None] + radius[:, None] * (sine * direction + (1.0 - cosine) * side)
    return points, cosine * direction + sine * side


@dataclass(frozen=True, eq=False)
class BendList:
    """Bends of M chains, as bent at the anvil; B bends in chain order.

    members: (B,) chain; numbers: (B,) 1, 2, … in a chain; marks: (B,) mm, station at which the bend begins;
    feeds: (B,) mm, straight run before it; turns: (B,) deg about the bar from the bend before; bends: (B,) deg;
    radii: (B,) mm, centreline. tails: (M,) mm, straight after the last bend.
    """

    members: Ints
    numbers: Ints
    marks: Floats
    feeds: Floats
    turns: Floats
    bends: Floats
    radii: Floats
    tails: Floats

    def taken(self, members: Ints) -> BendList:
        """Return the bends of the given chains (Q,), in that order, chains counting in these."""
        firsts = np.searchsorted(self.members, members)
        counts = np.searchsorted(self.members, members, side="right") - firsts
        at = np.repeat(firsts - (np.cumsum(counts) - counts), counts) + np.arange(counts.sum())
        return BendList(
            members=np.repeat(np.arange(len(members)), counts),
            numbers=self.numbers[at],
            marks=self.marks[at],
            feeds=self.feeds[at],
            turns=self.turns[at],
            bends=self.bends[at],
            radii=self.radii[at],
            tails=self.tails[members],
        )


def bend_list(chains: Chains) -> BendList:
    """Return the bends that make the chains; the first of each goes toward its chalk line (turn 0).

    >>> two = chain([[0, 0, 0], [300, 0, 0], [300, 200, 0], [300, 200, 150]], [0, 40, 40, 0])
    >>> bends = bend_list(two)
    >>> bends.feeds.round(3).tolist(), bends.turns.round(3).tolist(), bends.tails.round(3).tolist()
    ([260.0, 120.0], [0.0, 90.0], [110.0])
    """
    bent = np.flatnonzero(~chains.is_last)
    numbers = bent - chains.firsts[chains.members[bent]]
    turns = np.zeros(len(bent))
    later = np.flatnonzero(numbers > 0)
    here, before = bent[later], bent[later] - 1
    carried = carry(chains.inward[before], chains.directions[before], chains.directions[here])
    across = np.cross(chains.directions[here], carried)
    wanted = chains.inward[here]
    turns[later] = np.degrees(np.arctan2(np.sum(across * wanted, axis=1), np.sum(carried * wanted, axis=1)))
    return BendList(
        members=chains.members[bent],
        numbers=numbers + 1,
        marks=chains.marks[bent] + chains.feeds[bent],
        feeds=chains.feeds[bent],
        turns=turns,
        bends=np.degrees(chains.bends[bent]),
        radii=chains.bend_radii[bent],
        tails=chains.feeds[chains.is_last],
    )


def bent(listed: BendList, starts: Floats, directions: Floats, chalks: Floats) -> Chains:
    """Return the chains that a bend list makes from start points (M, 3) mm, axes (M, 3) and chalk directions (M, 3).

    The exact inverse of `bend_list`: every chain runs bend by bend, all chains at once.
    """
    counts = np.bincount(listed.members, minlength=len(starts))
    offsets = np.concatenate([[0], np.cumsum(counts + 2)]).astype(np.int64)
    firsts = np.concatenate([[0], np.cumsum(counts)])
    vertices, radii = np.zeros((offsets[-1], 3)), np.zeros(offsets[-1])
    point, axis, plane = starts.copy(), directions.copy(), chalks.copy()
    taken = np.zeros(len(starts))
    vertices[offsets[:-1]] = starts
    for number in range(counts.max(initial=0)):
        rows = np.flatnonzero(counts > number)
        at = firsts[rows] + number
        angle = np.radians(listed.bends[at])
        tangent = listed.radii[at] * np.tan(angle / 2.0)
        point[rows] += axis[rows] * (taken[rows] + listed.feeds[at] + tangent)[:, None]
        vertices[offsets[rows] + number + 1], radii[offsets[rows] + number + 1] = point[rows], listed.radii[at]
        side = turned(plane[rows], axis[rows], np.radians(listed.turns[at]))
        sine, cosine = np.sin(angle)[:, None], np.cos(angle)[:, None]
        axis[rows], plane[rows] = cosine * axis[rows] + sine * side, cosine * side - sine * axis[rows]
        taken[rows] = tangent
    vertices[offsets[1:] - 1] = point + axis * (taken + listed.tails)[:, None]
    return Chains(offsets, vertices, radii)


def chalk_lines(chains: Chains, first: Floats) -> Floats:
    """Return the chalk direction on each straight (S, 3), given that on the first straight of each chain (M, 3)."""
    chalks = np.zeros_like(chains.directions)
    counts = np.diff(chains.firsts)
    chalks[chains.firsts[:-1]] = first
    for number in range(1, counts.max(initial=0)):
        here = chains.firsts[:-1][counts > number] + number
        chalks[here] = carry(chalks[here - 1], chains.directions[here - 1], chains.directions[here])
    return chalks


@dataclass(frozen=True, eq=False)
class Sampled:
    """Polylines along M chains: offsets (M + 1,), points (N, 3) mm, tangents (N, 3), straights (N,), stations (N,)
    mm."""

    offsets: Ints
    points: Floats
    tangents: Floats
    straights: Ints
    stations: Floats


def sampled(chains: Chains, chord_error: float, step: float = np.inf) -> Sampled:
    """Return polylines that leave no arc by more than `chord_error` mm, with no gap between points over `step` mm.

    Every point lies exactly on its chain; the start and end of each straight are among them.
    """
    ratio = np.clip(1.0 - chord_error / np.maximum(chains.bend_radii, 1e-9), -1.0, 1.0)
    on_arc = np.ceil(chains.bends / np.maximum(2.0 * np.arccos(ratio), 1e-3))
    on_arc = np.where(chains.arcs > 1e-9, np.maximum(np.maximum(on_arc, np.ceil(chains.arcs / step)), 1.0), 0.0)
    on_run = np.where(chains.feeds > 1e-9, np.maximum(np.ceil(chains.feeds / step), 1.0), 0.0)
    parts = np.stack([on_run, on_arc], axis=1).astype(np.int64)
    counts = parts.sum(axis=1) + chains.is_last
    straights = np.repeat(np.arange(len(counts)), counts)
    place = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)
    run_parts, arc_parts = parts[straights, 0], parts[straights, 1]
    on_straight = place <= run_parts
    run_share = np.minimum(place, run_parts) / np.maximum(run_parts, 1)
    arc_share = np.where(on_straight, 0, place - run_parts) / np.maximum(arc_parts, 1)
    distances = run_share * chains.feeds[straights] + arc_share * chains.arcs[straights]
    points, tangents = along(chains, straights, distances)
    totals = np.add.reduceat(counts, chains.firsts[:-1]) if len(chains) else counts
    offsets = np.concatenate([[0], np.cumsum(totals)]).astype(np.int64)
    return Sampled(offsets, points, tangents, straights, chains.marks[straights] + distances)


def carry(vectors: Floats, before: Floats, after: Floats) -> Floats:
    """Return vectors (Q, 3) carried by the least rotation that takes unit directions `before` to `after` (Q, 3)."""
    middle = before + after
    share = np.sum(vectors * middle, axis=1) / np.maximum(1.0 + np.sum(before * after, axis=1), 1e-12)
    return np.asarray(vectors - share[:, None] * middle + 2.0 * np.sum(vectors * before, axis=1)[:, None] * after)


def turned(vectors: Floats, axes: Floats, angles: Floats) -> Floats:
    """Return vectors (Q, 3) turned about unit axes (Q, 3) by angles (Q,) radians, right-handed (Rodrigues' formula)."""
    sine, cosine = np.sin(angles)[:, None], np.cos(angles)[:, None]
    lengthwise = np.sum(vectors * axes, axis=1, keepdims=True) * axes
    return np.asarray(lengthwise + cosine * (vectors - lengthwise) + sine * np.cross(axes, vectors))


def row_norms(rows: Floats) -> Floats:
    """Return the length of each row: (Q,)."""
    return np.asarray(np.sqrt(np.einsum("ij,ij->i", rows, rows)))


def nearest_on_segments(p: Floats, p_end: Floats, q: Floats, q_end: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the least distance between segments p-p_end and q-q_end, row by row, and the shares of each at which they
    are nearest: (Q,) mm, (Q,), (Q,).

    Lumelsky, Information Processing Letters 21, 1985: clamp one share, project, clamp the other. Parallel segments are
    nearest at many places: one of them is given. A segment may be a point.

    >>> one, other = np.array([[0.0, 0, 0], [9, 0, 0]]), np.array([[5.0, 2, 3], [5, 4, 3]])
    >>> nearest_on_segments(one[:1], one[1:], other[:1], other[1:])[0].round(6).tolist()
    [3.605551]
    """
    u, v, w = p_end - p, q_end - q, p - q
    a, b, c, d, e = (np.einsum("ij,ij->i", x, y) for x, y in ((u, u), (u, v), (v, v), (u, w), (v, w)))
    denominator = a * c - b * b
    parallel = denominator < 1e-12 * np.maximum(a * c, 1e-30)
    s = np.where(parallel, 0.0, np.clip((b * e - c * d) / np.where(parallel, 1.0, denominator), 0.0, 1.0))
    t = (b * s + e) / np.maximum(c, 1e-30)
    t_held = np.clip(t, 0.0, 1.0)
    s = np.where(t != t_held, np.clip((b * t_held - d) / np.maximum(a, 1e-30), 0.0, 1.0), s)
    return row_norms(w + s[:, None] * u - t_held[:, None] * v), s, t_held
