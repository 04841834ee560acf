"""Round bars and pipes by EN 1993-1-1, with the recommended factors 1.0 of 6.1: one function a clause. N, mm, MPa.

Clauses and factors from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from armature.strength.resistance import Resistance
from armature.strength.rounds import Rounds
from armature.tree import Floats

CLAUSES = {
    "axial": "EN 1993-1-1 6.2.3, 6.3.1",
    "bending": "EN 1993-1-1 6.2.5",
    "shear": "EN 1993-1-1 6.2.6",
    "torsion": "EN 1993-1-1 6.2.7",
    "combined": "EN 1993-1-1 6.2.1(5), 6.2.1(7), 6.3.3",
}


def tension(cross_section: Rounds, yields: Floats) -> Floats:
    """Return N_t,Rd: A fy. EN 1993-1-1 eq. 6.6."""
    return np.asarray(yields * cross_section.area)


def buckling_factor(slenderness: Floats, yields: Floats, young: float) -> Floats:
    """Return chi at Lcr / i by curve c, for solid cross-sections. EN 1993-1-1 eq. 6.49, tables 6.1 and 6.2."""
    bar = slenderness / (np.pi * np.sqrt(young / yields))
    phi = 0.5 * (1.0 + 0.49 * (bar - 0.2) + bar**2)
    return np.asarray(np.minimum(1.0 / (phi + np.sqrt(np.maximum(phi**2 - bar**2, 0.0))), 1.0))


def compression(cross_section: Rounds, yields: Floats, young: float, lengths: Floats) -> Floats:
    """Return N_b,Rd: chi A fy, Lcr twice the free length beyond the cross-section. EN 1993-1-1 eq. 6.47."""
    return np.asarray(
        buckling_factor(2.0 * lengths / cross_section.gyration, yields, young) * yields * cross_section.area
    )


def bending(cross_section: Rounds, yields: Floats) -> Floats:
    """Return M_c,Rd: Wpl fy for classes 1 and 2, Wel fy for pipes above d/t = 70 x 235/fy. EN 1993-1-1 6.2.5."""
    slender = cross_section.diameter / np.maximum((cross_section.diameter - cross_section.bore) / 2.0, 1e-9)
    thick = (cross_section.bore <= 0.0) | (slender <= 70.0 * 235.0 / yields)
    return np.asarray(yields * np.where(thick, cross_section.plastic, cross_section.elastic))


def shear(cross_section: Rounds, yields: Floats) -> Floats:
    """Return V_pl,Rd: Av fy / sqrt 3, Av = A of a bar, 2 A / pi of a pipe. EN 1993-1-1 eq. 6.18, 6.2.6(3)."""
    area = np.where(cross_section.bore > 0.0, 2.0 / np.pi, 1.0) * cross_section.area
    return np.asarray(area * yields / np.sqrt(3.0))


def torsion(cross_section: Rounds, yields: Floats) -> Floats:
    """Return T_Rd, elastic: fy / sqrt 3 times the polar modulus. EN 1993-1-1 6.2.7(5)."""
    return np.asarray(yields / np.sqrt(3.0) * cross_section.torsion)


def combined(
    axial: Floats, moment: Floats, sheared: Floats, twisted: Floats, _is_pipe: NDArray[np.bool_] | bool = False
) -> Floats:
    """Return sqrt((n + m)^2 + (v + t)^2) of the shares used: the sum of 6.2.1(7) under the yield rule of 6.2.1(5).

    In compression n is taken of the buckling resistance, with the moments of second order: 6.3.3 on the safe side.
    """
    return np.sqrt((axial + moment) ** 2 + (sheared + twisted) ** 2)


def resistance(cross_section: Rounds, yields: Floats, young: float, lengths: Floats) -> Resistance:
    """Return the resistance of cross-sections; `lengths` (Q,) mm is the free length beyond each."""
    return Resistance(
        tension=tension(cross_section, yields),
        compression=compression(cross_section, yields, young, lengths),
        bending=bending(cross_section, yields),
        shear=shear(cross_section, yields),
        torsion=torsion(cross_section, yields),
        rule=combined,
        is_pipe=cross_section.bore > 0.0,
        clauses=CLAUSES,
    )
