"""Dressed welds to look at: where a bar leaves its parent, a hollow flare runs from one skin into the other.

Seen in a plane along the bar's axis a flare is a parabola that touches the parent's skin at its foot and the bar's skin
at its top; its corner is where the two skins meet. It is a picture of the weld; lists and files know nothing of it.

Size letters: N vertices of a mesh, Q places on flares.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.tree import Floats, Ints, Rings, Tree, Tubes, dot, frames, locate, row_norms

# Places along the parabola, foot to top, where rings are drawn.
_ALONG = np.array([0.0, 0.3, 0.65, 1.0])
# Run of a flare on the bar and on its parent, in radii of the bar.
_UP, _OUT = 1.2, 0.7
# A foot lies a little under the parent's skin, mm and share of its radius, so that both meet in one clean line though
# the facets of either cut the round short.
_SUNK = (0.6, 0.02)
# A flare's rings carry their place along the parabola as stations before the bar's start: this many mm a unit.
_MARK = 1e-3


def flared(tree: Tree, circles: Rings) -> Rings:
    """Return the rings of a tree with those of the flares in place of each bar's own at its weld."""
    rows = np.flatnonzero(tree.parents >= 0)
    top = np.full(len(tree), -np.inf)
    top[rows] = _highest(tree, rows)
    last = np.append(np.diff(circles.members) > 0, True)
    kept = (circles.stations > top[circles.members]) | last
    members, stations, radii = circles.members[kept], circles.stations[kept], circles.radii[kept]
    owners = np.repeat(rows, len(_ALONG))
    at = np.searchsorted(members, owners)
    return Rings(
        np.insert(members, at, owners),
        np.insert(stations, at, np.tile(_MARK * (_ALONG - 2.0), len(rows))),
        np.insert(radii, at, tree.start_diameters[owners] / 2.0),
    )


def welded(tree: Tree, mesh: Tubes) -> Tubes:
    """Return a mesh swept through `flared` rings with the vertices and normals of the flares where they belong."""
    walls = np.arange(len(mesh.vertices) - 2 * len(tree))
    flare = walls[(mesh.stations[walls] < 0.0) & (tree.parents[mesh.members[walls]] >= 0)]
    if len(flare) == 0:
        return mesh
    share = (mesh.stations[flare] / _MARK + 2.0)[:, None]
    members, angles = mesh.members[flare], _angles(tree, mesh, flare)
    corner = _corner(tree, members, _around(tree, members, -tree.setbacks[members], angles)[1])
    meet, _ = _skin(tree, members, corner, angles)
    top, bar = _skin(tree, members, corner + _UP * tree.start_diameters[members] / 2.0, angles)
    foot, parent = _foot(tree, members, meet, bar)
    vertices, normals = mesh.vertices.copy(), mesh.normals.copy()
    vertices[flare] = (1 - share) ** 2 * foot + 2 * share * (1 - share) * meet + share**2 * top
    run = (1 - share) * (meet - foot) + share * (top - meet)
    along = run / np.maximum(row_norms(run), 1e-9)[:, None]
    facing = (1 - share) * parent + share * bar
    facing = facing - dot(facing, along)[:, None] * along
    normals[flare] = facing / np.maximum(row_norms(facing), 1e-9)[:, None]
    return replace(mesh, vertices=vertices, normals=normals)


def shared_colour(tree: Tree, mesh: Tubes) -> Floats:
    """Return how much of its parent's colour each vertex takes, so that no bar begins with a hard edge: (N,)."""
    away = np.maximum(mesh.stations, 0.0) / np.maximum(1.5 * tree.start_diameters[mesh.members], 1e-9)
    return np.where(tree.parents[mesh.members] >= 0, np.exp(-away), 0.0)


def _highest(tree: Tree, rows: Ints) -> Floats:
    """Return the station (Q,) mm up to which a flare covers each bar, at most half of the bar."""
    angles = np.radians(np.arange(0.0, 360.0, 30.0))
    members, turn = np.repeat(rows, len(angles)), np.tile(angles, len(rows))
    corner = _corner(tree, members, _around(tree, members, -tree.setbacks[members], turn)[1])
    top = corner.reshape(len(rows), len(angles)).max(axis=1) + _UP * tree.start_diameters[rows] / 2.0
    return np.asarray(np.minimum(top, 0.5 * tree.lengths[rows]))


