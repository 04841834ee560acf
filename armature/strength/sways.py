"""How each member sways, with all that it carries, while its weld is held still: the parts that answer a gust.

The shape is the sag under its own weight turned sideways, toward where it gives way most; a quotient of sums changes
smoothly with every bar, where a list of modes of the whole tree jumps as one twig's mode passes another's.
Size letters: N nodes, M members, K depths of joints. Masses kg, lengths mm, frequencies Hz.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.strength.forces import Loads, crossed, forces
from armature.strength.frame import Frame
from armature.strength.layout import picked
from armature.strength.loads import GRAVITY
from armature.strength.modes import pushed
from armature.strength.stiffness import Stiffness
from armature.tree import Floats, Ints

_KG_MM = 1e-3  # a kg moving 1 mm/s2 asks 1e-3 N


@dataclass(frozen=True, eq=False)
class Sways:
    """The sway of M members.

    toward: (M, 2) horizontal unit direction in which the part sways most easily. frequencies: (M,) Hz. moving: (M,) kg
    mm2, sum of mass times the square of the shape. masses: (M,) kg, all that moves. carriers: (K, M) row of the member
    of each depth that carries a member or is it, -1 where there is none. shapes: (K, N, 3) mm, how each node moves as
    its carrier of that depth sways. moments: (K, M) N mm for a shape as given and 1 (rad/s)2: at each member's foot, by
    the inertia of what lies beyond. lows, highs: (M, 3) mm, the box around all that a member carries.
    """

    toward: Floats
    frequencies: Floats
    moving: Floats
    masses: Floats
    carriers: Ints
    shapes: Floats
    moments: Floats
    lows: Floats
    highs: Floats


def carriers(frame: Frame) -> Ints:
    """Return the row of the member at each depth that carries each member: (K, M), -1 where it lies less deep."""
    tree = frame.tree
    rows = np.full((len(tree.levels), len(tree)), -1, dtype=np.int64)
    for depth, level in enumerate(tree.levels):
        rows[depth, level] = level
        for deeper in tree.levels[depth + 1 :]:
            rows[depth, deeper] = rows[depth, tree.parents[deeper]]
    return rows


def boxes(frame: Frame) -> tuple[Floats, Floats]:
    """Return the lowest and highest corner of all that each member carries, itself included: (M, 3) mm each."""
    firsts, tree = frame.offsets[:-1], frame.tree
    lows = np.minimum.reduceat(frame.points, firsts, axis=0)
    highs = np.maximum.reduceat(frame.points, firsts, axis=0)
    for level in tree.levels[:0:-1]:
        np.minimum.at(lows, tree.parents[level], lows[level])
        np.maximum.at(highs, tree.parents[level], highs[level])
    return lows, highs


def sways(frame: Frame, stiff: Stiffness, lumps: Floats) -> Sways:
    """Return the sway of every member's part, its mass lumped at the nodes: `lumps` (N,) kg.

    Rayleigh's quotient on the sag under weight turned sideways, an upper bound that lies within a few per cent of the
    exact frequency (Rayleigh, Theory of Sound, art. 88; Chopra, Dynamics of Structures, 8.5, from memory).
    """
    points = np.zeros((len(frame), 3, 2))
    points[:, range(2), range(2)] = (lumps * GRAVITY)[:, None]
    sag = pushed(frame, stiff, points)
    by_depth, count = carriers(frame), len(frame.tree)
    toward, squares = np.zeros((count, 2)), np.zeros(count)
    falls, masses = np.zeros(count), np.zeros(count)
    shapes = np.zeros((len(by_depth), len(frame), 3))
    for depth, carrier in enumerate(by_depth):
        nodes = np.flatnonzero(carrier[frame.members] >= 0)
        rows = carrier[frame.members[nodes]]
        own = _own(frame, sag.shifts, sag.turns, nodes, frame.offsets[rows])
        weight = lumps[nodes]
        here = np.flatnonzero(carrier == np.arange(count))
        across = np.bincount(rows, weight * (own[:, 0, 1] + own[:, 1, 0]), count)[here]
        angle = 0.5 * np.arctan2(across, np.bincount(rows, weight * (own[:, 0, 0] - own[:, 1, 1]), count)[here])
        toward[here] = np.stack([np.cos(angle), np.sin(angle)], axis=1)
        shape = own[..., 0] * toward[rows, :1] + own[..., 1] * toward[rows, 1:]
        shapes[depth, nodes] = shape
        squares += np.bincount(rows, weight * np.sum(shape**2, axis=1), count)
        falls += np.bincount(rows, weight * np.sum(shape[:, :2] * toward[rows], axis=1), count)
        masses += np.bincount(rows, weight, count)
    quotient = np.maximum(falls, 0.0) / np.maximum(squares, 1e-300)
    lows, highs = boxes(frame)
    return Sways(
        toward=toward,
        frequencies=np.sqrt(quotient * GRAVITY / _KG_MM) / (2.0 * np.pi),
        moving=squares,
        masses=masses,
        carriers=by_depth,
        shapes=shapes,
        moments=_moments(frame, shapes, lumps),
        lows=lows,
        highs=highs,
    )


def _own(frame: Frame, shifts: Floats, turns: Floats, nodes: Ints, feet: Ints) -> Floats:
    """Return the movement of nodes (n,) against the feet (n,) that carry them, the foot's own turn taken off."""
    reach = (picked(frame.points, nodes) - picked(frame.points, feet))[:, :, None]
    return np.asarray(picked(shifts, nodes) - picked(shifts, feet) - crossed(picked(turns, feet), reach))


def _moments(frame: Frame, shapes: Floats, lumps: Floats) -> Floats:
    inertia = np.asfortranarray(np.moveaxis(shapes, 0, 2)) * (lumps * _KG_MM)[:, None, None]
    feet = forces(frame, Loads(inertia)).beyond[frame.offsets[:-1], 3:]
    return np.asarray(np.linalg.norm(feet, axis=1).T)
