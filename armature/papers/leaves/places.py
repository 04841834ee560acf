"""Where a leaf hangs, in the words of somebody who stands under the tree: limb, height, side, how far out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from armature.edge import System, format_length
from armature.leaves import LeafPlan
from armature.leaves.naming import search_key
from armature.tree import LIMB, Ints, Tree

SIDES = {
    "N": "north", "NE": "north-east", "E": "east", "SE": "south-east",
    "S": "south", "SW": "south-west", "W": "west", "NW": "north-west",
}  # fmt: skip


@dataclass(frozen=True)
class Place:
    """A named leaf: its name, tag and row; the name's key for finding it; its height in mm and as read; the wind of
    its side of the tree; the tag of its limb; out: 0 near the trunk, 1 halfway, 2 at the edge of the crown."""

    name: str
    tag: str
    row: int
    key: str
    height: float
    high: str
    side: str
    limb: str
    out: int


def named_places(plan: LeafPlan, units: System) -> list[Place]:
    """Return the named leaves in order of the names, accents and capitals put aside."""
    tree, eyes = plan.tree, plan.hung.eyes
    leaves, limbs = tree.leaves, limb_rows(tree)
    # Seen from the trunk's foot, around which a visitor walks.
    radii = np.hypot(eyes[:, 0], eyes[:, 1])
    share = radii / max(float(radii.max(initial=0.0)), 1.0)
    places = [
        Place(
            str(leaves.names[k]),
            str(leaves.tags[k]),
            k,
            search_key(str(leaves.names[k])),
            float(eyes[k, 2]),
            height_text(float(eyes[k, 2]), units),
            side(float(eyes[k, 0]), float(eyes[k, 1])),
            str(tree.tags[limbs[leaves.twigs[k]]]),
            int(share[k] > 0.4) + int(share[k] > 0.75),
        )
        for k in np.flatnonzero(leaves.names != "").tolist()
    ]
    return sorted(places, key=lambda p: (p.key or p.name, p.name, p.tag))


def limb_rows(tree: Tree) -> Ints:
    """Return the row of the limb that carries each member: (M,), the member's own where no limb does."""
    limbs = np.arange(len(tree))
    for row in np.flatnonzero(tree.ranks > LIMB).tolist():
        parent = int(tree.parents[row])
        if tree.ranks[parent] >= LIMB:
            limbs[row] = limbs[parent]
    return limbs


def limb_sides(plan: LeafPlan) -> dict[str, str]:
    """Return the wind toward which the leaves of each limb hang, by the limb's tag."""
    tree, eyes = plan.tree, plan.hung.eyes
    limbs = limb_rows(tree)[tree.leaves.twigs]
    sides = {}
    for limb in np.unique(limbs).tolist():
        east, north, _ = eyes[limbs == limb].mean(axis=0)
        sides[str(tree.tags[limb])] = side(float(east), float(north))
    return sides


def side(east: float, north: float) -> str:
    """Return the wind toward which a place lies: x is taken as east, y as north.

    >>> side(1.0, 0.0)
    'E'
    """
    turn = float(np.rad2deg(np.arctan2(east, north))) % 360.0
    return tuple(SIDES)[int(np.floor(turn / 45.0 + 0.5)) % 8]


def height_text(mm: float, units: System) -> str:
    """Return a height as a visitor reads it: feet and whole inches, or tenths of a metre.

    >>> height_text(2910.0, "inch"), height_text(2910.0, "mm")
    ('9 ft 7 in', '2.9 m')
    """
    if units == "mm":
        return f"{mm / 1000.0:.1f} m"
    inches = int(np.floor(mm / 25.4 + 0.5))
    return f"{inches // 12} ft {inches % 12} in"


def stamp_text(mm: float, units: System) -> str:
    """Return the height of a letter stamp as the shop calls it.

    >>> stamp_text(3.96875, "inch"), stamp_text(2.5, "mm"), stamp_text(2.38125, "mm")
    ('5/32"', '2.5 mm', '2.38 mm')
    """
    return format_length(mm, "inch", fine=True) if units == "inch" else f"{round(mm, 2):g} mm"
