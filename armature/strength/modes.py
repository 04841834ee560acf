"""Natural frequencies: of the whole tree by iterating the two sweeps, of each member by Rayleigh's quotient.

Size letters: N nodes, M members, P modes. Masses kg, lengths mm, frequencies Hz.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.strength.forces import Loads, Movement, crossed, forces, movement
from armature.strength.frame import Frame
from armature.strength.loads import GRAVITY
from armature.strength.stiffness import Stiffness
from armature.tree import Floats

_KG_MM = 1e-3  # a kg moving 1 mm/s2 asks 1e-3 N


@dataclass(frozen=True, eq=False)
class Modes:
    """P lowest modes: frequencies (P,) Hz; shapes (N, 3, P) mm, each of unit modal mass (1 kg)."""

    frequencies: Floats
    shapes: Floats


def modes(frame: Frame, stiff: Stiffness, lumps: Floats, count: int = 3, rounds: int = 40) -> Modes:
    """Return the lowest modes of the tree, its mass lumped at the nodes: `lumps` (N,) kg.

    Blocks of a Krylov space (Golub and Van Loan, Matrix Computations, 10.3): each round solves K u = M v by the two
    sweeps for the newest block alone, keeps what is new in it, and takes the best of all shapes so far by Rayleigh and
    Ritz; it stops when no frequency moves by 1e-5 of itself.
    """
    block = _fresh(np.zeros((len(frame), 3, 0)), _first_shapes(frame, count + 1), lumps)
    kept, swept, before = block, block[..., :0], np.zeros(0)
    for _ in range(rounds):
        moved = pushed(frame, stiff, block * (lumps * _KG_MM)[:, None, None]).shifts
        swept = np.concatenate([swept, moved], axis=2)
        block = _fresh(kept, moved, lumps)
        squares, weights = np.linalg.eigh(_even(_products(kept, swept, lumps)))
        now = 1.0 / np.sqrt(np.maximum(squares[::-1][:count], 1e-300))
        settled = len(now) == len(before) and bool(np.all(np.abs(now - before) <= 1e-5 * now))
        if settled or not block.shape[2] or kept.shape[2] >= 3 * len(frame):
            break
        kept, before = np.concatenate([kept, block], axis=2), now
    return Modes(now / (2.0 * np.pi), _upright(kept[..., : len(weights)] @ weights[:, ::-1][:, :count]))


def _upright(shapes: Floats) -> Floats:
    """Return shapes (N, 3, C) each with the sign that makes the first of its largest movements positive: a mode has
    none, and a library picks one by the processor's last digits."""
    flat = shapes.reshape(-1, shapes.shape[2])
    far = np.abs(flat)
    first = (far >= 0.999 * far.max(axis=0)).argmax(axis=0)
    return np.asarray(shapes * np.where(flat[first, np.arange(flat.shape[1])] < 0.0, -1.0, 1.0))


def _products(left: Floats, right: Floats, lumps: Floats) -> Floats:
    """Return the sums of mass times shape times shape: (P, Q) from shapes (N, 3, P) and (N, 3, Q)."""
    size = 3 * len(lumps)
    flat = (left * lumps[:, None, None]).reshape(size, left.shape[2])
    return np.asarray(flat.T @ right.reshape(size, right.shape[2]))


def _fresh(kept: Floats, shapes: Floats, lumps: Floats) -> Floats:
    """Return what is new in `shapes` beside those `kept`, each of unit mass and at right angles to all others."""
    scale = np.sqrt(np.maximum(np.einsum("ncp,n->p", shapes**2, lumps), 1e-300))
    new = shapes / scale
    # Twice is enough: what the first pass leaves over is rounding (Kahan, from memory).
    for _ in range(2):
        new = new - kept @ _products(kept, new, lumps)
        squares, turn = np.linalg.eigh(_even(_products(new, new, lumps)))
        some = squares > 1e-16
        new = new @ (turn[:, some] / np.sqrt(squares[some]))
    return np.asarray(new)


def pushed(frame: Frame, stiff: Stiffness, points: Floats) -> Movement:
    """Return the movement under forces (N, 3, C) N at the nodes alone."""
    loads = Loads(points)
    return movement(frame, stiff.steps(frame, forces(frame, loads), loads))


