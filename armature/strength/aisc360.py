"""Round bars and pipes by AISC 360-16, load and resistance factor design: one function a clause. N, mm, MPa.

Resistance factors belong to the LRFD combinations of ASCE 7-16 2.3 alone; an ASD safety factor is never mixed in.
Clauses F11 read in a transcription; the others from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from armature.strength.resistance import Resistance
from armature.strength.rounds import Rounds
from armature.tree import Floats

CLAUSES = {
    "axial": "AISC 360-16 D2, E3",
    "bending": "AISC 360-16 F11 (bar), F8 (pipe)",
    "shear": "AISC 360-16 G1, G5",
    "torsion": "AISC 360-16 H3.3 (bar), H3.1 (pipe)",
    "combined": "AISC 360-16 H1.1; with torsion H3.3 (bar), H3.2 (pipe)",
}


def tension(cross_section: Rounds, yields: Floats) -> Floats:
    """Return phi Pn in tension: 0.90 Fy Ag. AISC 360-16 eq. D2-1."""
    return np.asarray(0.90 * yields * cross_section.area)


def critical_stress(slenderness: Floats, yields: Floats, young: float) -> Floats:
    """Return Fcr for flexural buckling at KL/r. AISC 360-16 eq. E3-2 to E3-4."""
    euler = np.pi**2 * young / np.maximum(slenderness, 1e-6) ** 2
    stocky = yields * 0.658 ** np.minimum(yields / euler, 1e3)
    return np.where(yields <= 2.25 * euler, stocky, 0.877 * euler)


def compression(cross_section: Rounds, yields: Floats, young: float, lengths: Floats) -> Floats:
    """Return phi Pn in compression: 0.90 Fcr Ag, K = 2 over the free length beyond it. AISC 360-16 E3."""
    return np.asarray(
        0.90 * critical_stress(2.0 * lengths / cross_section.gyration, yields, young) * cross_section.area
    )


def bending(cross_section: Rounds, yields: Floats, young: float) -> Floats:
    """Return phi Mn: a bar 0.90 min(Fy Z, 1.6 Fy S), eq. F11-1; a pipe by its wall, eq. F8-1 to F8-4.

    For a solid round Z / S = 1.698, so the cap of 1.6 always governs.
    """
    plastic, elastic = yields * cross_section.plastic, yields * cross_section.elastic
    slender = cross_section.diameter / np.maximum((cross_section.diameter - cross_section.bore) / 2.0, 1e-9)
    bar = np.minimum(plastic, 1.6 * elastic)
    noncompact = np.minimum((0.021 * young / slender + yields) * cross_section.elastic, plastic)
    buckled = 0.33 * young / slender * cross_section.elastic
    ratio = slender * yields / young
    pipe = np.where(ratio <= 0.07, plastic, np.where(ratio <= 0.31, noncompact, buckled))
    return np.asarray(0.90 * np.where(cross_section.bore > 0.0, pipe, bar))


def shear(cross_section: Rounds, yields: Floats) -> Floats:
    """Return phi Vn: a pipe 0.90 x 0.6 Fy Ag / 2, eq. G5-1; a bar 0.90 x 0.6 Fy x 0.75 Ag, G1.

    A solid round's shear stress peaks at 4/3 of its mean, hence 0.75. The wall's buckling in G5 needs D/t above 100.
    """
    area = np.where(cross_section.bore > 0.0, 0.5, 0.75) * cross_section.area
    return np.asarray(0.90 * 0.6 * yields * area)


def torsion(cross_section: Rounds, yields: Floats) -> Floats:
    """Return phi Tn: 0.90 x 0.6 Fy times pi (D - t)^2 t / 2 of a pipe, eq. H3-1, H3-2; times J / r of a bar, eq. H3-8.

    H3.3 limits a bar's shear stress from torsion, St. Venant's at the skin, to phi 0.6 Fy.
    """
    wall = (cross_section.diameter - cross_section.bore) / 2.0
    pipe = np.pi * (cross_section.diameter - wall) ** 2 * wall / 2.0
    return np.asarray(0.90 * 0.6 * yields * np.where(cross_section.bore > 0.0, pipe, cross_section.torsion))


def combined(
    axial: Floats, moment: Floats, sheared: Floats, twisted: Floats, is_pipe: NDArray[np.bool_] | bool = False
) -> Floats:
    """Return the combination from the shares used, on the resultant moment, since a round has no axes.

    Eq. H1-1a or b; where torsion passes a fifth, a pipe takes H3-6. A bar is no hollow section: H3.3 asks for the
    stresses of all forces at one point, joined by the yield rule that its commentary points to: sqrt(n^2 + v^2) in
    shares of Fy and of 0.6 Fy, which is Fy over root 3. Two points can be the worst: the skin, where bending and twist
    are most and shear is nothing, n by H1-1; and the middle, where shear and twist are most and bending is nothing.
    H3.3 has no fifth under which torsion may be left out, and so nothing jumps there.

    >>> float(combined(np.array(0.4), np.array(0.45), np.array(0.0), np.array(0.0)))
    0.8
    >>> float(combined(np.array(0.1), np.array(0.55), np.array(0.1), np.array(0.8)).round(6))
    1.0
    """
    plain = np.where(axial >= 0.2, axial + 8.0 / 9.0 * moment, axial / 2.0 + moment)
    middle = sheared + twisted
    solid = np.sqrt(np.maximum(plain * plain + twisted * twisted, axial * axial + middle * middle))
    if not np.any(is_pipe):
        return np.asarray(solid)
    hollow = np.where(twisted > 0.2, axial + moment + middle * middle, plain)
    return np.where(is_pipe, hollow, solid)


def resistance(cross_section: Rounds, yields: Floats, young: float, lengths: Floats) -> Resistance:
    """Return the resistance of cross-sections; `lengths` (Q,) mm is the free length beyond each."""
    return Resistance(
        tension=tension(cross_section, yields),
        compression=compression(cross_section, yields, young, lengths),
        bending=bending(cross_section, yields, young),
        shear=shear(cross_section, yields),
        torsion=torsion(cross_section, yields),
        rule=combined,
        is_pipe=cross_section.bore > 0.0,
        clauses=CLAUSES,
    )
