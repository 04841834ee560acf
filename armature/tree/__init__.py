"""The tree: a frozen record of arrays, and the plain geometry of its bars.

`Tree` holds M members as chains of straights and arcs with diameters along them; `joints` tells where they leave their
parents, `assembled` puts them together again, `tubes` meshes them, `capsules` and `Index` measure how near they come,
`extent` how far they reach. `Demands` is what strength asks of them and the shop reads.
"""

from __future__ import annotations

from armature.tree.centreline import (
    BendList,
    Chains,
    Floats,
    Ints,
    along,
    bend_list,
    bent,
    carry,
    chain,
    chalk_lines,
    joined,
    locate,
    nearest_on_segments,
    row_norms,
    sampled,
    turned,
)
from armature.tree.clearance import CHORD_ERROR, Capsules, Index, capsules, gaps, joined_capsules
from armature.tree.demands import HEEL_LOSS, Demands, Rods
from armature.tree.extent import extent
from armature.tree.forged import bore_ends, forged_masses, heels
from armature.tree.joints import Joints, assembled, dot, joints, parent_frames
from armature.tree.tapers import Tapers, cones, joined_tapers
from armature.tree.tree import (
    BRANCH,
    BRANCHLET,
    LIMB,
    PLURALS,
    RANKS,
    ROOT,
    TRUNK,
    TWIG,
    Leaves,
    Strings,
    Tree,
    depths,
    levels,
    no_leaves,
)
from armature.tree.tubes import Rings, Tubes, frames, rings, swept, tubes

__all__ = [
    "BRANCH",
    "BRANCHLET",
    "CHORD_ERROR",
    "HEEL_LOSS",
    "LIMB",
    "PLURALS",
    "RANKS",
    "ROOT",
    "TRUNK",
    "TWIG",
    "BendList",
    "Capsules",
    "Chains",
    "Demands",
    "Floats",
    "Index",
    "Ints",
    "Joints",
    "Leaves",
    "Rings",
    "Rods",
    "Strings",
    "Tapers",
    "Tree",
    "Tubes",
    "along",
    "assembled",
    "bend_list",
    "bent",
    "bore_ends",
    "capsules",
    "carry",
    "chain",
    "chalk_lines",
    "cones",
    "depths",
    "dot",
    "extent",
    "forged_masses",
    "frames",
    "gaps",
    "heels",
    "joined",
    "joined_capsules",
    "joined_tapers",
    "joints",
    "levels",
    "locate",
    "nearest_on_segments",
    "no_leaves",
    "parent_frames",
    "rings",
    "row_norms",
    "sampled",
    "swept",
    "tubes",
    "turned",
]
