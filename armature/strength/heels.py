"""Grooves whose heel is too acute to fill: what is left of the bar where they are welded through from the toe.

Between 15 and 30 degrees a groove is filled from its toe and both sides; at the heel some of it stays open, which is
counted for nothing (AWS D1.1 4.13 and figure of T-, Y- and K-connections, detail D, from memory). Size letters: M
members. Lengths are mm.
"""

from __future__ import annotations

import numpy as np

from armature.strength.assess import Assessment
from armature.strength.fatigue import STREAMING, allowed_gust
from armature.tree import HEEL_LOSS, Floats


def heel_left(diameters: Floats) -> Floats:
    """Return the share of a round's section modulus that is left where a slice at the heel is not fused: (M,).

    The slice is a segment HEEL_LOSS high; what is left bends about its own middle, square to the heel, which is the
    weak way. Area, first and second moment of a segment: any handbook of plane areas.

    >>> heel_left(np.array([6.0, 24.0, 1e6])).round(3).tolist()
    [0.0, 0.607, 1.0]
    """
    radius = diameters / 2.0
    chord = np.maximum(radius - HEEL_LOSS, -radius)
    angle = np.arccos(chord / radius)
    sine, cosine = np.sin(angle), np.cos(angle)
    area = np.pi * radius**2 - radius**2 * (angle - sine * cosine)
    first = 2.0 / 3.0 * radius**3 * sine**3
    second = np.pi * radius**4 / 4.0 - radius**4 / 4.0 * (angle - sine * cosine + 2.0 * sine**3 * cosine)
    solid = diameters > HEEL_LOSS
    middle = -first / np.where(solid, area, 1.0)
    about = second - area * middle**2
    modulus = np.minimum(about / np.where(solid, chord - middle, 1.0), about / (radius + middle))
    return np.where(solid, modulus / (np.pi * radius**3 / 4.0), 0.0)


def heel_uses(assessment: Assessment) -> Floats:
    """Return the use of each foot with its heel left open, strength and fatigue, as a groove from the toe: (M,).

    Over 1 it is not enough; infinite for pipes. The bar's own use at its foot is raised by what is left of its section
    modulus, its pull too, on the safe side; in fatigue it counts as a fillet does, whose root is open.
    """
    tree = assessment.tree
    # The first cross-sections are the feet, in member order.
    use = np.maximum.reduce([each[: len(tree)] for each in assessment.worst.ratio.values()])
    if (tired := assessment.fatigue) is not None:
        years, american = assessment.conditions.years, assessment.conditions.is_american
        open_root = allowed_gust(years, True, american) / allowed_gust(years, False, american)
        use = np.maximum(use, tired.ratio(STREAMING) * np.where(tired.is_groove, open_root, 1.0))
    left = np.where(tree.walls > 0.0, 0.0, heel_left(tree.start_diameters))
    return np.where(left > 0.0, use / np.maximum(left, 1e-9), np.inf)
