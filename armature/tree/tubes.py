"""Round bars as closed triangle meshes, straight from their centrelines: one mesher for pictures, files and checks.

Size letters: M members, R rings, N vertices, F faces. A ring is a circle of vertices square to the centreline; each
member is capped at both ends, so that its own surface is closed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from armature.tree.centreline import Chains, Floats, Ints, carry, chalk_lines, locate, row_norms, sampled
from armature.tree.tree import Tree


@dataclass(frozen=True, eq=False)
class Tubes:
    """vertices (N, 3) mm, outward normals (N, 3), faces (F, 3) rows of vertices; members: (N,) of vertices, owners:
    (F,) of faces.

    stations: (N,) mm along the member's centreline. Faces turn counter-clockwise seen from outside.
    """

    vertices: Floats
    normals: Floats
    faces: Ints
    members: Ints
    owners: Ints
    stations: Floats


@dataclass(frozen=True, eq=False)
class Rings:
    """Where circles are drawn: members (R,) ascending, stations (R,) mm ascending in each member, radii (R,) mm."""

    members: Ints
    stations: Floats
    radii: Floats


def tubes(tree: Tree, facets: ArrayLike = 16, chord_error: float = 0.5, step: float = np.inf) -> Tubes:
    """Return every member as a closed tube with its true taper and bends.

    facets: corners of each circle, one number or (M,). chord_error: mm that the mesh may leave an arc. step: mm, the
    longest gap between rings. Circles have the area of the bar's round section, so that meshes weigh what bars weigh.

    >>> import numpy as np
    >>> from armature.tree.centreline import chain
    >>> circles = Rings(np.zeros(2, int), np.array([0, 100.0]), np.full(2, 5.0))
    >>> swept(chain([[0, 0, 0], [0, 0, 100]], [0, 0]), circles, 8).faces.shape
    (32, 3)
    """
    count = np.broadcast_to(np.asarray(facets, dtype=np.int64), len(tree))
    circles = rings(tree, chord_error, step)
    return swept(
        tree.chains, Rings(circles.members, circles.stations, circles.radii * _evening(count)[circles.members]), count
    )


def rings(tree: Tree, chord_error: float = 0.5, step: float = np.inf, more: Floats | None = None) -> Rings:
    """Return the rings that show every straight, arc and place of the tapers; `more` (M, K) mm are stations asked
    for besides.
    """
    run = sampled(tree.chains, chord_error, step)
    members = np.repeat(np.arange(len(tree)), np.diff(run.offsets))
    rows, wanted = tree.tapers.members, tree.tapers.stations
    if more is not None:
        rows = np.append(rows, np.repeat(np.arange(len(tree)), more.shape[1]))
        wanted = np.append(wanted, more.ravel())
    inside = (wanted > 1e-6) & (wanted < tree.lengths[rows] - 1e-6)
    members, stations = np.append(members, rows[inside]), np.append(run.stations, wanted[inside])
    order = np.lexsort([stations, members])
    members, stations = members[order], stations[order]
    kept = np.append(True, (np.diff(members) > 0) | (np.diff(stations) > 1e-6))
    members, stations = members[kept], stations[kept]
    return Rings(members, stations, tree.diameters_at(members, stations) / 2.0)


def swept(chains: Chains, circles: Rings, facets: ArrayLike) -> Tubes:
    """Return closed tubes through the circles; every chain has two circles or more, with `facets` corners each (M,).

    A station before 0 or past the end lies on the first or last straight drawn on.
    """
    count = np.broadcast_to(np.asarray(facets, dtype=np.int64), len(chains))
    centres, tangents, across = frames(chains, circles.members, circles.stations)
    corners = count[circles.members]
    ring = np.repeat(np.arange(len(corners)), corners)
    firsts = np.cumsum(corners) - corners
    angle = 2.0 * np.pi * (np.arange(len(ring)) - firsts[ring]) / corners[ring]
    aside = np.cross(tangents, across)
    outward = np.cos(angle)[:, None] * across[ring] + np.sin(angle)[:, None] * aside[ring]
    slope = _slopes(circles)[ring, None]
    normals = outward - slope * tangents[ring]
    ends = _ends(circles.members, len(chains))
    vertices = np.concatenate([centres[ring] + outward * circles.radii[ring, None], centres[ends]])
    caps = np.repeat([-1.0, 1.0], len(chains))[:, None] * tangents[ends]
    members = np.concatenate([circles.members[ring], circles.members[ends]])
    faces, owners = _faces(circles.members, corners, firsts, ends, len(ring))
    return Tubes(
        vertices=vertices,
        normals=np.concatenate([normals / row_norms(normals)[:, None], caps]),
        faces=faces,
        members=members,
        owners=owners,
        stations=np.concatenate([circles.stations[ring], circles.stations[ends]]),
    )


def frames(chains: Chains, members: Ints, stations: Floats) -> tuple[Floats, Floats, Floats]:
    """Return points, tangents and a direction square to them that bending carries along without twist, each (Q, 3)."""
    first = chains.directions[chains.firsts[:-1]]
    helper = np.where(np.abs(first[:, 2:]) < 0.9, [[0.0, 0.0, 1.0]], [[1.0, 0.0, 0.0]])
    start = np.cross(first, helper)
    lines = chalk_lines(chains, start / row_norms(start)[:, None])
    points, tangents, straights = locate(chains, members, stations)
    return points, tangents, carry(lines[straights], chains.directions[straights], tangents)


def _evening(facets: Ints) -> Floats:
    """Return how much wider a polygon of n corners must be drawn to have the area of its circle."""
    return np.sqrt(2.0 * np.pi / facets / np.sin(2.0 * np.pi / facets))


def _slopes(circles: Rings) -> Floats:
    """Return the fall of the radius along the bar at each ring: the mean of its two sides, one side at the ends."""
    run, rise = np.diff(circles.stations), np.diff(circles.radii)
    same = np.diff(circles.members) == 0
    each = np.where(same, rise / np.where(same, np.maximum(run, 1e-9), 1.0), 0.0)
    total = np.append(each, 0.0) + np.append(0.0, each)
    sides = np.append(same, False).astype(float) + np.append(False, same)
    return np.asarray(total / np.maximum(sides, 1.0))


def _ends(members: Ints, count: int) -> Ints:
    starts = np.searchsorted(members, np.arange(count), side="left")
    stops = np.searchsorted(members, np.arange(count), side="right") - 1
    return np.concatenate([starts, stops])


def _faces(members: Ints, corners: Ints, firsts: Ints, ends: Ints, wall: int) -> tuple[Ints, Ints]:
    """Return the faces (F, 3) of walls and caps, and the member of each (F,)."""
    followed = np.flatnonzero(np.diff(members) == 0)
    below, after = _edges(firsts[followed], corners[followed])
    ring = np.repeat(followed, corners[followed])
    above, above_after = below + corners[ring], after + corners[ring]
    walls = np.concatenate([np.stack([below, after, above_after], 1), np.stack([below, above_after, above], 1)])
    left, right = _edges(firsts[ends], corners[ends])
    cap = np.repeat(np.arange(len(ends)), corners[ends])
    closes = cap >= len(ends) // 2
    fans = np.stack([wall + cap, np.where(closes, left, right), np.where(closes, right, left)], 1)
    owners: Ints = np.concatenate([np.tile(members[ring], 2), members[ends][cap]])
    faces: Ints = np.concatenate([walls, fans])
    return faces, owners


def _edges(firsts: Ints, corners: Ints) -> tuple[Ints, Ints]:
    """Return both ends of every edge round the given rings."""
    ring = np.repeat(np.arange(len(firsts)), corners)
    place = np.arange(len(ring)) - (np.cumsum(corners) - corners)[ring]
    after: Ints = np.mod(place + 1, corners[ring])
    return firsts[ring] + place, firsts[ring] + after
