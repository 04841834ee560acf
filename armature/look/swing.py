"""Moves of a shaping hand: a member swung about its joint with all it carries, slid along its host, or bent anew.

A swing is rigid, so that every bend stays as listed; only the joint changes. What is moved keeps the commission's
clearances, stays in the canopy, and starts on its host's skin.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from armature.centreline import Chains, Floats, Ints, bend_list, bent, locate, row_norms
from armature.grow.clearance import Capsules, Index, capsules, joined_capsules
from armature.grow.drawing import Growing
from armature.grow.growing import growing_of
from armature.tree import Tree

if TYPE_CHECKING:
    from armature.commission import Commission

_CHORD_ERROR = 0.25
_LEANS = (20.0, 115.0)
# The first part of a member carries no leaves and may pass under the crown on its way.
_BARE = 0.34


@dataclass(frozen=True, eq=False)
class Room:
    """What is in the way of a move: the pieces of all members, and what the commission asks of clearance and canopy."""

    standing: Index
    growing: Growing

    def without(self, rows: Ints) -> Room:
        """Return the room after the given members are taken out of it."""
        pieces = self.standing.pieces
        return replace(self, standing=Index(pieces.taken(~np.isin(pieces.members, rows))))

    def with_pieces(self, pieces: Capsules) -> Room:
        """Return the room with further pieces in it."""
        return replace(self, standing=Index(joined_capsules(self.standing.pieces, pieces)))


def room_of(tree: Tree, commission: Commission) -> Room:
    """Return the room around a grown tree."""
    growing = growing_of(commission)
    return Room(Index(capsules(tree, growing.step, _CHORD_ERROR)), growing)


def turn_about(axis: Floats, degrees: float) -> Floats:
    """Return the rotation about an axis (3,), right-handed: (3, 3), by Rodrigues' formula."""
    unit = axis / max(float(np.linalg.norm(axis)), 1e-12)
    cross = np.array([[0.0, -unit[2], unit[1]], [unit[2], 0.0, -unit[0]], [-unit[1], unit[0], 0.0]])
    angle = np.radians(degrees)
    return np.asarray(np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * (cross @ cross))


def turn_toward(here: Floats, there: Floats, share: float) -> Floats:
    """Return the rotation that takes direction `here` a share of the way to `there`: (3, 3)."""
    angle = np.degrees(
        2.0 * np.arctan2(np.linalg.norm(_unit(here) - _unit(there)), np.linalg.norm(_unit(here) + _unit(there)))
    )
    return turn_about(np.cross(here, there), share * float(angle))


def swung(tree: Tree, row: int, turn: Floats, station: float | None = None) -> Tree | None:
    """Return the tree with a member, and all it carries, turned (3, 3) about its joint, which may slide to a station,
    mm.

    None where the member would lean less than 20 or more than 115 deg, or leave its host's skin off the host's end.
    """
    host = int(tree.parents[row])
    at = float(tree.stations[row]) if station is None else station
    joint, tangent, _ = locate(tree.chains, [host], [at])
    axis = turn @ tree.axes[row]
    lean = np.degrees(np.arccos(np.clip(float(axis @ tangent[0]), -1.0, 1.0)))
    if not _LEANS[0] <= lean <= _LEANS[1]:
        return None
    seat = _seat(tree, host, joint[0], at, axis)
    if seat is None:
        return None
    start = joint[0] + seat * axis
    moved = tree.subtree(row)
    chains = tree.chains
    at_vertices = np.isin(np.repeat(np.arange(len(tree)), np.diff(chains.offsets)), moved)
    vertices = chains.vertices.copy()
    vertices[at_vertices] = start + (vertices[at_vertices] - tree.starts[row]) @ turn.T
    stations, setbacks = tree.stations.copy(), tree.setbacks.copy()
    stations[row], setbacks[row] = at, seat
    return replace(tree, chains=Chains(chains.offsets, vertices, chains.radii), stations=stations, setbacks=setbacks)


