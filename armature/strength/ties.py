"""Members tied together, or to the ground: the one case in which the tree needs a matrix.

The same elements as in the sweeps, with their stiffness from their own giving way, in one sparse system. The ties'
forces are taken from it and hung on the tree as loads; the sweeps do the rest, so every force stays exact.

Size letters: M members, N nodes, U = N - M free nodes, K ties, C load cases. N, mm, radians.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from armature.commission import Tie
from armature.edge import CommissionError
from armature.strength.forces import Loads, Movement, crossed
from armature.strength.frame import Frame
from armature.strength.stiffness import Stiffness, skew
from armature.tree import Floats, Ints, Tree

if TYPE_CHECKING:
    from scipy.sparse import csc_array


@dataclass(frozen=True, eq=False)
class TieBars:
    """K ties: nodes (K,) and far nodes (K,), -1 where held by the ground; directions (K, 3) from near to far; lengths
    (K,) mm; diameters (K,) mm.
    """

    nodes: Ints
    far_nodes: Ints
    directions: Floats
    lengths: Floats
    diameters: Floats


def tie_places(tree: Tree, ties: Sequence[Tie]) -> tuple[Ints, Floats]:
    """Return the member rows and stations (mm) at which ties are fixed; CommissionError for one that is not there."""
    rows, places = [], []
    for number, tie in enumerate(ties):
        ends = [("member", tie.member, "at", tie.at), ("to_member", tie.to_member, "to_at", tie.to_at)]
        for key, tag, place_key, place in ends:
            if tag is None:
                continue
            where = f"site.ties[{number + 1}]"
            if tag not in tree.rows:
                raise CommissionError(f"{where}.{key}", "must be the tag of a member of the tree", tag)
            row = tree.rows[tag]
            if place > tree.lengths[row]:
                rule = f"must lie on the member, which is {tree.lengths[row]:.1f} mm long"
                raise CommissionError(f"{where}.{place_key}", rule, place)
            rows.append(row)
            places.append(place)
    return np.array(rows, dtype=np.int64), np.array(places, dtype=np.float64)


def tie_bars(frame: Frame, ties: Sequence[Tie]) -> TieBars:
    """Return the ties on a frame cut with `extra=tie_places(...)`; CommissionError for one of no length."""
    near, far, reach = [], [], np.zeros((len(ties), 3))
    for number, tie in enumerate(ties):
        near.append(_node(frame, tie.member, tie.at))
        far.append(-1 if tie.to_member is None else _node(frame, tie.to_member, tie.to_at))
        end = np.asarray(tie.to_point) if tie.to_member is None else frame.points[far[-1]]
        reach[number] = end - frame.points[near[-1]]
        if np.linalg.norm(reach[number]) < 1.0:
            raise CommissionError(f"site.ties[{number + 1}]", "must join two places at least 1 mm apart", tie.member)
    lengths = np.linalg.norm(reach, axis=1)
    sizes = np.array([tie.bar for tie in ties])
    return TieBars(np.array(near), np.array(far), reach / np.maximum(lengths, 1e-9)[:, None], lengths, sizes)


def _node(frame: Frame, tag: str, place: float) -> int:
    row = frame.tree.rows[tag]
    nodes = slice(int(frame.offsets[row]), int(frame.offsets[row + 1]))
    return int(nodes.start + np.argmin(np.abs(frame.stations[nodes] - place)))


def tied(frame: Frame, bars: TieBars, stiff: Stiffness, loads: Loads, young: float) -> tuple[Loads, Floats]:
    """Return the loads with the ties' pulls added, and the pulls: (K, C) N, positive in tension."""
    movement = solved(frame, stiff, loads, bars, young)
    ends = movement.shifts[bars.nodes]
    tied_off = bars.far_nodes >= 0
    away = np.where(tied_off[:, None, None], movement.shifts[bars.far_nodes], 0.0)
    stretch = np.einsum("kic,ki->kc", away - ends, bars.directions)
    pulls = stretch * (young * np.pi / 4.0 * bars.diameters**2 / bars.lengths)[:, None]
    points = loads.points.copy()
    push = pulls[:, None, :] * bars.directions[:, :, None]
    np.add.at(points, bars.nodes, push)
    np.add.at(points, bars.far_nodes[tied_off], -push[tied_off])
    return Loads(points, loads.lines), pulls


def solved(frame: Frame, stiff: Stiffness, loads: Loads, bars: TieBars | None, young: float) -> Movement:
    """Return the movement of every node by one sparse solve, with ties where there are any.

    For a tree without ties this is the slow way round, and a check on the two sweeps.
    """
    from scipy.sparse.linalg import splu

    matrix = system(frame, stiff)
    if bars is not None:
        matrix = (matrix + _tie_matrix(frame, bars, young)).tocsc()
    pushed, free = _pushed(frame, stiff, loads), _free(frame)
    solution = splu(matrix).solve(pushed[free].reshape(len(free) * 6, -1))
    moved = np.zeros_like(pushed)
    moved[free] = solution.reshape(len(free), 6, -1)
    return _with_starts(frame, moved)


