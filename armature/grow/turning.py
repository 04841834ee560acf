"""Moves of a member about its joint, with all that it carries: rigid, so that every bend stays as listed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from armature.grow.drawing import LEAST_LEAN, MOST_LEANS, seats
from armature.tree import Chains, Floats, Tree, locate


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

    None where the member would lean less, or more, than growing draws members of its rank, or leave its parent's skin
    off the parent's end.
    """
    parent = int(tree.parents[row])
    at = float(tree.stations[row]) if station is None else station
    joint, tangent, _ = locate(tree.chains, [parent], [at])
    axis = turn @ tree.axes[row]
    lean = np.degrees(np.arccos(np.clip(float(axis @ tangent[0]), -1.0, 1.0)))
    if not LEAST_LEAN <= lean <= MOST_LEANS[int(tree.ranks[row])]:
        return None
    setback, foot = seats(tree, np.array([parent]), np.array([at]), joint, axis[None])
    if not 0.0 < float(foot[0]) < float(tree.lengths[parent]):
        return None
    start = joint[0] + setback[0] * axis
    moved = tree.subtree(row)
    chains = tree.chains
    at_vertices = np.isin(np.repeat(np.arange(len(tree)), np.diff(chains.offsets)), moved)
    vertices = chains.vertices.copy()
    vertices[at_vertices] = start + (vertices[at_vertices] - tree.starts[row]) @ turn.T
    stations, setbacks = tree.stations.copy(), tree.setbacks.copy()
    stations[row], setbacks[row] = at, setback[0]
    return replace(tree, chains=Chains(chains.offsets, vertices, chains.radii), stations=stations, setbacks=setbacks)


def _unit(vector: Floats) -> Floats:
    return np.asarray(vector / max(float(np.linalg.norm(vector)), 1e-12))
