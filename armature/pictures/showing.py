"""What is shown of a job: its tree with its leaves as they hang."""

from __future__ import annotations

from armature.commission import Commission
from armature.leaves import LeafPlan
from armature.metals import base_plate
from armature.pictures.facts import facts
from armature.pictures.setting import Plate
from armature.pictures.view_folder import Showing
from armature.tree import Demands

# Of so many leaves nobody looks at one from near but those beside a close view; a rim seven tenths of a millimetre off
# its line, as a share of a leaf's length, then costs half the corners.
_CROWD, _ROUGH = 2500, 0.008


def showing_of(commission: Commission, leaves: LeafPlan, demands: Demands | None = None) -> Showing:
    """Return a tree with its leaves as they hang, for pictures; demands: what strength asks of the base plate."""
    tree, outline = leaves.tree, commission.leaves.outline
    rods = None if demands is None else demands.rods
    needed = None if rods is None else (rods.plate_side_mm, rods.plate_thickness_mm)
    trunk, least = float(tree.start_diameters[0]), commission.shop.transport.foot_width
    plate = base_plate(trunk, commission.units, least, needed)
    return Showing(
        tree,
        commission,
        facts(commission, tree, float(leaves.hung.masses.sum())),
        leaves.meshes(outline.dish, outline.curl),
        leaves.frames(commission.seed),
        plate_mm=plate.side_mm,
        plate=Plate(plate.side_mm, plate.thickness_mm or 25.0, rods),
        far_blades=leaves.meshes(outline.dish, outline.curl, *((4, _ROUGH) if len(tree.leaves) > _CROWD else (6,))),
    )
