"""Welds at the foot of each member: a fillet all round, or a groove of full penetration where no fillet is enough.

Where a member leans by under 60 deg its heel is too sharp for a fillet with a sound root: it is filled as far as it
opens and counted for nothing. The ring is then open over the arc where the two surfaces meet under 60 deg. At an angle
f round the foot from the heel they meet under acos(cos lean cos f), so the arc is 120 deg at most whatever the lean.

The weld is taken as a line round the child's diameter d: area pi d, modulus pi d^2 / 4, polar modulus pi d^2 / 2 for
a throat of 1 (Blodgett, Design of Welded Structures, table 7.4-5, from memory). A leaning foot is an ellipse, longer
than the circle, which is left out on the safe side. Size letters: M members, C load cases. N, mm, MPa, degrees.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.metals import least_fillets
from armature.strength.conditions import Conditions
from armature.strength.resistance import Use
from armature.tree import Floats

ELECTRODE_MPA = 483.0  # E70, 70 ksi
# Under this angle between the two surfaces a fillet has no sound root: AISC 360-16 J2.2b, AWS D1.1 skewed joints.
SHARPEST_FILLET_DEG = 60.0
# The widest heel that carries nothing.
OPEN_HEEL_DEG = 120.0


@dataclass(frozen=True, eq=False)
class Welds:
    """Welds of M members, each (M,).

    line: N/mm asked of what is counted of the weld. leg: mm of fillet needed. least: mm, least size by the thicker
    part. most: mm, largest fillet that fits the child. is_groove: where no fillet is enough.
    ratio: use of the weld metal at the chosen leg; base_ratio: of the base metal along it; neither says anything of a
    groove. for_fatigue: grooves that strength does not ask for.
    """

    line: Floats
    leg: Floats
    least: Floats
    most: Floats
    is_groove: np.ndarray
    ratio: Floats
    base_ratio: Floats
    clause: str
    for_fatigue: np.ndarray


def line_force(asked: Use, diameters: Floats) -> Floats:
    """Return the force on the weld, a line round the foot: (M, C) N/mm.

    Direct and bending across the line, shear and torsion along it, added as one vector: elastic, AISC Manual part 8.
    """
    d = diameters[:, None]
    across = np.abs(asked.axial) / (np.pi * d) + asked.bending / (np.pi * d**2 / 4.0)
    beside = asked.shear / (np.pi * d / 2.0) + asked.torsion / (np.pi * d**2 / 2.0)
    return np.hypot(across, beside)


def open_ring_share(open_deg: float) -> float:
    """Return how much a ring of weld can carry with an arc of it open, 1 for the whole ring.

    It is the least of pull (off the ring's new middle, so that it bends it too), bending either way, shear and twist,
    each at the point of the ring that has most to carry: lengths and second moments of an arc by integration.

    >>> open_ring_share(0.0), round(open_ring_share(120.0), 3)
    (1.0, 0.249)
    """
    a = np.pi - np.radians(open_deg) / 2.0
    length, middle = 2.0 * a, np.sin(a) / a
    along = a + np.sin(a) * np.cos(a) - length * middle**2
    across = a - np.sin(a) * np.cos(a)
    far = max(1.0 - middle, middle - np.cos(a))
    wide = 1.0 if a >= np.pi / 2.0 else np.sin(a)
    reach = max(1.0 - middle, float(np.hypot(np.cos(a) - middle, np.sin(a))))
    pull = 1.0 / length + middle * far / along
    shares = (
        1.0 / (2.0 * np.pi * pull),
        along / far / np.pi,
        across / wide / np.pi,
        length / (2.0 * np.pi),
        (along + across) / reach / (2.0 * np.pi),
    )
    return float(min(shares))


def fillet_strength(leg: Floats, electrode: float = ELECTRODE_MPA) -> Floats:
    """Return phi Rn of a fillet, N/mm: 0.75 x 0.60 FEXX x 0.707 leg. AISC 360-16 J2.4, table J2.5.

    >>> quarter = float(fillet_strength(np.array(6.35), 482.633))
    >>> round(quarter / 175.12683, 2)  # kip/in
    5.57
    """
    return np.asarray(0.75 * 0.60 * electrode * leg * np.sqrt(0.5))


def fillet_strength_en(leg: Floats, tensile: float, factor: float) -> Floats:
    """Return F_w,Rd of a fillet, N/mm: fu / (sqrt 3 beta_w 1.25) times a throat of 0.707 leg. EN 1993-1-8 4.5.3.3."""
    return np.asarray(tensile / (np.sqrt(3.0) * factor * 1.25) * leg * np.sqrt(0.5))


def correlation_factor(yields: float) -> float:
    """Return beta_w of the steel: 0.8, 0.85, 0.9 or 1.0 from S235 up. EN 1993-1-8 table 4.1."""
    return next((beta for limit, beta in ((235.0, 0.8), (275.0, 0.85), (355.0, 0.9)) if yields <= limit), 1.0)


def base_strength(leg: Floats, yields: Floats, tensile: float) -> Floats:
    """Return phi Rn of the base metal along a fillet, N/mm: min(0.6 Fy, 0.75 x 0.6 Fu) times its leg. AISC J4.2."""
    return np.asarray(np.minimum(1.00 * 0.6 * yields, 0.75 * 0.6 * tensile) * leg)


def welds(
    line: Floats, diameters: Floats, leans: Floats, yields: Floats, walls: Floats, conditions: Conditions
) -> Welds:
    """Return the welds that the members need, from the worst line force (M,) N/mm and their leans (M,) deg.

    A fillet is at most as long in the leg as half the child's diameter, or as the wall of a pipe. Where it is not
    enough, the joint is a groove of full penetration: as strong as the bar, so that the bar's own checks hold for it
    (AISC 360-16 table J2.5, EN 1993-1-8 4.7.1). Where the child leans by under 60 deg the heel of a fillet counts for
    nothing (AWS D1.1 skewed T-joints, EN 1993-1-8 4.3.2.1, from memory).
    """
    one = np.ones_like(line)
    tensile = conditions.grade.tensile_mpa
    beta = correlation_factor(float(yields.max()))
    per_leg = fillet_strength(one) if conditions.is_american else fillet_strength_en(one, tensile, beta)
    base = base_strength(one, yields, tensile)
    least = least_fillets(np.where(walls > 0.0, walls, diameters))
    most = np.where(walls > 0.0, walls, diameters / 2.0)
    sharp = np.minimum(leans, 180.0 - leans) < SHARPEST_FILLET_DEG
    line = line / np.where(sharp, open_ring_share(OPEN_HEEL_DEG), 1.0)
    # A hair more than is needed, so that the ratio at the leg is not over 1 by a rounding.
    leg = np.maximum((1.0 + 1e-12) * line / np.minimum(per_leg, base), np.minimum(least, most))
    return Welds(
        line=line,
        leg=leg,
        least=least,
        most=most,
        is_groove=leg > most,
        ratio=line / (per_leg * np.minimum(leg, most)),
        base_ratio=line / (base * np.minimum(leg, most)),
        clause="AISC 360-16 J2.4, J4.2" if conditions.is_american else "EN 1993-1-8 4.5.3.3",
        for_fatigue=np.zeros(len(line), dtype=bool),
    )