def _pushed(frame: Frame, stiff: Stiffness, loads: Loads) -> Floats:
    """Return the loads as forces and moments on free nodes: (N, 6, C); line loads by the reactions of held elements."""
    cases = loads.points.shape[2]
    pushed = np.zeros((len(frame), 6, cases))
    pushed[:, :3] = loads.points
    rows = np.flatnonzero(~frame.is_last)
    lines = np.zeros((len(frame), 2, 3, cases)) if loads.lines is None else loads.lines
    spread = lines[rows].reshape(len(rows), 6, cases)
    ends = np.matmul(np.linalg.inv(stiff.ends[rows]), np.matmul(stiff.lines[rows], spread))
    starts = _line_resultants(frame, lines)[rows]
    starts -= np.matmul(_carry(frame, rows, rows).transpose(0, 2, 1), ends)
    pushed[rows + 1] += ends
    pushed[rows] += starts
    for level in frame.tree.levels[:0:-1]:
        first, parent_nodes = frame.offsets[level], frame.parent_nodes[level]
        moved = pushed[first].copy()
        moved[:, 3:] += crossed((frame.points[first] - frame.points[parent_nodes])[:, :, None], moved[:, :3])
        np.add.at(pushed, parent_nodes, moved)
    return pushed


def _line_resultants(frame: Frame, lines: Floats) -> Floats:
    """Return the line loads (N, 2, 3, C) of each element as force and moment about its start: (N, 6, C)."""
    resultants = np.zeros((len(frame), 6, lines.shape[3]))
    for number, (points, *_) in enumerate(frame.load_places):
        force = lines[:, number] * frame.spans[:, None, None] / 2.0
        resultants[:, :3] += force
        resultants[:, 3:] += crossed((points - frame.points)[:, :, None], force)
    return resultants


def system(frame: Frame, stiff: Stiffness) -> csc_array:
    """Return the stiffness matrix of the free nodes: (6U, 6U); a member's start moves with the node that holds it."""
    from scipy.sparse import coo_array

    rows, before = _elements(frame)
    own = np.linalg.inv(stiff.ends[rows])
    carry = _carry(frame, rows, before)
    back = carry.transpose(0, 2, 1)
    number = _numbers(frame)
    i, j = number[before], number[rows + 1]
    blocks = [(j, j, own), (i, j, -back @ own), (j, i, -own @ carry), (i, i, back @ own @ carry)]
    data, at, to = [], [], []
    for first, second, block in blocks:
        kept = np.flatnonzero((first >= 0) & (second >= 0))
        shape = (len(kept), 6, 6)
        data.append(block[kept].ravel())
        at.append(np.broadcast_to((first[kept, None] * 6 + np.arange(6))[:, :, None], shape).ravel())
        to.append(np.broadcast_to((second[kept, None] * 6 + np.arange(6))[:, None, :], shape).ravel())
    size = 6 * (len(frame) - len(frame.tree))
    return coo_array((np.concatenate(data), (np.concatenate(at), np.concatenate(to))), shape=(size, size)).tocsc()


def _elements(frame: Frame) -> tuple[Ints, Ints]:
    """Return the nodes that start an element, and for each the node whose movement starts it; the ground is -1."""
    rows = np.flatnonzero(~frame.is_last)
    before = rows.copy()
    first = np.isin(rows, frame.offsets[:-1])
    before[first] = frame.parent_nodes[frame.members[rows[first]]]
    return rows, before


def _carry(frame: Frame, rows: Ints, before: Ints) -> Floats:
    """Return matrices (n, 6, 6) from the movement of the held node to that of the element's end, moved as one body."""
    origin = np.where((before >= 0)[:, None], frame.points[before], frame.points[0])
    carry = np.tile(np.eye(6), (len(rows), 1, 1))
    carry[:, :3, 3:] = -skew(frame.points[rows + 1] - origin)
    return carry


def _free(frame: Frame) -> Ints:
    return np.setdiff1d(np.arange(len(frame)), frame.offsets[:-1])


def _numbers(frame: Frame) -> Ints:
    number = np.full(len(frame) + 1, -1, dtype=np.int64)
    number[_free(frame)] = np.arange(len(frame) - len(frame.tree))
    return number


def _with_starts(frame: Frame, moved: Floats) -> Movement:
    for level in frame.tree.levels[1:]:
        starts, parent_nodes = frame.offsets[level], frame.parent_nodes[level]
        lever = skew(frame.points[starts] - frame.points[parent_nodes])
        moved[starts] = moved[parent_nodes]
        moved[starts, :3] -= np.matmul(lever, moved[parent_nodes, 3:])
    return Movement(moved[:, :3], moved[:, 3:])


def _tie_matrix(frame: Frame, bars: TieBars, young: float) -> csc_array:
    """Return the ties' part of the matrix: axial springs between shifts alone, pinned at both ends."""
    from scipy.sparse import coo_array

    size = 6 * (len(frame) - len(frame.tree))
    number = _numbers(frame)
    spring = (young * np.pi / 4.0 * bars.diameters**2 / bars.lengths)[:, None, None]
    block = spring * bars.directions[:, :, None] * bars.directions[:, None, :]
    near, far = number[bars.nodes], np.where(bars.far_nodes >= 0, number[bars.far_nodes], -1)
    data, at, to = [], [], []
    for first, second, sign in ((near, near, 1.0), (far, far, 1.0), (near, far, -1.0), (far, near, -1.0)):
        kept = np.flatnonzero((first >= 0) & (second >= 0))
        shape = (len(kept), 3, 3)
        data.append(sign * block[kept].ravel())
        at.append(np.broadcast_to((first[kept, None] * 6 + np.arange(3))[:, :, None], shape).ravel())
        to.append(np.broadcast_to((second[kept, None] * 6 + np.arange(3))[:, None, :], shape).ravel())
    return coo_array((np.concatenate(data), (np.concatenate(at), np.concatenate(to))), shape=(size, size)).tocsc()
