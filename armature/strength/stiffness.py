"""How each element gives way: exact for straights and arcs, tapered or not, by integrating along the bar.

Bending and twist by the plane-section beam and Saint-Venant's torsion, and stretch; shear movement is left out, since
for a round bar it is under (d / L)^2 of the rest (Timoshenko and Gere, Mechanics of Materials, ch. 9, from memory).
Size letters: N nodes, n nodes of a block, C load cases. N, mm, radians.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from armature.strength.forces import Forces, Loads, blocks, crossed
from armature.strength.frame import LOAD_SHARES, Frame
from armature.strength.layout import applied, zeros
from armature.strength.rounds import rounds
from armature.tree import Floats

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(3)


@dataclass(frozen=True, eq=False)
class _Place:
    """One Gauss point of each element of a block: its share, tangent (n, 3), lever to the end (n, 3) mm, and how
    far it bends, twists and stretches there per unit: (n,) each, the quadrature's weight included.
    """

    share: float
    tangent: Floats
    lever: Floats
    bend: Floats
    twist: Floats
    stretch: Floats


def _places(frame: Frame, rows: slice, modulus: float, shear_modulus: float) -> Iterator[_Place]:
    end = frame.at(1.0, rows)[0]
    for point, weight in zip(_POINTS, _WEIGHTS, strict=True):
        share = float(0.5 + 0.5 * point)
        at, tangent, diameter, bore = frame.at(share, rows)
        cross_section = rounds(diameter, bore)
        step = 0.5 * weight * frame.spans[rows]
        yield _Place(
            share=share,
            tangent=tangent,
            lever=end - at,
            bend=step / (modulus * cross_section.inertia),
            twist=step / (shear_modulus * cross_section.polar),
            stretch=step / (modulus * cross_section.area),
        )


def moved(frame: Frame, inner: Forces, loads: Loads, modulus: float, shear_modulus: float) -> Floats:
    """Return how far each node moves against the one before it, (N, 6, C) mm and radians, straight from the forces.

    modulus, shear_modulus: MPa. The way for one pass over many members; `Stiffness` is for many passes over one tree.
    """
    steps = zeros(len(frame), 6, loads.points.shape[2])
    for rows in blocks(len(frame) - 1, loads.points.shape[2]):
        after = slice(rows.start + 1, rows.stop + 1)
        push, turn = inner.within[after, :3], inner.within[after, 3:]
        for place in _places(frame, rows, modulus, shear_modulus):
            tangent = place.tangent[:, :, None]
            lever = place.lever[:, :, None]
            here, force = turn + crossed(lever, push), np.zeros(1)
            if loads.lines is not None:
                force, moment = _line_beyond(place.share, frame.spans[rows], loads.lines[rows])
                here += crossed(tangent, moment)
            along = np.sum(here * tangent, axis=1, keepdims=True) * tangent
            given = place.bend[:, None, None] * (here - along) + place.twist[:, None, None] * along
            pulled = np.sum((push + force) * tangent, axis=1, keepdims=True) * tangent
            steps[after, :3] += crossed(given, lever) + place.stretch[:, None, None] * pulled
            steps[after, 3:] += given
    return steps


def _line_beyond(share: float, spans: Floats, lines: Floats) -> tuple[Floats, Floats]:
    """Return the force, and its first moment along the bar, of the line load between `share` and the end: (n, 3, C)."""
    low, high = _line_parts(share, spans)
    force = low[0][:, None, None] * lines[:, 0] + high[0][:, None, None] * lines[:, 1]
    moment = low[1][:, None, None] * lines[:, 0] + high[1][:, None, None] * lines[:, 1]
    return force, moment


def _line_parts(share: float, spans: Floats) -> list[tuple[Floats, Floats]]:
    """Return force and first moment beyond `share` for 1 N/mm at either Gauss point, a line through both: (n,) each."""
    rest = (1.0 - share) * spans
    parts = []
    for own, other in (LOAD_SHARES, LOAD_SHARES[::-1]):
        here = (share - other) / (own - other)
        slope = (1.0 - share) / (own - other)
        parts.append((rest * (here + slope / 2.0), rest**2 * (here / 2.0 + slope / 3.0)))
    return parts


@dataclass(frozen=True, eq=False)
class Stiffness:
    """What one unit of load does to an element's end, its start held.

    ends: (N, 6, 6) shift and turn per force and moment at its end. lines: (N, 6, 6) the same per N/mm at its two
    Gauss points. Rows are (shift, turn).
    """

    ends: Floats
    lines: Floats

    def steps(self, frame: Frame, inner: Forces, loads: Loads) -> Floats:
        """Return how far each node moves against the one before it: (N, 6, C) mm and radians."""
        cases = loads.points.shape[2]
        steps = zeros(len(frame), 6, cases)
        for rows in blocks(len(frame) - 1, cases):
            after = slice(rows.start + 1, rows.stop + 1)
            # A member's last node has no element: its rows of `ends` and `lines` are zero, whatever follows it.
            steps[after] = applied(self.ends[rows], inner.within[after])
            if loads.lines is None:
                continue
            for number in (0, 1):
                columns = slice(3 * number, 3 * number + 3)
                steps[after] += applied(self.lines[rows, :, columns], loads.lines[rows, number])
        return steps


def stiffness(frame: Frame, modulus: float, shear_modulus: float) -> Stiffness:
    """Return how the elements give way, for Young's modulus and shear modulus in MPa."""
    ends, lines = zeros(len(frame), 6, 6), zeros(len(frame), 6, 6)
    for rows in blocks(len(frame), 9):
        for place in _places(frame, rows, modulus, shear_modulus):
            _add(ends[rows], lines[rows], place, frame.spans[rows])
    return Stiffness(ends, lines)


def _add(ends: Floats, lines: Floats, place: _Place, spans: Floats) -> None:
    tangent = np.asfortranarray(place.tangent)
    along = tangent[:, :, None] * tangent[:, None, :]
    give = place.bend[:, None, None] * (np.eye(3) - along) + place.twist[:, None, None] * along
    stretch = place.stretch[:, None, None] * along
    lever, across = skew(place.lever), skew(tangent)
    turned, slanted = applied(give, lever), applied(give, across)
    ends[:, 3:, 3:] += give
    ends[:, 3:, :3] += turned
    # The end moves by turn x lever, and lever is skew, so its transpose is its negative; what gives is its own.
    ends[:, :3, 3:] += turned.transpose(0, 2, 1)
    ends[:, :3, :3] += stretch - applied(lever, turned)
    moved = applied(lever, slanted)
    for number, (force, moment) in enumerate(_line_parts(place.share, spans)):
        columns = slice(3 * number, 3 * number + 3)
        lines[:, 3:, columns] += slanted * moment[:, None, None]
        lines[:, :3, columns] += stretch * force[:, None, None] - moved * moment[:, None, None]


def skew(vectors: Floats) -> Floats:
    """Return the matrices (n, 3, 3) that make the cross product with each vector (n, 3)."""
    made = zeros(len(vectors), 3, 3)
    x, y, z = vectors.T
    made[:, 0, 1], made[:, 0, 2], made[:, 1, 2] = -z, y, -x
    made[:, 1, 0], made[:, 2, 0], made[:, 2, 1] = z, -y, x
    return made
