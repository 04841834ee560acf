"""What to know before building, a line each."""

from __future__ import annotations

from collections.abc import Mapping

from armature.commission import Commission
from armature.edge import format_length
from armature.files import Finding
from armature.tree import Tree, extent

# A crown that fills less of the asked size than this is told of.
_FILLED = 0.95


def warnings_of(commission: Commission, tree: Tree, findings: Mapping[str, Finding]) -> list[str]:
    """Return what to know before building: a size that is not reached, and the first notes of each finding."""
    look = [note.split(":")[0] for note in findings["look"].notes]
    told = [(name, findings[name].notes[:4]) for name in ("leaves", "strength", "shop") if name in findings]
    return [*_short_of(commission, tree), *look, *(f"{name}: {note}" for name, notes in told for note in notes)]


def _short_of(commission: Commission, tree: Tree) -> list[str]:
    """Return what the tree fills of the size asked for, where that is clearly less."""
    (west, south, _), (east, north, top) = extent(tree).tolist()
    canopy, got = commission.canopy, (top, east - west, north - south)
    asked = (canopy.height, *canopy.spread)
    if isinstance(canopy.outline, str) or all(one >= _FILLED * other for one, other in zip(got, asked, strict=True)):
        return []
    sizes = [" x ".join(format_length(mm, commission.units, feet=True) for mm in row) for row in (got, asked)]
    return [f"height and spread come to {sizes[0]} of the {sizes[1]} asked, which growth stays inside: ask for more"]
