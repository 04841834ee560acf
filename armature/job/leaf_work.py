"""What the leaves of a job come to for the others: their metal, the work of cutting them, their blades in place."""

from __future__ import annotations

import numpy as np

from armature.commission import Commission
from armature.files import Foliage
from armature.leaves import LeafPlan
from armature.shop import LeafWork


def leaf_work(plan: LeafPlan) -> LeafWork:
    """Return sheet and cutting for the estimate: whole plates where they are laid, else the leaves themselves."""
    plates = plan.layout.plates if plan.layout else ()
    numbers = np.concatenate([plate.designs for plate in plates]) if plates else plan.tree.leaves.designs
    sheet = sum(plate.width * plate.height for plate in plates) * 1e-6 * plan.sheet_kg_m2
    metres = np.array([design.cut_length for design in plan.designs])[numbers - 1].sum() / 1000.0
    return LeafWork(sheet or leaf_kg(plan), len(numbers), float(metres), 2 * len(numbers))


def leaf_kg(plan: LeafPlan) -> float:
    """Return the mass of all leaves that hang, kg."""
    return float(plan.hung.masses.sum())


def foliage_of(plan: LeafPlan, commission: Commission) -> Foliage:
    """Return the leaves' own blades where they hang, for the mesh files."""
    outline = commission.leaves.outline
    blades = [(mesh.vertices, mesh.faces) for mesh in plan.meshes(outline.dish, outline.curl, 15)]
    frames = plan.frames(commission.seed)
    return Foliage(blades, plan.tree.leaves.designs - 1, frames[:, :3, :3], frames[:, :3, 3])
