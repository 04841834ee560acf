"""What the client's sheet, the page and the drawing say of a tree in words."""

from __future__ import annotations

from armature.commission import Commission
from armature.edge import format_height, format_length, format_mass
from armature.pictures.client_sheet import Facts
from armature.tree import LIMB, RANKS, Tree, extent, forged_masses

CAUTION = "A design aid: local codes rule, and a licensed engineer has to check and sign what can fall on someone."
_PLURALS = ("trunk", "limbs", "branches", "branchlets", "twigs", "roots")


def facts(
    commission: Commission, tree: Tree, leaf_kg: float | None = None, more: tuple[tuple[str, str], ...] = ()
) -> Facts:
    """Return title, counts, sizes and masses of a tree; leaf_kg: mass of all leaves where it is known; more: further
    rows.
    """
    units = commission.units
    low, high = extent(tree)
    ranks = [rank for rank in range(1, len(RANKS)) if (tree.ranks == rank).any()]
    rows = [
        ("Height", format_height(float(high[2]), units)),
        (
            "Spread",
            f"{format_height(float(high[0] - low[0]), units)} by {format_height(float(high[1] - low[1]), units)}",
        ),
        ("Lowest foliage", format_height(_lowest(tree), units)),
        ("Trunk at the foot", format_length(float(tree.start_diameters[0]), units)),
    ]
    rows += [(_PLURALS[rank].capitalize(), _number(tree, rank)) for rank in ranks]
    rows.append(("Leaves", f"{len(tree.leaves):,}"))
    rows.append(("Steel", format_mass(float(forged_masses(tree, commission.steel.density).sum()), units)))
    if leaf_kg is not None:
        rows.append(("Leaves weigh", format_mass(leaf_kg, units)))
    under = f"forged steel with leaves of {commission.leaves.metal}, seed {commission.seed}"
    return Facts(commission.title, under, (*rows, *more), CAUTION)


def _number(tree: Tree, rank: int) -> str:
    counted = f"{int((tree.ranks == rank).sum()):,}"
    return f"{counted} and the leader" if rank == LIMB and tree.has_leader else counted


def _lowest(tree: Tree) -> float:
    return float(tree.hang_points[:, 2].min() if len(tree.leaves) else tree.tips[:, 2].min())
