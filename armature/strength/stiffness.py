"""How each element gives way: exact for straights and arcs, tapered or not, by integrating along the bar.

Bending and twist by the plane-section beam and Saint-Venant's torsion, and stretch; shear movement is left out, since
for a round bar it is under (d / L)^2 of the rest (Timoshenko and Gere, Mechanics of Materials, ch. 9, from memory).
Size letters: N nodes, one element behind each, C load cases. N, mm, radians.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.centreline import Floats
from armature.strength.forces import LOAD_SHARES, Forces, Loads
from armature.strength.frame import Frame
from armature.strength.sections import rounds

_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(3)
# Elements taken at a time: keeps the working arrays in the processor's cache and off the bill for a large tree.
_BLOCK = 4096


@dataclass(frozen=True, eq=False)
class Stiffness:
    """What one unit of load does to an element's end, its start held.

    ends: (N, 6, 6) shift and turn per force and moment at its end. lines: (N, 6, 6) the same per N/mm at its two
    Gauss points. Rows are (shift, turn).
    """

    ends: Floats
    lines: Floats

    def steps(self, frame: Frame, found: Forces, loads: Loads) -> Floats:
        """Return how far each element's end moves against its start: (N, 6, C) mm and radians."""
        cases = loads.points.shape[2]
        steps = np.zeros((len(frame), 6, cases))
        for first in range(0, len(frame), _BLOCK):
            rows = slice(first, min(first + _BLOCK, len(frame)))
            _apply(frame, self.ends[rows], self.lines[rows], rows, found, loads, steps)
        return steps


def stiffness(frame: Frame, modulus: float, shear_modulus: float) -> Stiffness:
    """Return how the elements give way, for Young's modulus and shear modulus in MPa."""
    parts = [
        _element(frame, slice(first, min(first + _BLOCK, len(frame))), modulus, shear_modulus)
        for first in range(0, len(frame), _BLOCK)
    ]
    return Stiffness(np.concatenate([ends for ends, _ in parts]), np.concatenate([lines for _, lines in parts]))


def moved(frame: Frame, found: Forces, loads: Loads, modulus: float, shear_modulus: float) -> Floats:
    """Return the steps of all elements without keeping their stiffness, for trees too large to hold it: (N, 6, C)."""
    steps = np.zeros((len(frame), 6, loads.points.shape[2]))
    for first in range(0, len(frame), _BLOCK):
        rows = slice(first, min(first + _BLOCK, len(frame)))
        ends, lines = _element(frame, rows, modulus, shear_modulus)
        _apply(frame, ends, lines, rows, found, loads, steps)
    return steps


def _apply(frame: Frame, ends: Floats, lines: Floats, rows: slice, found: Forces, loads: Loads, steps: Floats) -> None:
    after = np.minimum(np.arange(rows.start, rows.stop) + 1, len(frame) - 1)
    spread = loads.lines[rows].reshape(rows.stop - rows.start, 6, -1)
    # The last node of a member has no element: its rows of `ends` and `lines` are zero, whatever stands in `after`.
    steps[rows] = np.matmul(ends, found.within[after]) + np.matmul(lines, spread)


def _element(frame: Frame, rows: slice, modulus: float, shear_modulus: float) -> tuple[Floats, Floats]:
    """Return the two blocks of `Stiffness` for some elements, by three-point Gauss quadrature along each."""
    spans = frame.spans[rows]
    end = frame.at(1.0, rows)[0]
    ends, lines = np.zeros((len(spans), 6, 6)), np.zeros((len(spans), 6, 6))
    for point, weight in zip(_POINTS, _WEIGHTS, strict=True):
        share = 0.5 + 0.5 * point
        at, tangent, diameter, bore = frame.at(share, rows)
        section = rounds(diameter, bore)
        step = 0.5 * weight * spans
        along = tangent[:, :, None] * tangent[:, None, :]
        bend = (step / (modulus * section.inertia))[:, None, None]
        twist = (step / (shear_modulus * section.polar))[:, None, None]
        give = bend * (np.eye(3) - along) + twist * along
        stretch = (step / (modulus * section.area))[:, None, None] * along
        lever = skew(end - at)
        turned = give @ lever
        ends[:, 3:, 3:] += give
        ends[:, 3:, :3] += turned
        # The end moves by turn x lever, and lever is skew, so its transpose is its negative.
        ends[:, :3, 3:] -= lever @ give
        ends[:, :3, :3] += stretch - lever @ turned
        _spread(lines, share, spans, give, lever, stretch, skew(tangent))
    return ends, lines


def _spread(
    lines: Floats, share: float, spans: Floats, give: Floats, lever: Floats, stretch: Floats, across: Floats
) -> None:
    """Add the part of the element's own line load beyond `share`: a line through its values at the two Gauss points."""
    rest = (1.0 - share) * spans
    low, high = LOAD_SHARES
    for number, (own, other) in enumerate([(low, high), (high, low)]):
        here = (share - other) / (own - other)
        slope = (1.0 - share) / (own - other)
        force = rest * (here + slope / 2.0)
        moment = rest**2 * (here / 2.0 + slope / 3.0)
        columns = slice(3 * number, 3 * number + 3)
        turned = give @ across * moment[:, None, None]
        lines[:, 3:, columns] += turned
        lines[:, :3, columns] += stretch * force[:, None, None] - lever @ turned


def skew(vectors: Floats) -> Floats:
    """Return the matrices (n, 3, 3) that make the cross product with each vector (n, 3)."""
    made = np.zeros((len(vectors), 3, 3))
    x, y, z = vectors.T
    made[:, 0, 1], made[:, 0, 2], made[:, 1, 2] = -z, y, -x
    made[:, 1, 0], made[:, 2, 0], made[:, 2, 1] = z, -y, x
    return made