def rebent(tree: Tree, row: int, turns: Floats, share: float) -> Tree | None:
    """Return the tree with a childless member's bends turned by `turns` (B,) deg about its bar and opened to a share.

    Straight runs and radii stay. None where the member has no bends, carries others, or a bend would leave 5 to 60 deg.
    """
    listed = bend_list(tree.chains.taken([row]))
    if len(listed.bends) == 0 or (tree.parents == row).any():
        return None
    bends = listed.bends * share
    if (bends < 5.0).any() or (bends > 60.0).any():
        return None
    new_turns = np.where(listed.numbers > 1, (listed.turns + turns[: len(bends)] + 180.0) % 360.0 - 180.0, 0.0)
    inward = tree.chains.inward[tree.chains.firsts[row]]
    fresh = bent(replace(listed, bends=bends, turns=new_turns), tree.starts[[row]], tree.axes[[row]], inward[None])
    first, last = int(tree.chains.offsets[row]), int(tree.chains.offsets[row + 1])
    vertices = tree.chains.vertices.copy()
    vertices[first:last] = fresh.vertices
    chains = Chains(tree.chains.offsets, vertices, tree.chains.radii)
    ratio = chains.lengths[row] / tree.lengths[row]
    tapers, leaves = tree.taper_starts.copy(), tree.leaves.stations.copy()
    tapers[row] *= ratio
    leaves[tree.leaves.twigs == row] *= ratio
    return replace(tree, chains=chains, taper_starts=tapers, leaves=replace(tree.leaves, stations=leaves))


def fits(moved: Tree, row: int, room: Room) -> Capsules | None:
    """Return the pieces of a moved member and its load if they are clear of the room and in the canopy, else None."""
    rows = moved.subtree(row)
    own = capsules(moved.alone(rows), room.growing.step, _CHORD_ERROR)
    own = replace(own, members=rows[own.members])
    if not _in_canopy(moved, own, room.growing):
        return None
    left, right = Index(own).near(room.standing, room.growing.clearance)
    here, there = own.members[left], room.standing.pieces.members[right]
    at_joint = (here == row) & (there == moved.parents[row])
    at_joint &= own.stations[left] < _free_length(moved, row, room.growing)
    return own if bool(at_joint.all()) else None


def _in_canopy(tree: Tree, own: Capsules, growing: Growing) -> bool:
    canopy = growing.canopy
    share = _BARE * tree.lengths[own.members]
    bears = np.concatenate([own.stations, own.stations + own.lengths]) >= np.concatenate([share, share])
    points = np.concatenate([own.heads, own.tails])
    held = canopy.holds(points, np.concatenate([own.radii, own.radii]), bears)
    return bool(held.all()) and not bool(canopy.crosses_boxes(own.heads, own.tails, own.radii).any())


def _free_length(tree: Tree, row: int, growing: Growing) -> float:
    """Return how far from its start, mm, a member cannot yet be clear of its host."""
    tangent = locate(tree.chains, [int(tree.parents[row])], [float(tree.stations[row])])[1][0]
    sine = max(float(np.linalg.norm(np.cross(tangent, tree.axes[row]))), 0.2)
    half = float(tree.start_diameters[row]) / 2.0
    return 1.2 * (half + growing.clearance) / sine + growing.clearance


def _seat(tree: Tree, host: int, joint: Floats, station: float, axis: Floats) -> float | None:
    """Return the setback, mm, at which an axis from the joint leaves its host's skin; None off the host's end.

    Halving between the joint, inside the host, and four radii out.
    """
    reach = 2.0 * float(tree.diameters_at([host], [station])[0])
    outs = np.linspace(0.0, reach, 41)
    out = _above_skin(tree, host, joint + outs[:, None] * axis, station)[0]
    crossing = np.flatnonzero((out[:-1] <= 0.0) & (out[1:] > 0.0))
    if len(crossing) == 0:
        return None
    low, high = float(outs[crossing[0]]), float(outs[crossing[0] + 1])
    for _ in range(30):
        middle = (low + high) / 2.0
        above, foot = _above_skin(tree, host, (joint + middle * axis)[None], station)
        low, high = (low, middle) if float(above[0]) > 0.0 else (middle, high)
    return high if 0.0 < float(foot[0]) < float(tree.lengths[host]) else None


def _above_skin(tree: Tree, host: int, points: Floats, station: float) -> tuple[Floats, Floats]:
    """Return how far points (Q, 3) are above a host's skin, and the stations below them: (Q,), (Q,) mm."""
    rows = np.full(len(points), host)
    foot = np.full(len(points), station)
    for _ in range(6):
        below, tangent, _ = locate(tree.chains, rows, foot)
        foot = foot + np.einsum("ij,ij->i", points - below, tangent)
    below = locate(tree.chains, rows, foot)[0]
    return row_norms(points - below) - tree.diameters_at(rows, foot) / 2.0, foot


def _unit(vector: Floats) -> Floats:
    return np.asarray(vector / max(float(np.linalg.norm(vector)), 1e-12))
