"""Section values of round bars and round pipes; diameters mm, areas mm2, moduli mm3, second moments mm4.

Closed forms of the circle and the ring, as in any strength-of-materials table (Roark's Formulas, table A.1).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from armature.tree import Floats


@dataclass(frozen=True, eq=False)
class Rounds:
    """Section values, each of the shape of the diameters given.

    diameter, bore: mm. area: mm2. inertia: mm4, about any diameter. polar: mm4. elastic, plastic: mm3, S and Z in
    bending. torsion: mm3, polar over the radius. gyration: mm.
    """

    diameter: Floats
    bore: Floats
    area: Floats
    inertia: Floats
    polar: Floats
    elastic: Floats
    plastic: Floats
    torsion: Floats
    gyration: Floats


def rounds(diameters: ArrayLike, bores: ArrayLike = 0.0) -> Rounds:
    """Return the cross-section values of bars, or of pipes where the bore is above zero.

    >>> one = rounds(25.4)
    >>> round(float(one.plastic / one.elastic), 3)
    1.698
    """
    d = np.maximum(np.asarray(diameters, dtype=np.float64), 1e-9)
    b = np.clip(np.broadcast_to(np.asarray(bores, dtype=np.float64), d.shape), 0.0, d * (1.0 - 1e-9))
    area = np.pi / 4.0 * (d**2 - b**2)
    inertia = np.pi / 64.0 * (d**4 - b**4)
    return Rounds(
        diameter=d,
        bore=b,
        area=area,
        inertia=inertia,
        polar=2.0 * inertia,
        elastic=2.0 * inertia / d,
        plastic=(d**3 - b**3) / 6.0,
        torsion=4.0 * inertia / d,
        gyration=np.sqrt(inertia / area),
    )
