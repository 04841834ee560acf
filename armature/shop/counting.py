"""What a plan asks of the crew, counted member by member for the rates.

Size letters: M members.
"""

from __future__ import annotations

import numpy as np

from armature.metals import least_fillets
from armature.shop.darts import seam_runs
from armature.shop.footing import Base
from armature.shop.labour import RUN_MM2, Counts, LeafWork
from armature.shop.sections import SectionPlan
from armature.shop.splices import SiteJoint
from armature.shop.stocklist import Sawing
from armature.shop.welds import Welds
from armature.tree import BendList, Floats, Strings, Tree

# Rods of a bundle are stitched together over this share of their length (common practice, no source).
_STITCHED = 0.25
# A bar so much thinner than its stock, mm, is drawn down all along before it is tapered.
_CALIPER = 0.5


def counted(
    tree: Tree,
    bends: BendList,
    kinds: Strings,
    welds: Welds,
    sawn: Sawing,
    masses: Floats,
    sections: SectionPlan,
    site_joints: tuple[SiteJoint | None, ...],
    leaf_work: LeafWork | None = None,
    base: Base | None = None,
    coats: int = 1,
) -> Counts:
    """Return the counts of a whole job. kinds: (M,) how each member is joined; masses: (M,) kg as forged."""
    welded = (kinds == "weld").astype(np.float64)
    # A member left off at its own joint is counted with the welds.
    sawn_joints = [joint for joint in site_joints if joint is not None and joint.kind != "weld"]
    joined = ((kinds == "collar") | (kinds == "rivet")).astype(np.float64)
    return Counts(
        saw_cuts=(sawn.rods * sawn.parts).astype(np.float64),
        sawn_mm=sawn.diameters,
        bends=np.bincount(bends.members, minlength=len(tree)).astype(np.float64),
        marks=(
            np.bincount(tree.parents[tree.parents >= 0], minlength=len(tree))
            + 2 * np.bincount(bends.members, minlength=len(tree))
            + 1
        ).astype(np.float64),
        # Where a bar is too long to buy, each of its rods is scarfed as often as it has parts less one.
        scarfs=(kinds == "forge weld") + sawn.rods * (sawn.parts - 1.0),
        saddles=welded + (welds.grooves & (kinds == "weld")),
        fitted=welded + joined + (sawn.rods - 1.0),
        welded=welded,
        runs_mm=_weld_runs(tree, welds) + _stitches(tree, sawn) + np.where(sawn.rods == 1, seam_runs(tree), 0.0),
        joined=joined,
        masses=masses,
        splices_mm=np.array([joint.bar_mm for joint in sawn_joints], dtype=np.float64),
        splices=tuple(joint.kind for joint in sawn_joints),
        sections=len(sections.sections),
        leaves=len(tree.leaves),
        leaf_work=leaf_work,
        plate_holes=len(base.holes) if base is not None else 0,
        plate_kg=base.mass_kg if base is not None else 0.0,
        coats=coats,
        site_welds=sum(joint is not None and joint.kind == "weld" for joint in site_joints),
        drawn_down=(sawn.rods == 1) & (tree.walls == 0.0) & (tree.tapers.bars < tree.stock_diameters - _CALIPER),
        letters=sum(len(name.replace(" ", "")) for name in tree.leaves.names.tolist()),
    )


def _weld_runs(tree: Tree, welds: Welds) -> Floats:
    """Return the runs of weld round each foot: (M,) mm, once round at the least."""
    around = np.where(welds.metal > 0.0, np.pi * tree.start_diameters, 0.0)
    return np.maximum(welds.metal / RUN_MM2, around)


def _stitches(tree: Tree, sawn: Sawing) -> Floats:
    """Return the runs that hold the rods of a bundle together: (M,) mm, a seam for every rod after the first."""
    legs = least_fillets(sawn.diameters)
    return (sawn.rods - 1.0) * _STITCHED * tree.lengths * np.maximum(legs**2 / 2.0 / RUN_MM2, 1.0)