def _first_shapes(frame: Frame, count: int) -> Floats:
    """Return independent smooth first guesses: (N, 3, count): sways, then waves of height and bearing."""
    size = np.max(np.abs(frame.points)) + 1.0
    x, y, z = (frame.points / size).T
    waves = [np.ones(len(frame)), z, np.cos(3.0 * z), x, y, x * y, np.sin(5.0 * x), np.sin(5.0 * y)]
    shapes = np.zeros((len(frame), 3, count))
    for number in range(count):
        shapes[:, number % 3, number] = waves[(number // 3) % len(waves)] * (1.0 + 0.3 * np.cos(number + x * number))
    return shapes


def _even(matrix: Floats) -> Floats:
    return (matrix + matrix.T) / 2.0


@dataclass(frozen=True, eq=False)
class MemberModes:
    """First mode of each member with its weld held still, each (M,) but for the shape.

    frequencies: Hz. moving: kg, the weight with the same energy at the point that moves most. roots: N mm of moment at
    the weld, by the mode's own inertia, for each mm that this point moves. squares: mm, integral of the squared shape
    along the member. shapes: (N,) movement at each node over the largest of its member.
    """

    frequencies: Floats
    moving: Floats
    roots: Floats
    squares: Floats
    shapes: Floats

    @property
    def even_masses(self) -> Floats:
        """The equivalent mass of each member, kg/m: EN 1991-1-4 eq. F.14."""
        return np.asarray(self.moving / self.squares * 1000.0)


def member_modes(frame: Frame, stiff: Stiffness, lumps: Floats) -> MemberModes:
    """Return the first mode of every member, from the mass lumped at the nodes: `lumps` (N,) kg.

    Rayleigh's quotient on the sag of the member and all it carries under gravity along x, y and z in turn, the lowest
    of the three; what it carries is lumped where it is welded on.
    """
    points = np.zeros((len(frame), 3, 3))
    points[:, range(3), range(3)] = (lumps * GRAVITY)[:, None]
    loads = Loads(points)
    inner = forces(frame, loads)
    sag = movement(frame, stiff.steps(frame, inner, loads))
    firsts = frame.offsets[:-1]
    starts = firsts[frame.members]
    reach = frame.points - frame.points[starts]
    own = sag.shifts - sag.shifts[starts] - crossed(sag.turns[starts], reach[:, :, None])
    weights = _carried_lumps(frame, lumps)
    falls = np.add.reduceat(weights[:, None] * own[:, range(3), range(3)], firsts)
    squares = np.add.reduceat(weights[:, None] * np.sum(own**2, axis=1), firsts)
    # A bar sags little along itself: that direction's quotient is high and never the least.
    quotient = np.maximum(falls, 0.0) / np.maximum(squares, 1e-300)
    best = np.argmin(np.where(squares > 1e-18, quotient, np.inf), axis=1)
    rows = np.arange(len(frame.tree))
    lowest = quotient[rows, best] * GRAVITY / _KG_MM
    mode = own[np.arange(len(frame)), :, best[frame.members]]
    mode /= np.maximum(np.maximum.reduceat(np.linalg.norm(mode, axis=1), firsts), 1e-150)[frame.members, None]
    shapes = np.linalg.norm(mode, axis=1)
    # Half of each element at either end of it: the rule by which mass is lumped too.
    halves = (frame.spans + np.where(frame.stations > 0.0, np.roll(frame.spans, 1), 0.0)) / 2.0
    turning = np.add.reduceat(np.cross(reach, mode) * weights[:, None], firsts)
    return MemberModes(
        frequencies=np.sqrt(lowest) / (2.0 * np.pi),
        moving=np.add.reduceat(weights * shapes**2, firsts),
        roots=np.linalg.norm(turning, axis=1) * lowest * _KG_MM,
        squares=np.maximum(np.add.reduceat(halves * shapes**2, firsts), 1e-150),
        shapes=shapes,
    )


def _carried_lumps(frame: Frame, lumps: Floats) -> Floats:
    totals = frame.tree.summed_to_root(np.add.reduceat(lumps, frame.offsets[:-1]))
    kids = np.flatnonzero(frame.parent_nodes >= 0)
    carried = lumps.copy()
    np.add.at(carried, frame.parent_nodes[kids], totals[kids])
    return carried
