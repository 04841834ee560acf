"""Where forged bars stand: as they are welded, or turned at their joints so that they come nearest to the plan.

Size letters: K points of a bar that are compared. The turn that brings points nearest to others, both seen from the
joint, is Kabsch's (Acta Cryst. A32, 1976, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.answer.standing import Standing, joint_axes, leans_of, one_bar
from armature.grow import seats, turn_about
from armature.tree import BendList, Chains, Floats, Joints, Tree, carry, locate, row_norms

_SHIFTS, _SHIFT = np.arange(-4, 5), 12.0
_EAST, _CHALK = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])
# A joint that is moved along its parent by so much, mm, must bring all points nearer by as much on average.
_DEAR = 0.15


@dataclass(frozen=True, eq=False)
class Posed:
    """How a bar stands: its centreline, chalk direction (3,) at START, station and setback mm, and how far the points
    compared lie off the plan, mm (root of the mean square, weighed)."""

    chains: Chains
    chalk: Floats
    station: float
    setback: float
    off: float


@dataclass(frozen=True, eq=False)
class Wanted:
    """What a bar is to meet: points (K, 3) mm of the plan at shares (K,) of its length, and how much each counts."""

    points: Floats
    shares: Floats
    weights: Floats


def wanted_of(plan: Tree, row: int, loads: Floats) -> Wanted:
    """Return what a member is to meet: the places of its children, its tip and places between.

    loads: (M,) how much each member counts with all that it carries.
    """
    children = np.flatnonzero(plan.parents == row)
    length = float(plan.lengths[row])
    shares = np.concatenate([plan.stations[children] / length, [0.25, 0.5, 0.75, 1.0]])
    shares = np.clip(shares, 0.0, 1.0)
    weights = np.concatenate([loads[children], [0.5, 0.5, 0.5, 2.0]])
    points = locate(plan.chains, np.full(len(shares), row), shares * length)[0]
    return Wanted(points, shares, weights / weights.sum())


def set_at(standing: Standing, row: int, bends: BendList, wanted: Wanted, start: Floats) -> Posed:
    """Return how a bar stands whose START was measured at a place (3,): from the station that leads there."""
    tree = standing.tree
    if tree.parents[row] < 0:
        return _turned_at(standing, row, bends, wanted, 0.0)
    parent, setback = int(tree.parents[row]), float(tree.setbacks[row])
    foot = _nearest(tree, parent, float(tree.stations[row]), start)
    along = float(np.sqrt(max(setback**2 - float(tree.diameters_at([parent], [foot])[0]) ** 2 / 4.0, 0.0)))
    lean = lean_of(standing, row)
    return _turned_at(standing, row, bends, wanted, foot - along * (1.0 if lean < 90.0 else -1.0))


def aimed(standing: Standing, row: int, bends: BendList, wanted: Wanted) -> Posed:
    """Return how a bar that is not welded yet is best set on its parent as that is."""
    tree = standing.tree
    if tree.parents[row] < 0:
        return _turned_at(standing, row, bends, wanted, 0.0)
    parent = int(tree.parents[row])
    old = _nearest(tree, parent, float(tree.stations[row]), _joint_place(tree, row))
    length = float(tree.lengths[parent])
    tried = np.unique(np.clip(old + _SHIFTS * _SHIFT, 1.0, length - 1.0))
    off = _offs_at(standing, row, bends, wanted, tried) + _DEAR * np.abs(tried - old)
    return _turned_at(standing, row, bends, wanted, float(tried[int(np.argmin(np.round(off, 6)))]))


def _offs_at(standing: Standing, row: int, bends: BendList, wanted: Wanted, stations: Floats) -> Floats:
    """Return how far off the plan a bar lies, turned its best way at each of the stations (C,) mm: (C,) mm.

    Its setback is taken as planned: it follows the lean by hairs.
    """
    places = standing.frames(np.full(len(stations), row), stations)[0]
    own = _along(one_bar(bends, np.zeros(3), _EAST, _CHALK), wanted.shares)
    own = own + float(standing.tree.setbacks[row]) * _EAST
    there = wanted.points - places[:, None]
    sizes = np.linalg.svd(np.einsum("ki,k,ckj->cij", own, wanted.weights, there))
    sign = np.sign(np.linalg.det(sizes.U @ sizes.Vh))
    best = sizes.S[:, 0] + sizes.S[:, 1] + sign * sizes.S[:, 2]
    squares = wanted.weights @ (own**2).sum(axis=1) + np.einsum("k,cki->c", wanted.weights, there**2) - 2.0 * best
    return np.asarray(np.sqrt(np.maximum(squares, 0.0)))


def _joint_place(tree: Tree, row: int) -> Floats:
    return np.asarray(tree.starts[row] - tree.setbacks[row] * tree.axes[row])


def _nearest(tree: Tree, parent: int, near: float, place: Floats) -> float:
    """Return the station of a parent nearest to a place, of those within 200 mm of `near`."""
    stations = np.clip(near + np.linspace(-200.0, 200.0, 161), 0.0, float(tree.lengths[parent]))
    points = locate(tree.chains, np.full(len(stations), parent), stations)[0]
    return float(stations[int(np.argmin(np.round(row_norms(points - place), 6)))])


def _turned_at(standing: Standing, row: int, bends: BendList, wanted: Wanted, station: float) -> Posed:
    tree = standing.tree
    at = np.array([station])
    place, _, _ = standing.frames(np.array([row]), at)
    shape = one_bar(bends, np.zeros(3), _EAST, _CHALK)
    setback = float(tree.setbacks[row])
    turn = np.eye(3)
    # The setback follows the turn, and the turn the setback: by hairs after the first round.
    for _ in range(2):
        own = _along(shape, wanted.shares) + setback * _EAST
        turn = _kabsch(own, wanted.points - place[0], wanted.weights)
        setback = _setback(tree, row, station, place[0], turn @ _EAST)
    chains = one_bar(bends, place[0] + setback * (turn @ _EAST), turn @ _EAST, turn @ _CHALK)
    return _posed(chains, turn @ _CHALK, station, setback, wanted)


def welded(standing: Standing, row: int, bends: BendList, planned: Joints, read: Floats, wanted: Wanted) -> Posed:
    """Return how a bar stands that is welded on; read: `at`, clock, lean, roll (4,), NaN where as planned."""
    tree = standing.tree
    clock, lean, roll = (
        np.array([value if np.isfinite(value) else own[row]])
        for value, own in zip(read[1:], (planned.clocks, planned.leans, planned.rolls), strict=True)
    )
    setback = float(planned.setbacks[row])
    station = float(planned.stations[row])
    axis = chalk = place = np.zeros((1, 3))
    for _ in range(4):
        if np.isfinite(read[0]) and tree.parents[row] >= 0:
            # The mark tells where START lies along the parent; its axis leaves the parent's middle further down.
            station = float(read[0]) - setback * float(np.cos(np.radians(lean[0])))
        place, tangent, line = standing.frames(np.array([row]), np.array([station]))
        axis, chalk = joint_axes(tangent, line, clock, lean, roll)
        setback = _setback(tree, row, station, place[0], axis[0])
    chains = one_bar(bends, place[0] + setback * axis[0], axis[0], chalk[0])
    return _posed(chains, chalk[0], station, setback, wanted)


def found(posed: Posed, place: Floats, tip: Floats, middle: Floats, wanted: Wanted) -> Posed:
    """Return a bar turned about its joint at `place` (3,) so that its tip points where tapes found it, and about the
    line to its tip so that the middle does, where it was measured (NaN else)."""
    chains, vertices = posed.chains, posed.chains.vertices - place
    here, there = vertices[-1:], (tip - place)[None]
    before, after = (each / row_norms(each)[:, None] for each in (here, there))
    count = len(vertices)
    turned = carry(vertices, np.repeat(before, count, 0), np.repeat(after, count, 0))
    chalk = carry(posed.chalk[None], before, after)[0]
    if np.isfinite(middle).all():
        half = _along(Chains(chains.offsets, turned, chains.radii), np.array([0.5]))[0]
        angle = _about(after[0], half, middle - place)
        turn = turn_about(after[0], float(np.degrees(angle)))
        turned, chalk = turned @ turn.T, turn @ chalk
    moved = Chains(chains.offsets, turned + place, chains.radii)
    return _posed(moved, np.asarray(chalk), posed.station, posed.setback, wanted)


def _posed(chains: Chains, chalk: Floats, station: float, setback: float, wanted: Wanted) -> Posed:
    off = row_norms(_along(chains, wanted.shares) - wanted.points)
    return Posed(chains, chalk, station, setback, float(np.sqrt(wanted.weights @ off**2)))


def _along(chains: Chains, shares: Floats) -> Floats:
    return locate(chains, np.zeros(len(shares), dtype=np.int64), shares * chains.lengths[0])[0]


def _setback(tree: Tree, row: int, station: float, place: Floats, axis: Floats) -> float:
    parent = int(tree.parents[row])
    if parent < 0:
        return float(tree.setbacks[row])
    back, _ = seats(tree, np.array([parent]), np.array([station]), place[None], axis[None])
    return float(back[0])


def _kabsch(own: Floats, there: Floats, weights: Floats) -> Floats:
    u, _, vt = np.linalg.svd((own * weights[:, None]).T @ there)
    sign = np.sign(np.linalg.det(vt.T @ u.T)) or 1.0
    return np.asarray(vt.T @ np.diag([1.0, 1.0, sign]) @ u.T)


def _about(axis: Floats, here: Floats, there: Floats) -> float:
    """Return by how much `here` is turned about an axis to come nearest to `there`, radians."""
    a, b = here - (here @ axis) * axis, there - (there @ axis) * axis
    return float(np.arctan2(axis @ np.cross(a, b), a @ b))


def lean_of(standing: Standing, row: int) -> float:
    """Return the lean of a placed member on its parent, deg."""
    tree = standing.tree
    _, tangent, _ = standing.frames(np.array([row]), tree.stations[row : row + 1])
    return float(leans_of(tangent, tree.axes[row : row + 1])[0])
