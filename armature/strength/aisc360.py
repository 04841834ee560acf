"""Round bars and pipes by AISC 360-16, load and resistance factor design: one function a clause. N, mm, MPa.

Resistance factors belong to the LRFD combinations of ASCE 7-16 2.3 alone; an ASD safety factor is never mixed in.
Clauses F11 read in a transcription; the others from memory.
"""

from __future__ import annotations

import numpy as np

from armature.centreline import Floats
from armature.strength.resistance import Resistance
from armature.strength.sections import Rounds

CLAUSES = {
    "axial": "AISC 360-16 D2, E3",
    "bending": "AISC 360-16 F11 (bar), F8 (pipe)",
    "shear": "AISC 360-16 G1, G5",
    "torsion": "AISC 360-16 H3.1",
    "combined": "AISC 360-16 H1.1, H3.2",
}


def tension(section: Rounds, yields: Floats) -> Floats:
    """Return phi Pn in tension: 0.90 Fy Ag. AISC 360-16 eq. D2-1."""
    return np.asarray(0.90 * yields * section.area)


def critical_stress(slenderness: Floats, yields: Floats, young: float) -> Floats:
    """Return Fcr for flexural buckling at KL/r. AISC 360-16 eq. E3-2 to E3-4."""
    euler = np.pi**2 * young / np.maximum(slenderness, 1e-6) ** 2
    stocky = yields * 0.658 ** np.minimum(yields / euler, 1e3)
    return np.where(yields <= 2.25 * euler, stocky, 0.877 * euler)


def compression(section: Rounds, yields: Floats, young: float, lengths: Floats) -> Floats:
    """Return phi Pn in compression: 0.90 Fcr Ag, K = 2 over the free length beyond the section. AISC 360-16 E3."""
    return np.asarray(0.90 * critical_stress(2.0 * lengths / section.gyration, yields, young) * section.area)


def bending(section: Rounds, yields: Floats, young: float) -> Floats:
    """Return phi Mn: a bar 0.90 min(Fy Z, 1.6 Fy S), eq. F11-1; a pipe by its wall, eq. F8-1 to F8-4.

    For a solid round Z / S = 1.698, so the cap of 1.6 always governs.
    """
    plastic, elastic = yields * section.plastic, yields * section.elastic
    slender = section.diameter / np.maximum((section.diameter - section.bore) / 2.0, 1e-9)
    bar = np.minimum(plastic, 1.6 * elastic)
    noncompact = np.minimum((0.021 * young / slender + yields) * section.elastic, plastic)
    buckled = 0.33 * young / slender * section.elastic
    ratio = slender * yields / young
    pipe = np.where(ratio <= 0.07, plastic, np.where(ratio <= 0.31, noncompact, buckled))
    return np.asarray(0.90 * np.where(section.bore > 0.0, pipe, bar))


def shear(section: Rounds, yields: Floats) -> Floats:
    """Return phi Vn: a pipe 0.90 x 0.6 Fy Ag / 2, eq. G5-1; a bar 0.90 x 0.6 Fy x 0.75 Ag, G1.

    A solid round's shear stress peaks at 4/3 of its mean, hence 0.75. The wall's buckling in G5 needs D/t above 100.
    """
    area = np.where(section.bore > 0.0, 0.5, 0.75) * section.area
    return np.asarray(0.90 * 0.6 * yields * area)


def torsion(section: Rounds, yields: Floats) -> Floats:
    """Return phi Tn: 0.90 x 0.6 Fy times the torsion constant: pi (D - t)^2 t / 2 of a pipe, J / r of a bar. H3.1."""
    wall = (section.diameter - section.bore) / 2.0
    pipe = np.pi * (section.diameter - wall) ** 2 * wall / 2.0
    return np.asarray(0.90 * 0.6 * yields * np.where(section.bore > 0.0, pipe, section.torsion))


def combined(axial: Floats, moment: Floats, sheared: Floats, twisted: Floats) -> Floats:
    """Return the combination from the shares used: eq. H1-1a or b, and H3-6 where torsion passes a fifth.

    On the resultant moment, since a round has no axes.

    >>> float(combined(np.array(0.4), np.array(0.45), np.array(0.0), np.array(0.0)))
    0.8
    """
    plain = np.where(axial >= 0.2, axial + 8.0 / 9.0 * moment, axial / 2.0 + moment)
    return np.where(twisted > 0.2, axial + moment + (sheared + twisted) ** 2, plain)


def resistance(section: Rounds, yields: Floats, young: float, lengths: Floats) -> Resistance:
    """Return the resistance of sections; `lengths` (Q,) mm is the free length beyond each."""
    return Resistance(
        tension=tension(section, yields),
        compression=compression(section, yields, young, lengths),
        bending=bending(section, yields, young),
        shear=shear(section, yields),
        torsion=torsion(section, yields),
        combined=combined,
        clauses=CLAUSES,
    )
