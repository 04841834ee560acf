"""What an assessment asks of the shop."""

from __future__ import annotations

import numpy as np

from armature.strength.assess import Assessment
from armature.strength.foot import foot_anchors
from armature.strength.heels import heel_uses
from armature.tree import Demands, Rods


def demands(assessment: Assessment) -> Demands:
    """Return welds, sway, bending at all places looked at, anchors and base plate, as the shop needs them."""
    rods = foot_anchors(assessment)
    return Demands(
        legs=assessment.welds.leg,
        grooves=assessment.welds.is_groove,
        # How far each tip swings against its own foot: what neighbours see of the wind.
        sways=np.nan_to_num(assessment.service.bends * assessment.tree.lengths),
        rows=assessment.cross_sections.members,
        stations=assessment.frame.stations[assessment.cross_sections.nodes],
        moments=assessment.worst.most["bending"],
        heel_uses=heel_uses(assessment),
        rods=Rods(rods.count, rods.diameter_mm, rods.circle_mm, rods.plate_side_mm, rods.plate_thickness_mm),
    )
