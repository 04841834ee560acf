"""The list of names as a spreadsheet of its own, for offices: every cell is text, so that a name shows as typed."""

from __future__ import annotations

from pathlib import Path

from armature.commission import Commission
from armature.leaves import LeafPlan
from armature.papers.book import book
from armature.papers.leaves.places import SIDES, named_places

HEAD = ("name", "leaf", "limb", "height above ground", "side of the tree")
_WIDTHS = (34, 12, 8, 20, 18)


def write_name_sheet(file: Path, plan: LeafPlan, commission: Commission) -> None:
    """Write the list of names as an .xlsx workbook of one sheet: name, leaf, limb, height and side."""
    places = named_places(plan, commission.units)
    rows = [HEAD, *((p.name, p.tag, p.limb, p.high, SIDES[p.side]) for p in places)]
    file.write_bytes(book({"Names": rows}, _WIDTHS))
