"""Galloping: the wind from which an iced bar may feed its own swing. EN 1991-1-4 annex E.2, from memory.

A bare round bar does not gallop: its drag is the same from all sides. Ice makes it uneven. A leaf on a loose loop
flutters in any wind; what it can pull then is bounded by the plate across the wind, which strength counts.
Size letters: M members.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.strength.actions import ice_thickness, winds_of
from armature.strength.asce7 import bar_ice_area
from armature.strength.assess import Assessment
from armature.strength.en1991 import AIR_KG_M3
from armature.strength.loads import ICE_KG_M3
from armature.strength.rounds import rounds
from armature.tree import Floats

# Table E.7: circular cross-section with ice.
INSTABILITY = 1.0


@dataclass(frozen=True, eq=False)
class Galloping:
    """speeds: (M,) m/s from which an iced member may gallop. winds: (M,) m/s, 1.25 times the mean wind with ice there.
    is_prone: (M,)."""

    speeds: Floats
    winds: Floats

    @property
    def is_prone(self) -> np.ndarray:
        """Whether the ice's wind reaches that speed: (M,)."""
        return np.asarray(self.speeds < self.winds)


def onset(frequency: Floats, damping: float, mass: Floats, breadth: Floats) -> Floats:
    """Return v_CG = 2 Sc / a_G n b, m/s, Sc = 2 delta m / (rho b^2). EN 1991-1-4 eq. E.18 and E.4.

    frequency Hz, mass kg/m, breadth mm; delta is 2 pi damping, of the structure alone.

    >>> round(float(onset(np.array(5.0), 0.002, np.array(1.0), np.array(20.0))), 2)
    10.05
    """
    b = breadth / 1000.0
    scruton = 4.0 * np.pi * damping * mass / (AIR_KG_M3 * b**2)
    return np.asarray(2.0 * scruton / INSTABILITY * frequency * b)


def galloping(assessment: Assessment) -> Galloping | None:
    """Return who may gallop while iced, None where no ice is given or none forms."""
    iced = assessment.gusts.get("iced")
    if iced is None or assessment.conditions.ice_wind is None:
        return None
    tree, frame = assessment.tree, assessment.frame
    height = np.maximum.reduceat(frame.points[:, 2], frame.offsets[:-1])
    thick = ice_thickness(assessment.conditions, height)
    size = np.sqrt(4.0 * tree.volumes / (np.pi * tree.lengths))
    mass = (
        rounds(size).area * assessment.conditions.grade.density_kg_m3 * 1e-6
        + bar_ice_area(size, thick) * ICE_KG_M3 * 1e-6
    )
    wind = 1.25 * winds_of(assessment.conditions, assessment.conditions.ice_wind).mean_speed(height / 1000.0)
    return Galloping(onset(iced.frequencies, assessment.conditions.damping, mass, size + 2.0 * thick), wind)