def _corner(tree: Tree, members: Ints, outward: Floats) -> Floats:
    """Return the station (Q,) mm on each bar where its skin, on the side `outward` (Q, 3), comes out of the parent.

    Both are taken as round and straight there: a line along the bar meets a cylinder.
    """
    parents, radius = tree.parents[members], tree.start_diameters[members] / 2.0
    _, axis, _ = locate(tree.chains, parents, tree.stations[members])
    room = tree.diameters_at(parents, tree.stations[members]) / 2.0
    along, side = tree.axes[members], outward * radius[:, None]
    flat = along - dot(along, axis)[:, None] * axis
    away = side - dot(side, axis)[:, None] * axis
    a, b, c = dot(flat, flat), dot(flat, away), dot(away, away) - room**2
    inside = (a > 1e-6) & (b * b > a * c)
    root = np.sqrt(np.where(inside, b * b - a * c, 0.0))
    out = np.where(inside, (root - b) / np.where(inside, a, 1.0), tree.setbacks[members])
    # A bar that leaves at the parent's end comes out of the end, not of the skin beyond it.
    rise = dot(along, axis)
    left = tree.lengths[parents] - tree.stations[members] - dot(side, axis)
    out = np.where(rise > 1e-6, np.minimum(out, left / np.maximum(rise, 1e-6)), out)
    setback = tree.setbacks[members]
    return np.clip(out - setback, -0.9 * setback, np.minimum(4.0 * radius, 0.3 * tree.lengths[members]))


def _foot(tree: Tree, members: Ints, meet: Floats, bar: Floats) -> tuple[Floats, Floats]:
    """Return the flares' feet (Q, 3) on the parents' skin, and the skin's normals there (Q, 3)."""
    parents = tree.parents[members]
    start, axis, _ = locate(tree.chains, parents, tree.stations[members])
    radius = tree.start_diameters[members] / 2.0
    up = _across(meet - start, axis)
    level = bar - dot(bar, up)[:, None] * up
    wanted = meet + level / np.maximum(row_norms(level), 1e-9)[:, None] * (_OUT * radius)[:, None]
    station = np.clip(tree.stations[members] + dot(wanted - start, axis), 0.0, tree.lengths[parents])
    middle, tangent, _ = locate(tree.chains, parents, station)
    normal = _across(wanted - middle, tangent)
    room = tree.diameters_at(parents, station) / 2.0 * (1.0 - _SUNK[1]) - _SUNK[0]
    return middle + normal * np.maximum(room, 0.0)[:, None], normal


def _skin(tree: Tree, members: Ints, stations: Floats, angles: Floats) -> tuple[Floats, Floats]:
    """Return points (Q, 3) on the bars' skin at stations and angles (Q,), and its normals there (Q, 3)."""
    points, outward = _around(tree, members, stations, angles)
    return points + outward * (tree.diameters_at(members, stations) / 2.0)[:, None], outward


def _around(tree: Tree, members: Ints, stations: Floats, angles: Floats) -> tuple[Floats, Floats]:
    points, tangents, across = frames(tree.chains, members, stations)
    aside = np.cross(tangents, across)
    return points, np.cos(angles)[:, None] * across + np.sin(angles)[:, None] * aside


def _angles(tree: Tree, mesh: Tubes, rows: Ints) -> Floats:
    """Return the angle (Q,) at which each vertex stands on its ring."""
    members = mesh.members[rows]
    _, tangents, across = frames(tree.chains, members, -tree.setbacks[members])
    outward = mesh.normals[rows]
    return np.arctan2(dot(outward, np.cross(tangents, across)), dot(outward, across))


def _across(offset: Floats, axis: Floats) -> Floats:
    """Return the unit part (Q, 3) of each offset square to its axis."""
    flat = offset - dot(offset, axis)[:, None] * axis
    return np.asarray(flat / np.maximum(row_norms(flat), 1e-9)[:, None])
